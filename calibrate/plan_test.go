package calibrate

import (
	"math"
	"strings"
	"testing"

	"trueplait/model"
)

// bareWhip is a loaded core of 80 g in a plait of 200 g: figures that are easy
// to follow.
func bareWhip(t *testing.T) *model.Design {
	t.Helper()
	blank := func(name string, role model.Role) *model.Part {
		n := model.Unknown
		return &model.Part{Product: "bull", Name: name, Role: role,
			DiameterMM: n, TipDiameterMM: n, LengthMM: n, StartMM: n, LoadLengthMM: n, BoreMM: n, ShotDiameterMM: n,
			DensityGCM3: n, StrandWidthMM: n, StrandThicknessMM: n, DropAngleDeg: n, TailMM: n, UnloadedDiameterMM: n,
			SheathAngleDeg: n, SheathThicknessMM: n, MassPerLengthGM: n, MassG: n, Fraction: n}
	}
	core := blank("core", model.Core)
	core.LengthMM, core.LoadLengthMM, core.MassPerLengthGM = 1500, 900, 3
	core.BoreMM, core.ShotDiameterMM, core.DensityGCM3 = 4, 2, 11.1
	plait := blank("overlay", model.Plait)
	plait.Strands, plait.StrandWidthMM, plait.StrandThicknessMM = 8, 4, 1
	plait.DiameterMM, plait.TipDiameterMM, plait.LengthMM = 9, 9, 1800
	plait.MassPerLengthGM, plait.TailMM = 5, 100
	d, problems := model.NewDesign([]*model.Part{core, plait}, model.Materials{})
	if problems != nil {
		t.Fatal(problems[0])
	}
	return d
}

// Without any build the medians are the base figures, and shot alone has the
// limits that packing and bore leave.
func TestPlan_NothingMeasured(t *testing.T) {
	d := bareWhip(t)
	c := fitLog(t, NewRows(map[model.Quantity][]model.Observation{}), Options{})
	p := c.Plan(d, PlanOptions{ShortRisk: 0.01, TargetG: model.Unknown})
	for what, got := range map[string][2]float64{
		"weight":  {p.Calibrated.Weight.Median, d.WeightG},
		"body":    {p.Calibrated.Body.Median, d.BodyG},
		"shot":    {p.Calibrated.Shot.Median, d.ShotG},
		"length":  {p.Calibrated.Length.Median, d.LengthMM},
		"strand":  {p.Calibrated.Strand.Median, d.StrandMM},
		"balance": {p.Calibrated.BalanceMM, d.BalanceMM},
	} {
		checkNear(t, what, got[0], got[1], 1e-9*got[1])
	}
	if !math.IsNaN(p.Calibrated.Weight.Low) || !math.IsNaN(p.Calibrated.Length.High) {
		t.Errorf("limits without a build: %+v", p.Calibrated)
	}
	checkNear(t, "shot limits", math.Log(p.Calibrated.Shot.High/p.Calibrated.Shot.Low), 2*1.959963984540054*d.ShotUncertainty, 1e-9)
	if !strings.Contains(strings.Join(p.Warnings, "\n"), "not calibrated yet: weigh a test fill") {
		t.Errorf("warnings %q", p.Warnings)
	}
	for _, cut := range p.CutSafe {
		if !math.IsNaN(cut.SafeMM) {
			t.Errorf("a safe cut without a build: %v", cut)
		}
	}
}

// A target weight is met to a thousandth of a gram by the median, with and
// without builds, or said to be out of reach.
func TestPlan_Target(t *testing.T) {
	d := bareWhip(t)
	for name, rows := range map[string]*Rows{"no builds": NewRows(map[model.Quantity][]model.Observation{}), "60 builds": workshopRows(5, 60)} {
		t.Run(name, func(t *testing.T) {
			c := fitLog(t, rows, Options{})
			labels := model.Labels{Maker: "m00", CoreBatch: "c02", StrandBatch: "nc02", Product: "p00"}
			least, most := d.LoadRange()
			n := c.next(labels)
			light, heavy := n.weightAt(d, least), n.weightAt(d, most)
			for _, share := range []float64{0.02, 0.3, 0.5, 0.99} {
				target := light + share*(heavy-light)
				p := c.Plan(d, PlanOptions{Labels: labels, ShortRisk: 0.01, TargetG: target})
				checkNear(t, "median weight", p.Calibrated.Weight.Median, target, 1e-3)
				if !p.Reached {
					t.Errorf("target %g not reached", target)
				}
			}
			for _, target := range []float64{light - 5, heavy + 5} {
				p := c.Plan(d, PlanOptions{Labels: labels, ShortRisk: 0.01, TargetG: target})
				if p.Reached || !strings.Contains(strings.Join(p.Warnings, "\n"), "no load reaches") {
					t.Errorf("target %g: reached %v, warnings %q", target, p.Reached, p.Warnings)
				}
			}
		})
	}
}

