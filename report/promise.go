package report

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"trueplait/calibrate"
	"trueplait/model"
)

// PromiseJSON writes a promise for programs: g and mm, full precision, null
// where there is no figure.
func PromiseJSON(w io.Writer, p *calibrate.Promise) error {
	tighten := []object{}
	for _, t := range p.Tighten {
		tighten = append(tighten, object{{"fills", t.Fills}, {"checks", t.Checks}, {"builds", t.Builds}, {"half_width_g", number(t.HalfWidthG)}})
	}
	out := object{
		{"product", p.Labels.Product},
		{"maker", p.Labels.Maker},
		{"core_batch", p.Labels.CoreBatch},
		{"strand_batch", p.Labels.StrandBatch},
		{"shot_batch", p.Labels.ShotBatch},
		{"coverage", number(p.Coverage)},
		{"of", p.Of},
		{"planned_from", p.Planned.From},
		{"weight_basis", nil},
		{"weight_g", bandJSON(p.Weight)},
		{"body_g", bandJSON(p.Body)},
		{"shot_g", bandJSON(p.Shot)},
		{"length_mm", bandJSON(p.Length)},
		{"variance_share", sharesJSON(p.Sources)},
		{"tighten", tighten},
		{"within", withinJSON(p.Within)},
		{"warnings", listed(p.Warnings)},
	}
	if p.Basis != "" {
		out[8].value = p.Basis
	}
	return writeJSON(w, out)
}

func bandJSON(b calibrate.Band) any {
	if !model.Known(b.Planned) {
		return nil
	}
	return object{{"planned", number(b.Planned)}, {"median", number(b.Median)}, {"low", number(b.Low)}, {"high", number(b.High)},
		{"planner_low", number(b.PlannerLow)}, {"planner_high", number(b.PlannerHigh)},
		{"floor_low", number(b.FloorLow)}, {"floor_high", number(b.FloorHigh)}}
}

func sharesJSON(sources []calibrate.VarianceSource) any {
	if sources == nil {
		return nil
	}
	out := object{}
	for _, s := range sources {
		key := string(s.Effect)
		if key == "" {
			key = "scatter"
		}
		out = append(out, member{key, number(s.Share)})
	}
	return out
}

func withinJSON(w *calibrate.Within) any {
	if w == nil {
		return nil
	}
	rows := func(n int) any {
		if n == calibrate.Never {
			return nil
		}
		return n
	}
	return object{{"half_width_g", number(w.HalfWidthG)}, {"chance", number(w.Chance)}, {"fills", rows(w.Fills)}, {"checks", rows(w.Checks)}}
}

// PromiseTable writes a promise for people: what to tell the customer, every
// figure beside what the plan alone would need, where the spread comes from,
// and what would narrow it.
func PromiseTable(w io.Writer, promise *calibrate.Promise, s Style) error {
	p := newPrinter(w, s)
	p.paragraph(promiseWords(promise, s.Units))
	p.gap()
	p.paragraph(label(promise.Labels.Product))
	p.items(promiseFor(promise))
	if g := promiseGrid(promise, s.Units); len(g.Rows) > 0 {
		p.gap()
		p.paragraph(fmt.Sprintf("Planned, expected and promised (%s). Plan alone: what the same promise takes without the log. At best: with these hands and batches known for certain", of20(promise)))
		p.grid(g)
	}
	if promise.Within != nil {
		p.gap()
		p.paragraph(withinWords(promise, s.Units))
	}
	if len(promise.Sources) > 0 {
		p.gap()
		p.paragraph("Where the spread of finished weights comes from, across the shop: " + sourcesReading(promise.Sources, s.Units))
		p.grid(sourcesGrid(promise.Sources, s.Units))
	}
	if len(promise.Tighten) > 0 {
		p.gap()
		p.paragraph("What to measure. " + measureWords(promise, s.Units))
		p.grid(tightenGrid(promise, s.Units))
	}
	if len(promise.Warnings) > 0 {
		p.gap()
		p.paragraph("Mind")
		p.items(promise.Warnings)
	}
	return p.err
}

