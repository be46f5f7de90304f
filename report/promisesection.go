package report

import (
	"fmt"
	"slices"

	"github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"
	"github.com/go-echarts/go-echarts/v2/types"

	"trueplait/calibrate"
	"trueplait/model"
)

// promiseSection shows what can be promised of each product, before and after.
// Without any promise it is not shown.
func promiseSection(p Page) Section {
	promises := slices.DeleteFunc(slices.Clone(p.Promises), func(x *calibrate.Promise) bool { return !model.Known(x.Weight.Low) })
	if len(promises) == 0 {
		return Section{}
	}
	s := Section{
		ID: "promise", Title: "What can be promised",
		Intro: fmt.Sprintf("The weight and the length to quote for the next whip of each product, by the hands and from the batches of its latest one: %s will be inside. "+
			"Instead of: what the plan alone would need to keep the same promise.", of20(promises[0])),
		Figures: []figure{promiseFigure(promises, p.Style.Units)},
	}
	for _, x := range promises[:min(len(promises), mostOffered)] {
		s.Notes = append(s.Notes, label(x.Labels.Product)+": "+insteadWords(x, p.Style.Units))
	}
	s.Notes = append(s.Notes, offeredNotes(len(promises))...)
	return s
}

// PromiseSections shows one promise: what to tell the customer beside what the
// plan alone would need, where the spread comes from, and what to measure to
// narrow it.
func PromiseSections(p *calibrate.Promise, u Units) []Section {
	table := promiseGrid(p, u)
	table.Head[0] = "figure"
	quoted := Section{ID: "promise", Title: label(p.Labels.Product), Intro: promiseWords(p, u), Table: table, Notes: promiseFor(p)}
	for _, w := range p.Warnings {
		quoted.Notes = append(quoted.Notes, capital(label(w)))
	}
	if p.Within != nil {
		quoted.Intro += " " + withinWords(p, u)
	}
	if model.Known(p.Weight.Low) {
		f := promiseFigure([]*calibrate.Promise{p}, u)
		f.Title, f.Reading = "Weight, before and after", capital(besideThePlan(model.Weight, p.Weight, u))+"."
		f.Fold, f.Table = "", grid{} // the table above has it
		quoted.Figures = append(quoted.Figures, f)
	}
	out := []Section{quoted}
	if len(p.Sources) > 0 {
		out = append(out, Section{ID: "scatter", Title: "Where the spread comes from",
			Intro: "Of finished weights across the shop, " + sourcesReading(p.Sources, u) + ". What comes from batches and hands can be measured away; what is from whip to whip stays.",
			Table: sourcesGrid(p.Sources, u)})
	}
	if len(p.Tighten) > 0 {
		out = append(out, Section{ID: "measure", Title: "What to measure to narrow it", Intro: measureWords(p, u), Table: tightenGrid(p, u)})
	}
	return out
}

// insteadWords shows today's bands of weight and length beside the plan's: "402
// to 431 g (14 1/8 to 15 1/4 oz) instead of 371 to 455 g".
func insteadWords(p *calibrate.Promise, u Units) string {
	out := besideThePlan(model.Weight, p.Weight, u)
	if model.Known(p.Length.Low) {
		out += "; " + besideThePlan(model.Length, p.Length, u)
	}
	return out
}

func besideThePlan(q model.Quantity, b calibrate.Band, u Units) string {
	words := reached(q, b.Low, b.High, u)
	if model.Known(b.PlannerLow) {
		words += " instead of " + reached(q, b.PlannerLow, b.PlannerHigh, one(u))
	}
	return words
}

// mostPromises is how many products the chart has room for.
const mostPromises = 12

// promiseBands are the three bands drawn of a product, top to bottom.
var promiseBands = []struct {
	name, shape, ink, symbol string
	of                       func(calibrate.Band) calibrate.Interval
}{
	{"plan alone", "circle", "before", "circle", func(b calibrate.Band) calibrate.Interval {
		return calibrate.Interval{Median: b.Planned, Low: b.PlannerLow, High: b.PlannerHigh}
	}},
	{"promise today", "dot", "after", "circle", func(b calibrate.Band) calibrate.Interval { return b.Interval }},
	{"at best", "diamond", "measure", "diamond", func(b calibrate.Band) calibrate.Interval {
		return calibrate.Interval{Median: b.Median, Low: b.FloorLow, High: b.FloorHigh}
	}},
}

