package report

import (
	"fmt"
	"math"
	"slices"

	"github.com/go-echarts/go-echarts/v2/opts"

	"trueplait/calibrate"
	"trueplait/model"
)

// A page draws at most mostPoints points. Every chart of scored builds draws
// each build twice, before and after, and there are two charts for each of
// three quantities.
const (
	mostPoints = 20000
	mostBuilds = mostPoints / (2 * 2 * 3)
)

// thinned keeps every k-th of the builds, the last one among them, so that at
// most n are left. Nothing but their order decides, so the picture keeps its
// proportions, outliers too.
func thinned(builds []calibrate.Scored, n int) (kept []calibrate.Scored, k int) {
	k = (len(builds) + n - 1) / n
	if k <= 1 {
		return builds, 1
	}
	for i := (len(builds) - 1) % k; i < len(builds); i += k {
		kept = append(kept, builds[i])
	}
	return kept, k
}

// thinnedWords owns up to what was left out of a chart.
func thinnedWords(all, k int) string {
	if k <= 1 {
		return ""
	}
	return fmt.Sprintf(" So many builds would blot the page: one in %d of the %d is drawn, by date alone; lines and figures use them all.", k, all)
}

// errorOf is how far a prediction is above what was measured, in per cent.
func errorOf(s calibrate.Scored, p calibrate.Predictor) float64 {
	return (s.Predicted[p]/s.Measured - 1) * 100
}

func errorsOf(builds []calibrate.Scored, p calibrate.Predictor) []float64 {
	out := make([]float64, len(builds))
	for i, b := range builds {
		out[i] = errorOf(b, p)
	}
	return out
}

// predictedFigure shows predictions against measurements, before and after.
func predictedFigure(q *calibrate.QuantityProof, u Units) figure {
	name := spoken[q.Quantity].name
	builds := scored(q)
	f := figure{ID: "predicted-" + string(q.Quantity), Title: name + ": predicted against measured"}
	if len(builds) == 0 {
		f.Reading = proofWords(q, u)
		return f
	}
	before, after := errorsOf(builds, calibrate.Planner), errorsOf(builds, calibrate.Calibrated)
	f.Reading = predictedReading(q, after)

	unit, per := horizontal(q.Quantity, u)
	edge := reach(before, after)
	drawn, k := thinned(builds, mostBuilds)
	rows, beyond := errorRows(drawn, "measured", edge, func(b calibrate.Scored) any { return rounded(b.Measured/per, 1) })
	c := newScatter(
		opts.XAxis{Type: "value", Name: "measured " + string(q.Quantity) + ", " + unit, Scale: opts.Bool(true)},
		opts.YAxis{Type: "value", Name: "predicted is too high (+) or too low (−), %", Min: -edge, Max: edge},
		"errorTip")
	c.AddDataset(opts.Dataset{Source: rows})
	key := []mark{{"plan alone", "circle", "before"}, {"calibrated", "triangle", "after"}}
	addZero(c)
	c.AddSeries("plan alone", nil, columns("measured", "before"), points("circle", 7, hollow(inkBefore, 0.8)),
		rules(inkBefore, "dotted", 2, "end", spread(before)))
	c.AddSeries("calibrated", nil, columns("measured", "after"), points("triangle", 7, filled(inkAfter, 0.8)),
		rules(inkAfter, "dashed", 2, "end", spread(after)))
	if len(builds) >= leastForSpread {
		key = append(key, mark{"95 % of plan alone", "dotted", "before"}, mark{"95 % of calibrated", "dashed", "after"})
	}
	if len(beyond) > 0 {
		// a measurement twice too large would squeeze all others to one side
		furthest := 0.0
		for _, r := range rows[1:] {
			furthest = max(furthest, r[1].(float64))
		}
		c.AddSeries(offChart, onEdge(beyond, edge, func(b calibrate.Scored) any { return rounded(min(b.Measured/per, furthest), 1) }),
			points("arrow", 10, filled(inkMeasure, 1)))
		key = append(key, mark{offChart, "arrow", "measure"})
	}
	f.Chart = finished(f.ID, 340, 2*len(drawn), unit, key, c)

	f.Caption = fmt.Sprintf("n = %d builds, each predicted from earlier rows only. On the line at 0 %% a prediction is exactly right. ", len(builds))
	if len(builds) >= leastForSpread {
		f.Caption += "Between the dotted lines lie 95 % of the errors of the plan alone, between the dashed lines 95 % of those of the calibrated plan."
	}
	f.Caption += beyondWords(beyond) + thinnedWords(len(builds), k)
	f.Fold, f.Table = scoredGrid(builds, q.Quantity, u)
	return f
}

// leastForSpread is the fewest builds whose middle 95 % says anything.
const leastForSpread = 20