// promiseWords is what to tell the customer: "Promise 402 to 431 g (14 1/4 to
// 15 1/4 oz): 19 of 20 such whips will be inside."
func promiseWords(p *calibrate.Promise, u Units) string {
	var out []string
	for _, f := range []struct {
		q    model.Quantity
		band calibrate.Band
	}{{model.Weight, p.Weight}, {model.Length, p.Length}} {
		b := f.band
		if !model.Known(b.Low) {
			continue
		}
		words := fmt.Sprintf("Promise %s: %s.", reached(f.q, b.Low, b.High, u), inside(p))
		if len(out) > 0 {
			words = fmt.Sprintf("In length, %s.", reached(f.q, b.Low, b.High, u))
		}
		if model.Known(b.PlannerLow) {
			words += fmt.Sprintf(" The plan alone would need %s.", reached(f.q, b.PlannerLow, b.PlannerHigh, one(u)))
		}
		out = append(out, words)
	}
	if len(out) == 0 {
		words := "Nothing can be promised yet."
		if model.Known(p.Weight.Median) {
			words += fmt.Sprintf(" The plan says %s, and no finished whip says yet how far off that is.", Mass(p.Weight.Median, u))
		}
		return words
	}
	return strings.Join(out, " ")
}

// reached shows a band as it is spoken: "402 to 431 g (14 1/4 to 15 1/4 oz)".
func reached(q model.Quantity, low, high float64, u Units) string {
	unit, imperial := "g", ounces
	if q.Dimension() == model.LengthDimension {
		unit, imperial = "mm", inches
	}
	metric := digits(low) + " to " + digits(high) + " " + unit
	from, to := imperial(low), imperial(high)
	if !strings.Contains(from+to, "lb") && !strings.HasPrefix(from, "under") {
		from = strings.TrimSuffix(strings.TrimSuffix(from, " oz"), " in")
	}
	fractions := from + " to " + to
	switch u {
	case Metric:
		return metric
	case Imperial:
		return fractions
	}
	return metric + " (" + fractions + ")"
}

// inside says how often the promise holds: "19 of 20 such whips will be inside".
func inside(p *calibrate.Promise) string {
	if p.Of > 1 {
		return fmt.Sprintf("in %s batches all %d whips will be inside", of20(p), p.Of)
	}
	return of20(p) + " such whips will be inside"
}

// of20 is the coverage as a maker counts: "19 of 20", else "97 % of".
func of20(p *calibrate.Promise) string {
	words := share(p.Coverage) + " of"
	for _, n := range []float64{2, 3, 4, 5, 10, 20, 50, 100} {
		if k := p.Coverage * n; math.Abs(k-math.Round(k)) < 1e-9 && k > 0.5 {
			words = fmt.Sprintf("%.0f of %.0f", k, n)
			break
		}
	}
	return words
}

// promiseFor says whose promise it is and what it is worked out from.
func promiseFor(p *calibrate.Promise) []string {
	out := []string{whose(p.Labels)}
	if p.LabelsFrom != "" {
		out = append(out, "Not asked for: "+label(p.LabelsFrom))
	}
	from := map[string]string{"options": "as given", "parts list": "from the parts list", "last build": "of the product's last build, without corrections"}
	out = append(out, "Planned figures: "+from[p.Planned.From])
	switch p.Basis {
	case calibrate.FromParts:
		out = append(out, "The weight is the sum of shot and cord, each with what the log knows of it")
	case calibrate.FromWhole:
		out = append(out, "The weight is predicted as a whole")
	}
	return out
}

