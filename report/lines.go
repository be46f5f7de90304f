package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"

	"github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"

	"trueplait/calibrate"
	"trueplait/model"
)

// A page draws the product lines with most builds, and of each the newest
// builds; its table has all lines.
const (
	mostProducts     = 4
	mostOfLine       = 100 // builds drawn: more would hide each other
	mostListedOfLine = 40  // builds in the table behind the chart
	leastOfLine      = 4   // builds: below, a chart shows nothing that the sentence does not
)

// LineSections shows the lines of one product, a section for each quantity. A
// line that has no chart is said in words.
func LineSections(lines []calibrate.Line, u Units) []Section {
	var out []Section
	for i := range lines {
		l := &lines[i]
		if i == 0 || l.Quantity != lines[i-1].Quantity {
			out = append(out, Section{ID: "line-" + string(l.Quantity), Title: spoken[l.Quantity].name})
		}
		f := drawnLine(l, i, u)
		if f == nil {
			f = &figure{ID: lineID(i), Title: capital(lineName(l)), Reading: lineWords(l, u), Notes: labels(l.Warnings)}
		}
		s := &out[len(out)-1]
		s.Figures = append(s.Figures, *f)
	}
	return out
}

// lineID names the figure of a line; at counts them on a page.
func lineID(at int) string { return fmt.Sprintf("line-%d", at) }

// linesSection shows how consistent each product line is: on the scale of the
// plan for the hands, and as measured against the limits promised.
func linesSection(p Page) Section {
	if len(p.Lines) == 0 {
		return Section{}
	}
	u := p.Style.Units
	s := Section{ID: "lines", Title: "Is each product made alike?",
		Intro: "Against the plan shows the hands, whatever size was planned; as measured shows what the customer gets. Usual is where builds of a steady line lie: 3 standard deviations, taken from one build to the next, either side of the average.",
		Table: productsGrid(mostBuiltLines(p.Lines), one(u))}
	drawn := mostBuilt(p.Lines, mostProducts)
	for i := range p.Lines {
		l := &p.Lines[i]
		if !slices.Contains(drawn, l.Product) {
			continue
		}
		if f := drawnLine(l, len(s.Figures), u); f != nil {
			s.Figures = append(s.Figures, *f)
		}
	}
	if all := mostBuilt(p.Lines, len(p.Lines)); len(drawn) < len(all) {
		words := fmt.Sprintf("Drawn are the %d products with most builds of %d; the table has %s", len(drawn), len(all), tabledProducts(len(all)))
		if len(all) > mostOffered {
			words += ", trueplait consistency all of them"
		}
		s.Notes = append(s.Notes, words+".")
	}
	return s
}

// drawnLine is the chart of a line: against the plan, or as measured against the
// limits promised. It is nil where there are none or a chart shows nothing; at
// counts the charts of the page.
func drawnLine(l *calibrate.Line, at int, u Units) *figure {
	var f figure
	switch {
	case len(l.Builds) < leastOfLine || !(l.SD > 0):
		return nil
	case l.Scale == calibrate.RatioScale:
		f = lineFigure(l, at, u)
	case l.Capability != nil:
		f = stripFigure(l, at, u)
	default:
		return nil
	}
	return &f
}

// mostBuilt names the products with most builds, at most n.
func mostBuilt(lines []calibrate.Line, n int) []string {
	builds := map[string]int{}
	var products []string
	for i := range lines {
		if _, ok := builds[lines[i].Product]; !ok {
			products = append(products, lines[i].Product)
		}
		builds[lines[i].Product] = max(builds[lines[i].Product], len(lines[i].Builds))
	}
	slices.SortStableFunc(products, func(a, b string) int { return cmp.Compare(builds[b], builds[a]) })
	return products[:min(n, len(products))]
}

// mostBuiltLines are the lines of the products with most builds, as many as a
// table has room for, in the order of lines.
func mostBuiltLines(lines []calibrate.Line) []calibrate.Line {
	listed := mostBuilt(lines, mostOffered)
	return slices.DeleteFunc(slices.Clone(lines), func(l calibrate.Line) bool { return !slices.Contains(listed, l.Product) })
}

