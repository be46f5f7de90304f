package report

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"trueplait/calibrate"
	"trueplait/model"
)

// fakeShop is a shop of n builds with plausible results, made up by a seeded
// generator: what a fit would say is taken from the truth, with made-up
// limits.
func fakeShop(n int) Page {
	r := rand.New(rand.NewPCG(7, 2026))
	makers := []string{"ansa", "bero", "colm", "dita"}
	hands := map[string]float64{"ansa": 0.012, "bero": 0.034, "colm": -0.021, "dita": -0.058}
	start := time.Date(2023, 2, 6, 0, 0, 0, 0, time.UTC)
	batch := map[string]float64{}
	var batches []string
	for i := range 26 {
		name := fmt.Sprintf("C%02d", i+1)
		batches = append(batches, name)
		batch[name] = 0.05 * r.NormFloat64()
	}
	proof := &calibrate.Proof{}
	days := 900
	for _, q := range []model.Quantity{model.Weight, model.Length, model.Shot} {
		qp := calibrate.QuantityProof{Quantity: q, LeftOut: 3, Better: q != model.Length}
		scale, scatter, lean := 420.0, 0.018, 0.045
		switch q {
		case model.Length:
			scale, scatter, lean = 1850, 0.009, -0.012
		case model.Shot:
			scale, scatter, lean = 78, 0.022, -0.06
		}
		for i := range n {
			day := start.AddDate(0, 0, i*days/n)
			m := makers[r.IntN(4)]
			b := batches[min(25, i*26/n+r.IntN(2))]
			base := scale * (0.7 + 0.9*r.Float64())
			steady := lean + 0.7*hands[m] + batch[b]
			measured := base * math.Exp(steady+scatter*r.NormFloat64())
			learnt := 0.05*math.Exp(-float64(i)/20) + 0.008
			calibrated := base * math.Exp(steady+learnt*r.NormFloat64())
			if i == n/3 {
				measured *= 1.9 // a typing error
			}
			half := 1.96 * math.Hypot(scatter, learnt)
			qp.Scored = append(qp.Scored, calibrate.Scored{
				Build: fmt.Sprintf("%c-%03d", m[0]-32, i+6), Date: day, Measured: measured,
				Labels: model.Labels{Maker: m, CoreBatch: b, StrandBatch: "N01", ShotBatch: "S1", Product: "6 ft bull 12pl"},
				Predicted: map[calibrate.Predictor]float64{calibrate.Planner: base, calibrate.AsPlanned: base,
					calibrate.LastRatio: measured * 0.98, calibrate.RunningMean: base * math.Exp(lean), calibrate.Calibrated: calibrated},
				Low: calibrated * math.Exp(-half), High: calibrated * math.Exp(half),
			})
		}
		qp.Builds, qp.N = n, n
		qp.Scores = map[calibrate.Predictor]calibrate.Score{}
		for _, p := range calibrate.Predictors {
			var s calibrate.Score
			for _, b := range qp.Scored {
				e := b.Predicted[p] - b.Measured
				s.Bias += e / float64(n)
				s.MAE += math.Abs(e) / float64(n)
				s.RMSE += e * e / float64(n)
				s.MAPE += math.Abs(e) / b.Measured / float64(n)
			}
			s.RMSE = math.Sqrt(s.RMSE)
			qp.Scores[p] = s
		}
		x := qp.Scores[calibrate.Calibrated].MAE / qp.Scores[calibrate.Planner].MAE
		qp.MAERatio = calibrate.Ratio{Value: x, Low: x * 0.88, High: x * 1.13}
		qp.MAERatioRunningMean = calibrate.Ratio{Value: 1.2 * x, Low: 1.05 * x, High: 1.35 * x}
		if q == model.Length {
			qp.MAERatio = calibrate.Ratio{Value: 0.93, Low: 0.84, High: 1.03}
		}
		qp.Coverage = calibrate.Coverage{Nominal: 0.95, Achieved: 0.943, Low: 0.91, High: 0.967}
		qp.MeanWidth, qp.IntervalScore = scale*0.09, scale*0.11
		qp.Robust = qp.Figures
		qp.Robust.N = n - 1
		proof.Quantities = append(proof.Quantities, qp)
	}
	for i := range 60 {
		proof.Cutoffs = append(proof.Cutoffs, start.AddDate(0, 0, i*15))
	}
	through := start.AddDate(0, 0, days)
	c := &calibrate.Calibration{Number: 4, Through: through, Builds: n + 8, Fills: 40, Checks: 15,
		Summary: model.Summary{Builds: n + 8, Fills: 40, Checks: 15, Through: through, Weighed: n, Split: n - 20,
			UnpredictedBuilds: 2, BaseLoadGMM: 0.0905}}
	for _, q := range model.Quantities {
		fit := calibrate.QuantityFit{Quantity: q, Rows: n, Effects: q.Effects(), Method: "exact",
			Overall: around(map[model.Quantity]float64{model.Shot: 0.94, model.Body: 1.021, model.Weight: 1.004, model.Length: 0.988, model.Strand: 1.035}[q], 0.018),
			REML: &calibrate.REML{Criterion: -812.25, Mean: -0.06, MeanSE: 0.009, Residual: 0.018,
				SD: map[model.Effect]float64{model.Maker: 0.031, model.CoreBatch: 0.052, model.ShotBatch: model.Unknown}}}
		for _, m := range makers {
			fit.Makers = append(fit.Makers, calibrate.MakerFactor{Maker: m, Rows: n / 4, Interval: around(math.Exp(hands[m]), 0.015)})
		}
		if q == model.Shot {
			for i, b := range batches {
				for j, m := range makers {
					if (i+j)%2 == 0 {
						rows := 2 + (i*7+j*3)%9
						if i == 25 {
							rows = 1
						}
						fit.Factors = append(fit.Factors, calibrate.Factor{
							Labels: model.Labels{Maker: m, CoreBatch: b, ShotBatch: "S" + string(rune('1'+i/9))}, Rows: rows,
							Interval: around(math.Exp(-0.06+hands[m]+batch[b]), 0.06/math.Sqrt(float64(rows)))})
					}
				}
			}
			fit.SetAside = []calibrate.SetAside{
				{Key: model.RowKey{Kind: model.Builds, ID: "C-041"}, Date: start.AddDate(0, 0, 120), Ratio: 0.0338, Reason: model.UnitSlip, Text: "looks like ounces entered as grams"},
				{Key: model.RowKey{Kind: model.Builds, ID: "A-122"}, Date: start.AddDate(0, 0, 388), Ratio: 1.42, Reason: model.FarOut, Text: "far from the rest: 12 times the usual scatter"},
			}
			fit.Shifts = []calibrate.Shift{{Effect: model.CoreBatch, Level: "C17", First: model.RowKey{Kind: model.Builds, ID: "B-201"},
				Last: model.RowKey{Kind: model.Builds, ID: "D-219"}, Date: start.AddDate(0, 0, 610), Rows: 9, Ratio: 1.083}}
			fit.Unlinked = []calibrate.Unlinked{{Makers: []string{"esko"}}}
			fit.Warnings = []string{"test fills scatter over twice as much as builds: 4.1 % against 1.8 %"}
		} else {
			for i, m := range makers {
				fit.Factors = append(fit.Factors, calibrate.Factor{Labels: model.Labels{Maker: m, StrandBatch: "N01", CoreBatch: "C01", Product: "6 ft bull 12pl"},
					Rows: 9 + i, Interval: around(math.Exp(hands[m]), 0.012)})
			}
		}
		c.Quantities = append(c.Quantities, fit)
	}
	p := Page{Calibration: c, Proof: proof, Demo: true, Version: "0.1.0",
		Calibrations: []SavedMark{{1, start.AddDate(0, 0, 210)}, {2, start.AddDate(0, 0, 420)}, {3, start.AddDate(0, 0, 600)}, {4, through}}}
	for i := range 40 {
		b := batches[i*26/40]
		p.Fills = append(p.Fills, &model.Fill{ID: fmt.Sprintf("F%03d", i+1), Date: start.AddDate(0, 0, i*days/40),
			Labels: model.Labels{Maker: makers[i%4], CoreBatch: b}, FilledLengthMM: 152.4, PredictedShotG: 13.8,
			ShotMassG: 152.4 * 0.0905 * math.Exp(-0.06+hands[makers[i%4]]+batch[b]+0.03*r.NormFloat64())})
	}
	p.Lines = fakeLines(proof)
	return p
}