// promiseFigure draws the bands of the weights, product by product.
func promiseFigure(promises []*calibrate.Promise, u Units) figure {
	f := figure{ID: "promise-weight", Title: "Weight to promise, before and after", Reading: promisesReading(promises, u)}
	unit, per := horizontal(model.Weight, u)
	drawn := promises[:min(len(promises), mostPromises)]
	names := make([]string, len(promiseBands)*len(drawn)) // beside the middle one of a product's bands
	for i, x := range drawn {
		names[len(promiseBands)*i+len(promiseBands)/2] = label(x.Labels.Product)
	}
	c := newScatter(
		opts.XAxis{Type: "value", Name: "finished weight, " + unit, Scale: opts.Bool(true)},
		opts.YAxis{Type: "category", Data: names, Inverse: opts.Bool(true),
			AxisLabel: &opts.AxisLabel{Width: 190, Overflow: "truncate"},
			SplitLine: &opts.SplitLine{Show: opts.Bool(false)}},
		"intervalTip")
	c.GridList[0].Left = "28" // the library leaves too little for names that few rows have
	var key []mark
	drawnBands := 0
	for i, b := range promiseBands {
		dots, bars := []opts.ScatterData{}, []opts.CustomData{}
		for j, x := range drawn {
			at, w := j*len(promiseBands)+i, whisker{label(x.Labels.Product), b.of(x.Weight)}
			if !w.known() {
				continue
			}
			low, middle, high := rounded(w.Low/per, 2), rounded(w.Median/per, 2), rounded(w.High/per, 2)
			dots = append(dots, opts.ScatterData{Name: w.name, Value: []any{middle, at, low, high}})
			bars = append(bars, opts.CustomData{Value: []any{low, at, high}})
		}
		ink := "--" + b.ink
		whiskers := charts.NewCustom()
		whiskers.AddSeries(b.name, bars, charts.WithCustomChartOpts(opts.CustomChart{RenderItem: types.FuncStr("whisker")}),
			charts.WithEncodeOpts(opts.Encode{X: []int{0, 2}, Y: 1}), charts.WithItemStyleOpts(opts.ItemStyle{Color: ink}))
		c.Overlap(whiskers)
		style := filled(ink, 1)
		if b.shape != "dot" {
			style = hollow(ink, 1)
		}
		c.AddSeries(b.name, dots, points(b.symbol, 9, style))
		key = append(key, mark{b.name, b.shape, b.ink})
		drawnBands += len(dots)
	}
	f.Chart = finished(f.ID, 92+18*len(names), drawnBands, unit, key, c)
	f.Caption = fmt.Sprintf("n = %s, each with three bars that hold %s whips: circle, the planned weight with what the plan alone would need; dot, the weight to expect with today's promise; diamond, the same if hands and batches were known for certain. No bar: too few builds to say.",
		count(len(promises), "product"), of20(promises[0]))
	if len(drawn) < len(promises) {
		f.Caption += fmt.Sprintf(" Drawn are %d of %d products; the table has %s.", len(drawn), len(promises), tabledProducts(len(promises)))
	}
	f.Fold, f.Table = promisesGrid(promises, u)
	return f
}

// promisesReading says how much narrower the promises are than the plan alone.
func promisesReading(promises []*calibrate.Promise, u Units) string {
	narrower, compared := 0, 0
	var best *calibrate.Promise
	gain := func(p *calibrate.Promise) float64 {
		return (p.Weight.PlannerHigh - p.Weight.PlannerLow) - p.Weight.Width()
	}
	for _, p := range promises {
		if !model.Known(p.Weight.PlannerLow) {
			continue
		}
		compared++
		if gain(p) > 0 {
			narrower++
		}
		if best == nil || gain(p) > gain(best) {
			best = p
		}
	}
	if best == nil {
		return "There are too few builds yet to say what the plan alone would need."
	}
	return fmt.Sprintf("For %d of %s the promise is narrower than the plan alone would allow. It gains most for %s: %s instead of %s.",
		narrower, count(compared, "product"), label(best.Labels.Product),
		reached(model.Weight, best.Weight.Low, best.Weight.High, one(u)), reached(model.Weight, best.Weight.PlannerLow, best.Weight.PlannerHigh, one(u)))
}

// promisesGrid lists the bands of weight and length of every product.
func promisesGrid(promises []*calibrate.Promise, u Units) (string, grid) {
	g := grid{Head: []string{"product", "figure", "planned", "expect", "promise", "plan alone", "at best"}, Figures: 2}
	for _, p := range promises[:min(len(promises), mostOffered)] {
		for _, r := range promiseGrid(p, u).Rows {
			g.add(append([]string{label(p.Labels.Product)}, r...)...)
		}
	}
	return "Table: every figure of " + count(min(len(promises), mostOffered), "product"), g
}