// A core batch that takes more shot per inch needs less load for the same
// weight, and more shot for the same load.
func TestPlan_PackingMovesTheLoad(t *testing.T) {
	d := bareWhip(t)
	at := func(ratio float64) *Plan {
		var obs []model.Observation
		for i := range 3 {
			obs = append(obs, model.Observation{
				Key: model.RowKey{Kind: model.Fills, ID: string(rune('a' + i))}, Date: day(i),
				Labels: model.Labels{Maker: "a", CoreBatch: "c"}, Base: 20, Measured: 20 * ratio, Y: math.Log(ratio),
			})
		}
		c := fitLog(t, NewRows(map[model.Quantity][]model.Observation{model.Shot: obs}), Options{})
		return c.Plan(d, PlanOptions{Labels: model.Labels{Maker: "a", CoreBatch: "c"}, ShortRisk: 0.01, TargetG: d.WeightG})
	}
	loose, tight := at(0.9), at(1.1)
	if !(loose.LoadLengthMM() > tight.LoadLengthMM()+100) {
		t.Errorf("load %g mm at 0.9, %g mm at 1.1", loose.LoadLengthMM(), tight.LoadLengthMM())
	}
	checkNear(t, "weight", loose.Calibrated.Weight.Median, tight.Calibrated.Weight.Median, 1e-3)
	if p := loose.Calibrated.Shot; !(p.Low < p.Median && p.Median < p.High) || p.Width() > 0.3*p.Median {
		t.Errorf("shot %+v after three fills", p)
	}
}

// A larger take-up factor lengthens the safe cut; without strands measured, a
// larger length factor shortens it, and the plan says so.
func TestPlan_SafeCut(t *testing.T) {
	d := bareWhip(t)
	plan := func(q model.Quantity, ratio, risk float64) *Plan {
		var obs []model.Observation
		for i := range 6 {
			y := math.Log(ratio) + 0.01*float64(i%3-1)
			obs = append(obs, model.Observation{Key: model.RowKey{Kind: model.Builds, ID: string(rune('a' + i))}, Date: day(i),
				Labels: model.Labels{Maker: "a"}, Base: 1000, Measured: 1000 * math.Exp(y), Y: y})
		}
		c := fitLog(t, NewRows(map[model.Quantity][]model.Observation{q: obs}), Options{})
		return c.Plan(d, PlanOptions{Labels: model.Labels{Maker: "a"}, ShortRisk: risk, TargetG: model.Unknown})
	}
	safe := func(p *Plan) float64 { return p.CutSafe[1].SafeMM }
	a, b := plan(model.Strand, 1, 0.01), plan(model.Strand, 1.1, 0.01)
	if !(safe(b) > safe(a)+50 && safe(a) > d.Parts[1].CutMM) {
		t.Errorf("safe cut %g mm at take-up 1, %g mm at 1.1, base %g mm", safe(a), safe(b), d.Parts[1].CutMM)
	}
	if len(a.Warnings) != 1 { // the load is not calibrated; strands are
		t.Errorf("warnings %q", a.Warnings)
	}
	if cautious := plan(model.Strand, 1, 0.001); !(safe(cautious) > safe(a)) {
		t.Errorf("safe cut %g mm at a risk of 0.1 %%, %g mm at 1 %%", safe(cautious), safe(a))
	}
	short, long := plan(model.Length, 0.95, 0.01), plan(model.Length, 1.05, 0.01)
	if !(safe(long) < safe(short)) {
		t.Errorf("safe cut %g mm at length 0.95, %g mm at 1.05", safe(short), safe(long))
	}
	if !strings.Contains(strings.Join(long.Warnings, "\n"), "strand use not measured: record what is left") {
		t.Errorf("warnings %q", long.Warnings)
	}
	if !math.IsNaN(a.CutSafe[0].SafeMM) {
		t.Error("the core has a safe cut")
	}
	// Every strand of the plait is one group here, cut as the part is.
	checkNear(t, "strand group", a.CutSafe[1].Strands[0], safe(a), 1e-9)
}
