package report

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"trueplait/calibrate"
	"trueplait/model"
)

// PlanJSON writes a plan for programs: g and mm, full precision, null where
// there is no figure.
func PlanJSON(w io.Writer, p *calibrate.Plan) error {
	c := p.Calibrated
	parts := []object{}
	for i, part := range p.Design.Parts {
		safe := cutSafe(p, i)
		strands := []object{}
		for j, s := range part.Strands {
			strands = append(strands, object{{"count", s.Count}, {"to_mm", number(s.ToMM)}, {"cut_mm", number(s.CutMM)},
				{"cut_safe_mm", number(safe.Strands[j])}})
		}
		parts = append(parts, object{
			{"part", part.Name},
			{"role", part.Role},
			{"mass_g", number(part.MassG)},
			{"balance_mm", number(part.BalanceMM)},
			{"cut_mm", number(part.CutMM)},
			{"cut_safe_mm", number(safe.SafeMM)},
			{"load_length_mm", number(part.LoadLengthMM)},
			{"shot_g_per_mm", number(part.ShotGMM)},
			{"packing", number(part.Packing)},
			{"strands", strands},
			{"warnings", listed(part.Warnings)},
		})
	}
	return writeJSON(w, object{
		{"product", p.Product},
		{"base", object{
			{"weight_g", number(p.Base.WeightG)}, {"body_g", number(p.Base.BodyG)}, {"shot_g", number(p.Base.ShotG)},
			{"length_mm", number(p.Base.LengthMM)}, {"strand_mm", number(p.Base.StrandMM)}, {"balance_mm", number(p.Base.BalanceMM)},
		}},
		{"calibrated", object{
			{"weight_g", medianJSON(c.Weight)}, {"body_g", medianJSON(c.Body)}, {"shot_g", medianJSON(c.Shot)},
			{"length_mm", medianJSON(c.Length)}, {"strand_mm", medianJSON(c.Strand)}, {"balance_mm", number(c.BalanceMM)},
		}},
		{"short_risk", number(p.ShortRisk)},
		{"parts", parts},
		{"warnings", listed(p.Warnings)},
	})
}

func medianJSON(i calibrate.Interval) object {
	return object{{"median", number(i.Median)}, {"low", number(i.Low)}, {"high", number(i.High)}}
}

// PlanTable writes a plan for people, in the order of work: what to weigh out,
// what to cut, what to expect, what to mind.
func PlanTable(w io.Writer, plan *calibrate.Plan, s Style) error {
	p := newPrinter(w, s)
	p.paragraph(label(plan.Product))
	p.items(planFor(plan, s.Units))
	if shot := newShotPlan(plan, s.Units); shot.WeighOut != "" {
		p.gap()
		p.paragraph("Shot: weigh out " + shot.WeighOut + ", " + shot.Limits + ".")
		p.items(shot.Loads)
		p.items(shot.Notes)
	}
	if cuts := newCutList(plan, s.Units); len(cuts.Parts) > 0 {
		p.gap()
		p.paragraph("Cut. " + cuts.Reading)
		p.grid(cuts.grid())
		p.items(cuts.details())
	}
	p.gap()
	p.paragraph("Expect. What the next whip will weigh and measure, with 95 % limits, beside the plan alone")
	p.grid(expectGrid(plan, s.Units))
	if warnings := planWarnings(plan); len(warnings) > 0 {
		p.gap()
		p.paragraph("Mind")
		p.items(warnings)
	}
	p.gap()
	for _, c := range Cautions {
		p.paragraph(c.Title + ": " + c.Text)
	}
	return p.err
}

// Caution is a hazard at the bench with what to do about it, short enough for
// a sheet.
type Caution struct{ Title, Text string }

// Cautions are those of this work.
var Cautions = []Caution{
	{"Lead shot", "wash hands before eating, keep food and children away; steel shot avoids lead."},
	{"Flame", "molten nylon sticks and burns deeply, its fumes are poisonous; ventilate, keep water at hand."},
	{"Cracking", "wear eye protection, keep people and animals well away."},
	{"No rule", "local rules and a professional's advice come before this sheet."},
}

// planFor says whose plan it is and what is behind it.
func planFor(p *calibrate.Plan, u Units) []string {
	out := []string{whose(p.Labels)}
	if p.LabelsFrom != "" {
		out = append(out, "Not asked for: "+label(p.LabelsFrom))
	}
	if p.Calibration > 0 {
		out = append(out, fmt.Sprintf("By calibration %d", p.Calibration))
	}
	if model.Known(p.TargetG) {
		target := "The load is as long as a whip of " + Mass(p.TargetG, u) + " needs"
		if !p.Reached {
			target = "No load length gives " + Mass(p.TargetG, u) + ": this plan comes nearest"
		}
		out = append(out, target)
	}
	return out
}

