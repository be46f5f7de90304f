package report

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"

	"trueplait/calibrate"
	"trueplait/model"
)

// ProofJSON writes a proof for programs: errors predicted less measured in g
// or mm, mape and shares as fractions, full precision.
func ProofJSON(w io.Writer, p *calibrate.Proof) error {
	cutoffs := []day{}
	for _, c := range p.Cutoffs {
		cutoffs = append(cutoffs, day(c))
	}
	quantities := []object{}
	for i := range p.Quantities {
		q := &p.Quantities[i]
		out := object{{"quantity", q.Quantity}, {"builds", q.Builds}, {"left_out", q.LeftOut}}
		out = append(out, figuresJSON(q.Figures)...)
		robust := append(object{{"builds", q.Robust.N}}, figuresJSON(q.Robust)...)
		quantities = append(quantities, append(out, member{"robust", robust}, member{"better", q.Better}))
	}
	return writeJSON(w, object{{"cutoffs", cutoffs}, {"quantities", quantities}})
}

func figuresJSON(f calibrate.Figures) object {
	out := object{}
	for _, p := range calibrate.Predictors {
		s := scoreOf(f, p)
		out = append(out, member{string(p), object{{"bias", number(s.Bias)}, {"mae", number(s.MAE)},
			{"rmse", number(s.RMSE)}, {"mape", number(s.MAPE)}}})
	}
	ratio := func(r calibrate.Ratio) object {
		return object{{"value", number(r.Value)}, {"low", number(r.Low)}, {"high", number(r.High)}}
	}
	return append(out,
		member{"coverage", object{{"nominal", number(f.Coverage.Nominal)}, {"achieved", number(f.Coverage.Achieved)},
			{"low", number(f.Coverage.Low)}, {"high", number(f.Coverage.High)}}},
		member{"mean_width", number(f.MeanWidth)},
		member{"interval_score", number(f.IntervalScore)},
		member{"mae_ratio", ratio(f.MAERatio)},
		member{"mae_ratio_running_mean", ratio(f.MAERatioRunningMean)})
}

// scoreOf is the score of one predictor, absent figures where it has none.
func scoreOf(f calibrate.Figures, p calibrate.Predictor) calibrate.Score {
	if s, ok := f.Scores[p]; ok {
		return s
	}
	return calibrate.Score{Bias: model.Unknown, MAE: model.Unknown, RMSE: model.Unknown, MAPE: model.Unknown}
}

// ProofTable writes a proof for people: one sentence per quantity, the
// before-and-after table, then every way of predicting side by side.
func ProofTable(w io.Writer, proof *calibrate.Proof, s Style) error {
	p := newPrinter(w, s)
	p.paragraph("Does the correction help? Every build is predicted as it would have been before it was made, from earlier rows only.")
	for i := range proof.Quantities {
		p.gap()
		p.paragraph(proofWords(&proof.Quantities[i], s.Units))
	}
	p.gap()
	p.beforeAfter(proof, s)
	for i := range proof.Quantities {
		if q := &proof.Quantities[i]; q.N > 0 {
			p.gap()
			p.paragraph(spoken[q.Quantity].name + ": every way to predict, on the same " + counted(q.N, model.Builds))
			p.grid(predictorGrid(q, one(s.Units)))
		}
	}
	return p.err
}

// BeforeAfterTable writes the short form of a proof: the plan alone beside the
// calibrated plan, one row a quantity. Without scored builds it writes
// nothing.
func BeforeAfterTable(w io.Writer, proof *calibrate.Proof, s Style) error {
	p := newPrinter(w, s)
	p.beforeAfter(proof, s)
	return p.err
}

func (p *printer) beforeAfter(proof *calibrate.Proof, s Style) {
	if before := beforeAfterGrid(proof, one(s.Units)); len(before.Rows) > 0 {
		p.paragraph("Before and after: how far off on average, the share of it that is left, and how many builds the 95 % band held " +
			"(95 % limits in brackets)")
		p.grid(before)
	}
}

