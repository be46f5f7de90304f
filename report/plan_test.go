package report

import (
	"bytes"
	"encoding/json"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"trueplait/calibrate"
	"trueplait/model"
)

// fakePlan is the plan of a six-foot whip: two plaits over a rod and a loaded
// core, figures as a planner would give them. Cut lengths are those of 4.2 mm
// strand over these diameters, dropped at 25°.
func fakePlan() *calibrate.Plan {
	nan := model.Unknown
	part := func(name string, role model.Role, mass, balance, start, end float64) model.DesignPart {
		return model.DesignPart{Name: name, Role: role, MassG: mass, BalanceMM: balance, StartMM: start, EndMM: end,
			CutMM: nan, LoadLengthMM: nan, ShotGMM: nan, Packing: nan}
	}
	rod := part("handle rod", model.Rod, 63.1, 127, 0, 254)
	rod.Outline = []model.OutlinePoint{{AtMM: 0, DiameterMM: 6.35}, {AtMM: 254, DiameterMM: 6.35}}
	core := part("core", model.Core, 85.1, 705, 254, 1250)
	core.Outline = []model.OutlinePoint{{AtMM: 254, DiameterMM: 6.4}, {AtMM: 1154, DiameterMM: 6.4}, {AtMM: 1154, DiameterMM: 4.6}, {AtMM: 1250, DiameterMM: 4.6}}
	core.ShotG, core.CutMM, core.LoadLengthMM, core.ShotGMM, core.Packing = 78.3, 1043.25, 900, 0.087, 0.4925
	belly := part("belly", model.Plait, 69.7, 622, 180, 1250)
	belly.Outline = []model.OutlinePoint{{AtMM: 180, DiameterMM: 11.2}, {AtMM: 300, DiameterMM: 12}, {AtMM: 1250, DiameterMM: 8.2}}
	belly.CutMM, belly.TailMM = 1538.4, 120
	belly.Strands = []model.Strands{{Count: 2, ToMM: 1006, CutMM: 1224.2}, {Count: 8, ToMM: 1250, CutMM: 1538.4}}
	overlay := part("overlay", model.Plait, 131.5, 741, 0, 1830)
	overlay.Outline = []model.OutlinePoint{{AtMM: 0, DiameterMM: 15.1}, {AtMM: 230, DiameterMM: 16}, {AtMM: 330, DiameterMM: 15.8}, {AtMM: 1250, DiameterMM: 11}, {AtMM: 1830, DiameterMM: 7}}
	overlay.CutMM, overlay.TailMM, overlay.Overlay = 2539.1, 150, true
	overlay.Strands = []model.Strands{{Count: 2, ToMM: 1034, CutMM: 1553.9}, {Count: 2, ToMM: 1301, CutMM: 1873.5}, {Count: 2, ToMM: 1515, CutMM: 2133.1},
		{Count: 2, ToMM: 1728, CutMM: 2398.6}, {Count: 6, ToMM: 1830, CutMM: 2539.1}}
	overlay.Warnings = []string{"strands are dropped at 1034, 1301, 1515 and 1728 mm, to keep 25°"}
	design := &model.Design{
		Product: "6 ft bull, 14 plait", WeightG: 407.9, ShotG: 78.3, BodyG: 329.6, LengthMM: 1830, StrandMM: 2389.1, BalanceMM: 588,
		ShotBalanceMM: 630, BodyBalanceMM: 578, ShotUncertainty: 0.105,
		Parts: []model.DesignPart{rod, part("handle wrap", model.Wrap, 6.5, 140, 0, 280), core, belly, overlay,
			part("butt knot", model.Knot, 21, 8, 0, 16), part("heel knot", model.Knot, 9.5, 236, 230, 242),
			part("fall", model.Fall, 9.8, 2100, 1830, 2370), part("cracker", model.Cracker, 1.2, 2450, 2370, 2530),
			part("wax", model.Finish, 7.2, 700, 0, 1830)},
	}
	plan := &calibrate.Plan{
		Product:    design.Product,
		Labels:     model.Labels{Maker: "dita", CoreBatch: "C12", StrandBatch: "N07", ShotBatch: "S3", Product: design.Product},
		LabelsFrom: "core batch C12, shot batch S3: as in build D-012", Calibration: 7,
		Base: calibrate.Sizes{WeightG: design.WeightG, BodyG: design.BodyG, ShotG: design.ShotG, LengthMM: 1830, StrandMM: 2389.1, BalanceMM: 588},
		Calibrated: calibrate.CalibratedSizes{
			Weight: calibrate.Interval{Median: 419.8, Low: 404.1, High: 436.3}, Body: calibrate.Interval{Median: 346.2, Low: 332, High: 361.1},
			Shot: calibrate.Interval{Median: 73.6, Low: 69.8, High: 77.6}, Length: calibrate.Interval{Median: 1811, Low: 1776, High: 1846},
			Strand: calibrate.Interval{Median: 2448.9, Low: 2386, High: 2513.6}, BalanceMM: 583.2},
		ShortRisk: 0.01, Design: design, TargetG: nan, Reached: true,
		Warnings: []string{"fen shares no core batch with the others: only the product of maker and batch is known"},
	}
	return withCuts(plan, 1.055)
}