// productsGrid lists every product and quantity on both scales; brackets hold
// what is usual.
func productsGrid(lines []calibrate.Line, u Units) grid {
	g := grid{Head: []string{"product", "quantity", "builds", "of the plan (usual)", "stand out", "measured (usual)", "stand out"}, Figures: 2}
	for i := range lines {
		l := &lines[i]
		cells := []string{fmt.Sprintf("%s (%s)", lineValue(l, l.Mean, u), lineBand(l, l.Lower, l.Upper, u)), strconv.Itoa(standOut(l))}
		if l.Scale == calibrate.RatioScale {
			g.add(append([]string{label(l.Product), string(l.Quantity), strconv.Itoa(len(l.Builds))}, cells...)...)
		} else { // follows the same builds against the plan
			last := &g.Rows[len(g.Rows)-1]
			*last = append(*last, cells...)
		}
	}
	return g
}

// lineFigure is the chart of individual builds against the plan; a build that
// stands out has a ring and its words beside it.
func lineFigure(l *calibrate.Line, at int, u Units) figure {
	const few = 4
	f := figure{ID: lineID(at), Title: capital(lineName(l)), Reading: lineWords(l, u)}
	f.Notes = append(signalWords(l, few), labels(l.Warnings)...)
	d := newLineDots(l)
	c := newScatter(
		opts.XAxis{Type: "value", Name: "build, in order of date", Min: d.first, Max: len(l.Builds) + 1, MinInterval: 1, AxisLabel: inner()},
		opts.YAxis{Type: "value", Name: string(l.Quantity) + " measured, % of the plan", Min: d.low, Max: d.high, AxisLabel: inner()},
		"lineTip")
	c.AddSeries("build", d.dots, points("circle", 7, filled(inkAfter, 0.85)),
		rules(inkQuiet, "dashed", 1.5, "insideEndTop", []rule{
			{Name: "usually below", YAxis: rounded(l.Upper, 2)}, {Name: "usually above", YAxis: rounded(l.Lower, 2)}}))
	line := charts.NewLine()
	line.AddSeries("in order", d.path, stroke(inkAfter, "solid", 1),
		rules(inkQuiet, "solid", 1.5, "insideEndTop", []rule{{Name: "average", YAxis: rounded(l.Mean, 2)}}))
	c.Overlap(line)
	key := []mark{{"build", "dot", "after"}, {"average", "solid", "quiet"}, {"usual limits", "dashed", "quiet"}}
	if len(d.beyond) > 0 {
		c.AddSeries(offChart, d.beyond, points("arrow", 10, filled(inkMeasure, 1)))
		key = append(key, mark{offChart, "arrow", "measure"})
	}
	if d.addRings(c, l) {
		key = append(key, mark{"stands out", "ring", "before"})
	}
	f.Chart = finished(f.ID, 300, len(d.path), "%", key, c)
	f.Caption = fmt.Sprintf("n = %s. Usual limits: average ± 3 standard deviations, these from the mean step between neighbours (moving range). A ring is a build at which a pattern is complete that chance seldom makes.",
		counted(len(l.Builds), model.Builds))
	if d.first > 0 {
		f.Caption += fmt.Sprintf(" Drawn are the newest %d builds; limits and patterns use them all.", len(d.path))
	}
	f.Fold, f.Table = lineGrid(l, u)
	return f
}

// lineDots are the points of a line's chart: x the number of the build, y its
// value as drawn, then its value.
type lineDots struct {
	first        int // builds before the first one drawn
	low, high    float64
	dots, beyond []opts.ScatterData
	path         []opts.LineData
}

// offAfter is how far a build may be from the average and still have its place
// on the chart, standard deviations: one slip must not flatten the others.
const offAfter = 6

func newLineDots(l *calibrate.Line) lineDots {
	d := lineDots{first: max(0, len(l.Builds)-mostOfLine)}
	reach := offAfter * l.SDMovingRange
	values := []float64{l.Lower, l.Upper}
	for _, b := range l.Builds[d.first:] {
		values = append(values, max(l.Mean-reach, min(l.Mean+reach, b.X)))
	}
	d.low, d.high = snug(values)
	for i, b := range l.Builds[d.first:] {
		y := max(d.low, min(d.high, b.X))
		dot := opts.ScatterData{Name: label(b.ID), Value: []any{d.first + i + 1, rounded(y, 2), rounded(b.X, 1)}}
		d.path = append(d.path, opts.LineData{Value: []any{d.first + i + 1, rounded(y, 2)}})
		switch {
		case b.X < d.low:
			dot.SymbolRotate = 180
			d.beyond = append(d.beyond, dot)
		case b.X > d.high:
			d.beyond = append(d.beyond, dot)
		default:
			d.dots = append(d.dots, dot)
		}
	}
	return d
}