// proofWords is the verdict on one quantity.
func proofWords(q *calibrate.QuantityProof, u Units) string {
	name := spoken[q.Quantity].name
	before, after := scoreOf(q.Figures, calibrate.Planner), scoreOf(q.Figures, calibrate.Calibrated)
	if q.N == 0 || !model.Known(after.MAE) {
		return name + ": nothing to compare yet. The first five builds that state both plan and " + spoken[q.Quantity].measured +
			" only teach; from the sixth on each one is predicted and scored."
	}
	verdict := "not proven better yet"
	switch {
	case q.Better:
		verdict = "predicted better"
	case q.MAERatio.Low > 1:
		verdict = "predicted worse"
	}
	out := fmt.Sprintf("%s: %s. Over %s the plan alone is off by %s on average, the calibrated plan by %s", name, verdict,
		counted(q.N, model.Builds), size(q.Quantity, before.MAE, u), size(q.Quantity, after.MAE, u))
	if model.Known(q.MAERatio.Low) {
		out += fmt.Sprintf(": %s of the error is left (%s to %s)", share(q.MAERatio.Value), share(q.MAERatio.Low), share(q.MAERatio.High))
	}
	out += "."
	if !q.Better && q.MAERatio.High < 1 {
		switch {
		case !(q.MAERatioRunningMean.High < 1):
			out += " That beats the plan alone, but not clearly a single correction for the whole shop."
		default:
			out += " It does not hold as clearly once the rows set aside are left out."
		}
	}
	if model.Known(q.Coverage.Achieved) {
		out += fmt.Sprintf(" Its 95 %% band is %s wide on average and held %s of them (%s to %s); interval score %s.",
			size(q.Quantity, q.MeanWidth, u), share(q.Coverage.Achieved), share(q.Coverage.Low), share(q.Coverage.High),
			size(q.Quantity, q.IntervalScore, u))
	}
	return out
}

// beforeAfterGrid puts the plan alone beside the calibrated plan.
func beforeAfterGrid(p *calibrate.Proof, u Units) grid {
	g := grid{Head: []string{"quantity", "builds", "plan alone", "calibrated", "error left", "band held", "better"}, Figures: 1, Words: 6}
	for i := range p.Quantities {
		q := &p.Quantities[i]
		if q.N == 0 {
			continue
		}
		before, after := scoreOf(q.Figures, calibrate.Planner), scoreOf(q.Figures, calibrate.Calibrated)
		better := "not yet"
		if q.Better {
			better = "yes"
		}
		g.add(string(q.Quantity), strconv.Itoa(q.N), size(q.Quantity, before.MAE, u), size(q.Quantity, after.MAE, u),
			limits(q.MAERatio.Value, q.MAERatio.Low, q.MAERatio.High),
			limits(q.Coverage.Achieved, q.Coverage.Low, q.Coverage.High), better)
	}
	return g
}

// limits prints a share with its limits: "39 % (34–45)".
func limits(x, low, high float64) string {
	if math.IsNaN(low) || math.IsNaN(high) {
		return share(x)
	}
	return fmt.Sprintf("%s (%s–%s)", share(x), signed(low*100, 0), signed(high*100, 0))
}

var predictorNames = map[calibrate.Predictor]string{
	calibrate.Planner:     "plan alone",
	calibrate.AsPlanned:   "plan as it was used",
	calibrate.LastRatio:   "like the maker's last one",
	calibrate.RunningMean: "one factor for the shop",
	calibrate.Calibrated:  "calibrated",
}

// predictorGrid lists the errors of every predictor.
func predictorGrid(q *calibrate.QuantityProof, u Units) grid {
	g := grid{Head: []string{"predicted by", "average miss", "of measured", "leaning"}, Figures: 1}
	for _, p := range calibrate.Predictors {
		s := scoreOf(q.Figures, p)
		g.add(predictorNames[p], size(q.Quantity, s.MAE, u), share(s.MAPE), leaning(q.Quantity, s.Bias, u))
	}
	return g
}

// leaning says to which side predictions miss on average.
func leaning(q model.Quantity, bias float64, u Units) string {
	words := []string{"light", "heavy"}
	if q.Dimension() == model.LengthDimension {
		words = []string{"short", "long"}
	}
	text := size(q, math.Abs(bias), u)
	if text == dash {
		return dash
	}
	side := 0
	if bias > 0 {
		side = 1
	}
	return text + " " + words[side]
}

// scored returns the builds of a quantity that have all three figures, by
// date, then in order of prediction.
func scored(q *calibrate.QuantityProof) []calibrate.Scored {
	var out []calibrate.Scored
	for _, s := range q.Scored {
		if s.Measured > 0 && s.Predicted[calibrate.Planner] > 0 && s.Predicted[calibrate.Calibrated] > 0 {
			out = append(out, s)
		}
	}
	slices.SortStableFunc(out, func(a, b calibrate.Scored) int { return a.Date.Compare(b.Date) })
	return out
}