// withCuts gives every plait its safe cut: strand use times factor, and tail.
func withCuts(plan *calibrate.Plan, factor float64) *calibrate.Plan {
	plan.CutSafe = nil
	for _, part := range plan.Design.Parts {
		cut := calibrate.PartCut{SafeMM: model.Unknown}
		if part.Role == model.Plait {
			cut.SafeMM = part.TailMM + (part.CutMM-part.TailMM)*factor
		}
		for _, s := range part.Strands {
			cut.Strands = append(cut.Strands, part.TailMM+(s.CutMM-part.TailMM)*factor)
		}
		plan.CutSafe = append(plan.CutSafe, cut)
	}
	return plan
}

// newPlan is the same whip in a shop that has recorded nothing.
func newPlan() *calibrate.Plan {
	p := withCuts(fakePlan(), math.NaN())
	alone := func(x float64) calibrate.Interval {
		return calibrate.Interval{Median: x, Low: math.NaN(), High: math.NaN()}
	}
	b := p.Base
	p.Labels = model.Labels{Maker: model.NewLevel, CoreBatch: model.NewLevel, Product: p.Product}
	p.LabelsFrom, p.Calibration = "", 0
	p.Calibrated = calibrate.CalibratedSizes{Weight: alone(b.WeightG), Body: alone(b.BodyG),
		Shot: calibrate.Interval{Median: b.ShotG, Low: 63.5, High: 96.1}, Length: alone(b.LengthMM), Strand: alone(b.StrandMM), BalanceMM: b.BalanceMM}
	p.Warnings = []string{notCalibrated}
	p.TargetG, p.Reached = 600, false
	return p
}

// hostilePlan is a plan whose every text is out to break the page.
func hostilePlan() *calibrate.Plan {
	p := fakePlan()
	p.Product, p.LabelsFrom = hostile[0], hostile[2]
	p.Labels = model.Labels{Maker: hostile[1], CoreBatch: hostile[2], StrandBatch: hostile[3], ShotBatch: hostile[4]}
	for i := range p.Design.Parts {
		p.Design.Parts[i].Name = hostile[i%len(hostile)]
		p.Design.Parts[i].Warnings = []string{hostile[(i+1)%len(hostile)]}
	}
	p.Warnings = hostile
	return p
}

func TestPlanJSON(t *testing.T) {
	var b bytes.Buffer
	if err := PlanJSON(&b, fakePlan()); err != nil {
		t.Fatal(err)
	}
	golden(t, "plan.json", b.Bytes())
}

// TestPlanJSONWithoutFigures writes a plan that knows nothing but its name.
func TestPlanJSONWithoutFigures(t *testing.T) {
	nan := math.NaN()
	none := calibrate.Interval{Median: nan, Low: nan, High: nan}
	plan := &calibrate.Plan{Product: `a "name" <b>`, ShortRisk: 0.01, Base: calibrate.Sizes{WeightG: nan, BodyG: nan, ShotG: nan, LengthMM: nan, StrandMM: nan, BalanceMM: nan},
		Calibrated: calibrate.CalibratedSizes{Weight: none, Body: none, Shot: none, Length: none, Strand: none, BalanceMM: math.Inf(1)},
		Design:     &model.Design{Parts: []model.DesignPart{{Name: "x", Role: model.Plait, CutMM: nan, Strands: []model.Strands{{Count: 4, ToMM: 9, CutMM: nan}}}}}}
	var b bytes.Buffer
	if err := PlanJSON(&b, plan); err != nil {
		t.Fatal(err)
	}
	var compact bytes.Buffer
	if err := json.Compact(&compact, b.Bytes()); err != nil {
		t.Fatal(err)
	}
	nothing := `{"median":null,"low":null,"high":null}`
	want := `{"product":"a \"name\" <b>","base":{"weight_g":null,"body_g":null,"shot_g":null,"length_mm":null,"strand_mm":null,"balance_mm":null},` +
		`"calibrated":{"weight_g":` + nothing + `,"body_g":` + nothing + `,"shot_g":` + nothing + `,"length_mm":` + nothing + `,"strand_mm":` + nothing + `,"balance_mm":null},` +
		`"short_risk":0.01,"parts":[{"part":"x","role":"plait","mass_g":0,"balance_mm":0,"cut_mm":null,"cut_safe_mm":null,"load_length_mm":0,"shot_g_per_mm":0,"packing":0,` +
		`"strands":[{"count":4,"to_mm":9,"cut_mm":null,"cut_safe_mm":null}],"warnings":[]}],"warnings":[]}`
	if got := compact.String(); got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
}