// promiseGrid lists every figure with its bands.
func promiseGrid(p *calibrate.Promise, u Units) grid {
	g := grid{Head: []string{"", "planned", "expect", "promise", "plan alone", "at best"}, Figures: 1}
	u = one(u)
	for _, f := range []struct {
		name string
		q    model.Quantity
		b    calibrate.Band
	}{{"weight", model.Weight, p.Weight}, {"less shot", model.Body, p.Body}, {"shot", model.Shot, p.Shot}, {"length", model.Length, p.Length}} {
		if !model.Known(f.b.Planned) {
			continue
		}
		g.add(f.name, size(f.q, f.b.Planned, u), size(f.q, f.b.Median, u), reachedOrDash(f.q, f.b.Low, f.b.High, u),
			reachedOrDash(f.q, f.b.PlannerLow, f.b.PlannerHigh, u), reachedOrDash(f.q, f.b.FloorLow, f.b.FloorHigh, u))
	}
	return g
}

func reachedOrDash(q model.Quantity, low, high float64, u Units) string {
	if !model.Known(low) || !model.Known(high) {
		return dash
	}
	return reached(q, low, high, u)
}

// withinWords answers whether the distance asked for can be kept.
func withinWords(p *calibrate.Promise, u Units) string {
	w := p.Within
	out := fmt.Sprintf("Within %s of %s: the next whip with a chance of %s.", Mass(w.HalfWidthG, u), Mass(w.AroundG, u), share(w.Chance))
	goal := share(p.Coverage)
	if w.Fills == 0 {
		return out + " That is enough for " + goal + " as it is."
	}
	var ways []string
	if w.Fills > 0 {
		ways = append(ways, counted(w.Fills, model.Fills)+" of "+labelled(model.CoreBatch, p.Labels.CoreBatch))
	}
	if w.Checks > 0 {
		ways = append(ways, counted(w.Checks, model.Checks)+" of "+labelled(model.StrandBatch, p.Labels.StrandBatch))
	}
	if len(ways) == 0 {
		return out + fmt.Sprintf(" No number of test fills or cord checks, up to %d, brings it to %s.", calibrate.MostRows, goal)
	}
	return out + fmt.Sprintf(" It takes %s to bring it to %s.", strings.Join(ways, ", or "), goal)
}

// sourceName is a source of variance in words.
func sourceName(e model.Effect) string {
	if e == "" {
		return "whip to whip"
	}
	return e.Word()
}

// sourcesReading names the largest source.
func sourcesReading(sources []calibrate.VarianceSource, u Units) string {
	most := sources[0]
	for _, s := range sources {
		if s.Share > most.Share {
			most = s
		}
	}
	return fmt.Sprintf("the largest part is %s with %s of the variance, typically %s either way", sourceName(most.Effect), share(most.Share), grams(most.SDG, u))
}

// sourcesGrid lists the sources in grams; those that count for nothing are left
// out.
func sourcesGrid(sources []calibrate.VarianceSource, u Units) grid {
	g := grid{Head: []string{"source", "typically", "share of the variance"}, Figures: 1}
	for _, s := range sources {
		if s.Share > 0 {
			g.add(sourceName(s.Effect), "± "+grams(s.SDG, u), share(s.Share))
		}
	}
	return g
}

// grams shows a small mass with a decimal: a difference between two promises
// is often under a gram.
func grams(g float64, u Units) string {
	unit, decimals := "g", 1
	if u == Imperial {
		g, unit, decimals = g/model.GramsPerOunce, "oz", 2
	}
	if least := math.Pow(10, -float64(decimals)); g < least/2 {
		return "under " + decimal(least, decimals) + " " + unit
	}
	return decimal(g, decimals) + " " + unit
}

// tightenGrid lists the half width of the promise after more rows of each kind.
func tightenGrid(p *calibrate.Promise, u Units) grid {
	g := grid{Head: []string{"after this many more"}, Figures: 1}
	names := []string{"test fills", "cord checks", "whips"}
	rows := make([][]string, len(names))
	for _, t := range p.Tighten {
		of := 0
		switch {
		case t.Checks > 0:
			of = 1
		case t.Builds > 0:
			of = 2
		}
		if of == 0 {
			g.Head = append(g.Head, strconv.Itoa(t.Fills))
		}
		rows[of] = append(rows[of], "± "+grams(t.HalfWidthG, u))
	}
	for i, r := range rows {
		g.add(append([]string{names[i]}, r...)...)
	}
	return g
}