// addRings marks the builds that stand out, and reports whether there are any.
// Words stand beside the first ring of a pattern, on the side with room, as
// long as they do not crowd.
func (d *lineDots) addRings(c *charts.Scatter, l *calibrate.Line) bool {
	words := d.worded(l)
	sides := map[string][]opts.ScatterData{}
	last := -1
	for _, s := range l.Signals {
		i := s.At - d.first
		if i < 0 || i == last {
			continue
		}
		last = i
		side := ""
		if words[i] {
			if side = "right"; i > len(d.path)/2 {
				side = "left"
			}
		}
		sides[side] = append(sides[side], opts.ScatterData{Name: label(s.Build) + ": " + rulesAt(l, s.At),
			Value: []any{s.At + 1, d.path[i].Value.([]any)[1], rounded(l.Builds[s.At].X, 1)}})
	}
	for _, side := range []string{"", "left", "right"} {
		if len(sides[side]) == 0 {
			continue
		}
		options := []charts.SeriesOpts{points("circle", 15, hollow(inkBefore, 1))}
		if side != "" {
			options = append(options,
				charts.WithLabelOpts(opts.Label{Show: opts.Bool(true), Formatter: "{b}", Position: side, Color: inkBefore}),
				charts.WithLabelLayoutOpts(opts.LabelLayout{HideOverlap: opts.Bool(true)}))
		}
		c.AddSeries("stands out", sides[side], options...)
	}
	return last >= 0
}

// worded chooses the points whose words are shown: the first of each pattern,
// single builds beyond a limit before runs, none too near to another.
func (d *lineDots) worded(l *calibrate.Line) map[int]bool {
	out := map[int]bool{}
	for _, alone := range []bool{true, false} {
		for _, e := range episodes(l) {
			i := e.first.At - d.first
			if i < 0 || alone != (e.first.Rule == calibrate.BeyondLimit) {
				continue
			}
			near := false
			for j := range out {
				near = near || max(i-j, j-i) < len(d.path)/8
			}
			if !near {
				out[i] = true
			}
		}
	}
	return out
}

// snug are round ends of an axis that holds all values.
func snug(values []float64) (low, high float64) {
	low, high = slices.Min(values), slices.Max(values)
	step := math.Pow(10, math.Floor(math.Log10(high-low)))
	if (high-low)/step < 4 {
		step /= 4
	}
	low, high = step*math.Floor(low/step-0.3), step*math.Ceil(high/step+0.3)
	return rounded(low, 6), rounded(high, 6)
}

// inner labels an axis but for its ends, which are seldom round.
func inner() *opts.AxisLabel {
	return &opts.AxisLabel{ShowMinLabel: opts.Bool(false), ShowMaxLabel: opts.Bool(false)}
}