// fakeLines judges the builds of a made-up proof as lines of seven products, of
// which one has two limits and one a single limit.
func fakeLines(proof *calibrate.Proof) []calibrate.Line {
	of := map[model.Quantity][]model.Observation{}
	for _, q := range proof.Quantities {
		for i, b := range q.Scored {
			o := model.Observation{Key: model.RowKey{Kind: model.Builds, ID: b.Build}, Date: b.Date, Labels: b.Labels,
				Measured: b.Measured, Base: b.Predicted[calibrate.Planner]}
			if k := i % 11; k < 6 {
				o.Labels.Product = []string{"8 ft stock 8pl", "4 ft snake 8pl", "6 ft stock 12pl", "8 ft bull 16pl", "10 ft bull 16pl", "3 ft nagaika"}[k]
			}
			if i == 17 {
				o.Measured, o.Excluded = o.Measured/28.35, model.UnitSlip
			}
			of[q.Quantity] = append(of[q.Quantity], o)
		}
	}
	lines, err := calibrate.Consistency(context.Background(), calibrate.NewRows(of), []*model.ProductLine{
		{Product: "6 ft bull 12pl", WeightLowG: 330, WeightHighG: 620, LengthLowMM: 1200, LengthHighMM: 3000},
		{Product: "8 ft stock 8pl", WeightLowG: 250, WeightHighG: model.Unknown, LengthLowMM: model.Unknown, LengthHighMM: model.Unknown},
	}, calibrate.ConsistencyOptions{})
	if err != nil {
		panic(err) // rows in memory do not fail
	}
	return lines
}

// around is an interval about a median, half wide on the log scale.
func around(median, half float64) calibrate.Interval {
	return calibrate.Interval{Median: median, Low: median * math.Exp(-half), High: median * math.Exp(half)}
}