// spread marks where the middle 95 % of errors lie.
func spread(errors []float64) []rule {
	if len(errors) < leastForSpread {
		return nil
	}
	sorted := slices.Sorted(slices.Values(errors))
	return []rule{{YAxis: rounded(quantile(sorted, 0.975), 2)}, {YAxis: rounded(quantile(sorted, 0.025), 2)}}
}

// errorRows is the data set of a chart of errors: build, x, error before and
// after, in per cent. An error beyond the edge is left out; builds with one
// come back as well.
func errorRows(builds []calibrate.Scored, x string, edge float64, at func(calibrate.Scored) any) (rows [][]any, beyond []calibrate.Scored) {
	rows = [][]any{{"build", x, "before", "after"}}
	for _, b := range builds {
		var errors []any
		shown := 0
		for _, p := range []calibrate.Predictor{calibrate.Planner, calibrate.Calibrated} {
			if e := errorOf(b, p); math.Abs(e) <= edge {
				errors = append(errors, rounded(e, 2))
				shown++
			} else {
				errors = append(errors, nil)
			}
		}
		if shown < len(errors) {
			beyond = append(beyond, b)
		}
		if shown > 0 {
			rows = append(rows, append([]any{b.Build, at(b)}, errors...))
		}
	}
	return rows, beyond
}

// offChart names the arrows of what does not fit on a chart.
const offChart = "off the chart"

// onEdge puts errors beyond the edge on it, as arrows that say which way they
// are and, at the pointer, how far.
func onEdge(builds []calibrate.Scored, edge float64, x func(calibrate.Scored) any) []opts.ScatterData {
	var out []opts.ScatterData
	for _, b := range builds {
		for _, p := range []calibrate.Predictor{calibrate.Planner, calibrate.Calibrated} {
			switch e := errorOf(b, p); {
			case e > edge:
				out = append(out, opts.ScatterData{Name: b.Build, Value: []any{x(b), edge, rounded(e, 1)}})
			case e < -edge:
				out = append(out, opts.ScatterData{Name: b.Build, Value: []any{x(b), -edge, rounded(e, 1)}, SymbolRotate: 180})
			}
		}
	}
	return out
}

func beyondWords(beyond []calibrate.Scored) string {
	if len(beyond) == 0 {
		return ""
	}
	var names []string
	for _, b := range beyond {
		names = append(names, label(b.Build))
	}
	return fmt.Sprintf(" Arrows are builds too far off for the chart, before or after: %s.", some(names, 6))
}

// predictedReading says what a maker should see in the picture.
func predictedReading(q *calibrate.QuantityProof, after []float64) string {
	before, now := scoreOf(q.Figures, calibrate.Planner), scoreOf(q.Figures, calibrate.Calibrated)
	out := fmt.Sprintf("On average the plan alone misses the %s by %s; corrected by what earlier builds taught, it misses by %s.",
		spoken[q.Quantity].measured, share(before.MAPE), share(now.MAPE))
	sizes := make([]float64, len(after))
	for i, e := range after {
		sizes[i] = max(e, -e) / 100
	}
	slices.Sort(sizes)
	if len(sizes) >= leastForSpread {
		out += fmt.Sprintf(" Half of the corrected predictions are within %s, 19 of 20 within %s.",
			share(quantile(sizes, 0.5)), share(quantile(sizes, 0.95)))
	}
	return out
}

// scoredGrid lists scored builds, newest first.
func scoredGrid(builds []calibrate.Scored, q model.Quantity, u Units) (string, grid) {
	g := grid{Head: []string{"build", "date", "measured", "plan alone", "off", "calibrated", "off", "95 % band"}, Figures: 2}
	for i := len(builds) - 1; i >= 0 && len(g.Rows) < mostTabled; i-- {
		b := builds[i]
		g.add(label(b.Build), date(b.Date), size(q, b.Measured, u),
			size(q, b.Predicted[calibrate.Planner], u), signed(errorOf(b, calibrate.Planner), 1)+" %",
			size(q, b.Predicted[calibrate.Calibrated], u), signed(errorOf(b, calibrate.Calibrated), 1)+" %",
			band(q, b.Low, b.High, u))
	}
	if len(g.Rows) < len(builds) {
		return fmt.Sprintf("Table: the newest %d of %d builds", len(g.Rows), len(builds)), g
	}
	return fmt.Sprintf("Table: all %s, newest first", counted(len(builds), model.Builds)), g
}

// band prints limits in the first of the units shown: "402–431 g".
func band(q model.Quantity, low, high float64, u Units) string {
	if !model.Known(low) || !model.Known(high) {
		return dash
	}
	unit, per := horizontal(q, u)
	if u == Imperial {
		return decimal(low/per, 1) + "–" + decimal(high/per, 1) + " " + unit
	}
	return digits(low) + "–" + digits(high) + " " + unit
}