// whose names the hands and the batches: "For dita, with core batch C12 and a
// new strand batch".
func whose(l model.Labels) string {
	var batches []string
	for _, e := range []model.Effect{model.CoreBatch, model.StrandBatch, model.ShotBatch} {
		if name := l.Get(e); name != "" {
			batches = append(batches, labelled(e, name))
		}
	}
	who := "For any maker"
	if l.Maker != "" {
		who = "For " + label(l.Maker)
		if l.Maker == model.NewLevel {
			who = "For a new maker"
		}
	}
	if len(batches) > 0 {
		who += ", with " + series(batches)
	}
	return who
}

// labelled names a label with its effect: "core batch C12", "a new core batch".
func labelled(e model.Effect, l string) string {
	if l == model.NewLevel {
		return "a new " + e.Word()
	}
	return e.Word() + " " + label(l)
}

// shotPlan is what to weigh out and where it goes, in words.
type shotPlan struct {
	WeighOut string // "": the whip takes no shot
	Limits   string
	Loads    []string // one per loaded core
	Notes    []string
}

// notCalibrated is said where nothing was learnt of how the core packs.
const notCalibrated = "not calibrated yet: weigh a test fill"

func newShotPlan(p *calibrate.Plan, u Units) shotPlan {
	shot := p.Calibrated.Shot
	if !(shot.Median > 0) {
		return shotPlan{}
	}
	out := shotPlan{WeighOut: Mass(shot.Median, u), Limits: "no limits yet"}
	if between := span(model.Shot, shot, u); between != dash {
		out.Limits = "95 % limits " + between
	}
	factor := shot.Median / p.Base.ShotG
	for _, part := range p.Design.Parts {
		if part.ShotG > 0 {
			out.Loads = append(out.Loads, fmt.Sprintf("Over the first %s of %s, %s", Length(part.LoadLengthMM, u),
				label(part.Name), perLength(part.ShotGMM*factor, u)))
		}
	}
	if shotUncalibrated(p) {
		out.Notes = []string{capital(notCalibrated)}
	}
	return out
}

// shotUncalibrated reports whether the load is the planner's own: without a
// calibration of shot the median is the base figure, its limits those that
// packing and bore leave.
func shotUncalibrated(p *calibrate.Plan) bool {
	return p.Calibrated.Shot.Median == p.Base.ShotG
}

// perLength shows a load in g/mm as makers speak of it.
func perLength(gmm float64, u Units) string {
	if u == Metric {
		return decimal(gmm*100, 1) + " g per 100 mm"
	}
	return decimal(gmm*model.MMPerInch, 2) + " g per inch"
}

// span shows limits: "393 to 435 g (13 7/8 to 15 3/8 oz)".
func span(q model.Quantity, i calibrate.Interval, u Units) string {
	if !model.Known(i.Low) || !model.Known(i.High) {
		return dash
	}
	unit, imperial := "g", ounces
	if q.Dimension() == model.LengthDimension {
		unit, imperial = "mm", inches
	}
	metric := digits(i.Low) + " to " + digits(i.High) + " " + unit
	low, high := imperial(i.Low), imperial(i.High)
	if strings.Count(low+high, " lb") == 0 { // one unit, said once
		low = strings.TrimSuffix(low, high[strings.LastIndex(high, " "):])
	}
	switch u {
	case Metric:
		return metric
	case Imperial:
		return low + " to " + high
	}
	return metric + " (" + low + " to " + high + ")"
}

// expectGrid lists what the whip will weigh and measure. Figures that the
// product does not have are left out.
func expectGrid(p *calibrate.Plan, u Units) grid {
	g := grid{Head: []string{"", "expect", "95 % limits", "plan alone"}, Figures: 1}
	row := func(name string, q model.Quantity, i calibrate.Interval, base float64) {
		if model.Known(i.Median) {
			g.add(name, size(q, i.Median, u), span(q, i, u), size(q, base, one(u)))
		}
	}
	c, none := p.Calibrated, calibrate.Interval{Median: p.Calibrated.BalanceMM, Low: math.NaN(), High: math.NaN()}
	row("weight", model.Weight, c.Weight, p.Base.WeightG)
	if p.Base.ShotG > 0 {
		row("less shot", model.Body, c.Body, p.Base.BodyG)
	}
	row("length", model.Length, c.Length, p.Base.LengthMM)
	row("strand used", model.Strand, c.Strand, p.Base.StrandMM)
	row("balance", model.Length, none, p.Base.BalanceMM)
	return g
}

// planWarnings lists the warnings of the plan and of its parts, each once, and
// none that already stands beside the shot.
func planWarnings(p *calibrate.Plan) []string {
	var out []string
	add := func(text, shown string) {
		beside := shotUncalibrated(p) && strings.Contains(text, notCalibrated)
		if !beside && !slices.ContainsFunc(out, func(s string) bool { return strings.Contains(s, text) }) {
			out = append(out, shown)
		}
	}
	for _, w := range p.Warnings {
		add(w, w)
	}
	for _, part := range p.Design.Parts {
		for _, w := range part.Warnings {
			add(w, part.Name+": "+w)
		}
	}
	return out
}