func TestPlanTable(t *testing.T) {
	for name, c := range map[string]struct {
		plan  *calibrate.Plan
		style Style
	}{
		"plan.txt":          {fakePlan(), Style{Width: 100}},
		"plan_metric.txt":   {fakePlan(), Style{Units: Metric}},
		"plan_imperial.txt": {fakePlan(), Style{Units: Imperial}},
		"plan_new.txt":      {newPlan(), Style{Width: 100}},
	} {
		var b bytes.Buffer
		if err := PlanTable(&b, c.plan, c.style); err != nil {
			t.Fatal(err)
		}
		golden(t, name, b.Bytes())
	}
}

func TestPlanTableKeepsTerminalsSafe(t *testing.T) {
	p := hostilePlan()
	p.Product = "a\x1b[31mb\u202e"
	var b bytes.Buffer
	if err := PlanTable(&b, p, Style{}); err != nil {
		t.Fatal(err)
	}
	if strings.ContainsAny(b.String(), "\x1b\u202e\u2066") {
		t.Error("the table steers the terminal")
	}
}

func TestPlanWarningsOnce(t *testing.T) {
	p := fakePlan()
	p.Warnings = []string{"overlay: too wide", "too few builds", "too few builds"}
	p.Design.Parts[4].Warnings = []string{"too wide", "gaps over 65°", "gaps over 65°"}
	got := strings.Join(planWarnings(p), "; ")
	if want := "overlay: too wide; too few builds; overlay: gaps over 65°"; got != want {
		t.Errorf("warnings = %q, want %q", got, want)
	}
	if got := planWarnings(newPlan()); len(got) != 1 || !strings.HasPrefix(got[0], "overlay") {
		t.Errorf("warnings of an uncalibrated plan = %q, want only the overlay's: the rest stands beside the shot", got)
	}
}

func TestCutLength(t *testing.T) {
	for _, c := range []struct {
		mm   float64
		u    Units
		want string
	}{
		{1869.2, Both, "1870 mm (73 5/8 in)"},
		{1870.08, Both, "1871 mm (73 3/4 in)"}, // 73 5/8 in is 1870.075 mm
		{1870.075, Imperial, "73 5/8 in"},
		{1524, Both, "1524 mm (60 in)"},
		{1524.0000000001, Both, "1524 mm (60 in)"},
		{1523.99, Metric, "1524 mm"},
	} {
		if got := cutLength(c.mm, c.u); got != c.want {
			t.Errorf("cutLength(%v, %q) = %q, want %q", c.mm, c.u, got, c.want)
		}
	}
}

// TestApart checks what labels beside the drawing need: none over another, all
// inside, and none moved that had room.
func TestApart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 20).Draw(t, "n")
		places := make([]float64, n)
		at := 0.0
		for i := range places {
			at += rapid.Float64Range(0, 60).Draw(t, "step")
			places[i] = at
		}
		const gap, low = 20, 10
		high := low + gap*float64(max(n, 1)-1) + rapid.Float64Range(0, 500).Draw(t, "room")
		got := apart(places, gap, low, high)
		if len(got) != n {
			t.Fatalf("%d places, want %d", len(got), n)
		}
		roomy := true
		for i, y := range got {
			if i > 0 && y-got[i-1] < gap-1e-9 {
				t.Fatalf("places %d and %d are %v apart", i-1, i, y-got[i-1])
			}
			if y < low-1e-9 || y > high+1e-9 {
				t.Fatalf("place %d at %v is outside %v to %v", i, y, float64(low), high)
			}
			if places[i] < low+float64(i)*gap || places[i] > high-float64(n-1-i)*gap || i > 0 && places[i]-places[i-1] < gap {
				roomy = false
			}
		}
		for i := range got {
			if roomy && math.Abs(got[i]-places[i]) > 1e-9 {
				t.Fatalf("place %d had room at %v and moved to %v", i, places[i], got[i])
			}
		}
	})
}