// stripFigure lays the builds of a line along the limits promised.
func stripFigure(l *calibrate.Line, at int, u Units) figure {
	capable := l.Capability
	f := figure{ID: lineID(at), Title: capital(lineName(l)) + " against today's promise",
		Reading: capabilityWords(l, u) + toleranceWords(l, u), Notes: labels(l.Warnings)}
	unit, per := horizontal(l.Quantity, u)
	builds := l.Builds[max(0, len(l.Builds)-mostOfLine):]
	var values []float64
	var limits []rule
	for _, limit := range []struct {
		name string
		at   float64
	}{{"least", capable.Low}, {"most", capable.High}} {
		if model.Known(limit.at) {
			values = append(values, limit.at/per)
			limits = append(limits, rule{Name: limit.name + " " + digits(limit.at/per), XAxis: rounded(limit.at/per, 2)})
		}
	}
	const depth = 5 // rows, so that builds of one size do not hide each other
	var inside, outside []opts.ScatterData
	for i, b := range builds {
		values = append(values, b.X/per)
		d := opts.ScatterData{Name: label(b.ID), Value: []any{rounded(b.X/per, 2), i % depth}}
		if b.X < capable.Low || b.X > capable.High {
			outside = append(outside, d)
		} else {
			inside = append(inside, d)
		}
	}
	low, high := snug(values)
	c := newScatter(
		opts.XAxis{Type: "value", Name: string(l.Quantity) + ", " + unit, Min: low, Max: high, AxisLabel: inner()},
		opts.YAxis{Type: "category", Data: make([]string, depth), AxisLabel: &opts.AxisLabel{Show: opts.Bool(false)},
			SplitLine: &opts.SplitLine{Show: opts.Bool(false)}},
		"intervalTip")
	c.AddSeries("build", inside, points("circle", 8, filled(inkAfter, 0.6)), rules(inkQuiet, "dashed", 1.5, "end", limits))
	key := []mark{{"build inside", "dot", "after"}, {"promised", "upright", "quiet"}}
	if len(outside) > 0 {
		c.AddSeries("build outside", outside, points("diamond", 11, filled(inkBefore, 1)))
		key = append(key, mark{"build outside", "diamond", "before"})
	}
	f.Chart = finished(f.ID, 170, len(builds), unit, key, c)
	f.Caption = fmt.Sprintf("n = %s. Each mark is one whip; only its place from left to right means anything.", counted(len(l.Builds), model.Builds))
	if len(builds) < len(l.Builds) {
		f.Caption += fmt.Sprintf(" Drawn are the newest %d.", len(builds))
	}
	f.Fold, f.Table = "Table: capability", capabilityFigures(l, u)
	return f
}

// capabilityFigures lists what the capability sentence rests on.
func capabilityFigures(l *calibrate.Line, u Units) grid {
	c, t := l.Capability, l.Tolerance
	g := grid{Head: []string{"figure", "value", "what it says"}, Figures: 1, Words: 2}
	g.add("builds outside", fmt.Sprintf("%d of %d", c.Outside, len(l.Builds)), "counted")
	g.add("expected outside", share(c.ExpectedShare), "of a normal distribution with this average and scatter")
	g.add("average", size(l.Quantity, l.Mean, u), "of all builds")
	g.add("scatter, all builds", size(l.Quantity, l.SD, u), "standard deviation, drift and batches included")
	g.add("scatter, neighbours", size(l.Quantity, l.SDMovingRange, u), "standard deviation from one build to the next")
	g.add("Pp", bracketed(c.Pp, c.PpLow, c.PpHigh), "room between the limits over 6 standard deviations of all builds")
	g.add("Ppk", bracketed(c.Ppk, c.PpkLow, c.PpkHigh), "the same to the nearer limit, over 3")
	g.add("Cp", decimal(c.Cp, 2), "Pp with the scatter of neighbours: what a steady line could do")
	g.add("Cpk", decimal(c.Cpk, 2), "Ppk with the scatter of neighbours")
	g.add("tolerance interval", band(l.Quantity, t.Low, t.High, u), fmt.Sprintf("holds %s of such whips with %s confidence", share(t.Coverage), share(t.Confidence)))
	g.add("p of normality", decimal(l.Normality.P, 3), "Anderson-Darling; below 0.05 the shares above are doubtful")
	return g
}

// lineGrid lists the builds of a line, newest first.
func lineGrid(l *calibrate.Line, u Units) (string, grid) {
	g := grid{Head: []string{"build", "date", "of the plan", "maker", "stands out"}, Figures: 2, Words: 3}
	for i := len(l.Builds) - 1; i >= 0 && len(g.Rows) < mostListedOfLine; i-- {
		b := l.Builds[i]
		g.add(label(b.ID), date(b.Date), lineValue(l, b.X, u), label(b.Labels.Maker), rulesAt(l, i))
	}
	if len(g.Rows) < len(l.Builds) {
		return "Table: the newest " + strconv.Itoa(len(g.Rows)) + " of " + strconv.Itoa(len(l.Builds)) + " builds", g
	}
	return fmt.Sprintf("Table: all %s, newest first", counted(len(l.Builds), model.Builds)), g
}
