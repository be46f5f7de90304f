package model_test

import (
	"fmt"
	"math"
	"strconv"
	"testing"

	"trueplait/data/reference"
	"trueplait/model"
)

// TestPellets lets one column of pellets fill a bore as wide as they are, so
// that a load as long as one pellet weighs one, and counts them against the
// published pellets per ounce of sizes 2 to 9 and BB (Winchester's 2004 guide;
// reference/shot_sizes.csv).
func TestPellets(t *testing.T) {
	const tolerance = 0.032 // the largest deviation is steel No. 3
	compared := 0
	for _, s := range reference.ShotSizes() {
		if size, err := strconv.ParseFloat(s.Name, 64); s.Name != "BB" && (err != nil || size < 2 || size > 9) {
			continue
		}
		for metal, published := range map[string]float64{"lead": s.LeadPerOunce, "steel": s.SteelPerOunce} {
			if !model.Known(published) {
				continue
			}
			compared++
			d := plan(t, fmt.Sprintf("core core mass_per_length=1 length=100 load_length=%v bore=%v shot=%s_%s", s.DiameterMM, s.DiameterMM, s.Name, metal))
			near(t, s.Name+" "+metal+" pellets per ounce", model.GramsPerOunce/d.ShotG, published, tolerance)
		}
	}
	if compared != 15 {
		t.Errorf("compared %d published counts, want 15: 9 of lead and 6 of steel", compared)
	}
}

// TestShot reads sizes and metals as makers write them.
func TestShot(t *testing.T) {
	const tube = math.Pi / 4 * 4.572 * 4.572 / 1000
	no9 := model.SolidFraction(0.18 / 0.08)
	for _, c := range []struct {
		cells string
		want  float64 // g/mm
	}{
		{"shot=9_lead", 11.10 * no9 * tube},
		{"shot=9_Lead", 11.10 * no9 * tube},
		{"shot=9_steel", 7.86 * no9 * tube},
		{"shot=9_bismuth", 9.6 * no9 * tube},
		{"shot=9_tungsten_alloy", 18 * no9 * tube},
		{"shot=9_copper", 8.96 * no9 * tube}, // the metal's own
		{"shot=9 density=11", 11 * no9 * tube},
		{"shot=9_lead density=11", 11 * no9 * tube}, // a row's own value wins
		{"shot=lead shot_diameter=2.032", 11.10 * no9 * tube},
		{"shot_diameter=2.032 density=11.1", 11.10 * no9 * tube},
		{"shot=bb_lead", 11.10 * model.SolidFraction(1) * tube},
		{"shot=7.5_lead", 11.10 * model.SolidFraction(0.18/0.095) * tube},
	} {
		d := plan(t, "core core mass_per_length=1 length=100 load_length=50 bore=4.572 "+c.cells)
		near(t, c.cells, d.Parts[0].ShotGMM, c.want, 1e-12)
		near(t, c.cells+" shot", d.ShotG, 50*c.want, 1e-12)
	}
}

// TestCordMass makes a core of as many feet of each type of MIL-C-5040H as
// its Table II says go to the pound, least.
func TestCordMass(t *testing.T) {
	compared := 0
	for _, c := range reference.Cords() {
		if !model.Known(c.MinFeetPerPound) {
			continue
		}
		compared++
		parts := list(t, fmt.Sprintf("core core length=%v", c.MinFeetPerPound*model.MMPerFoot))
		parts[0].Material = c.Name
		near(t, c.Name, planParts(t, parts).WeightG, model.GramsPerPound, 3e-5) // the table has five figures
	}
	if compared != 6 {
		t.Errorf("compared %d types, want 6", compared)
	}
}

// TestSheath opens a cord until its strands, first at 30° to the axis, lie at
// 60°: sin 60° = √3 sin 30°, so the middle of the wall is then √3 times as
// wide, and cos 60°/cos 30° = 1/√3 of the length is left.
func TestSheath(t *testing.T) {
	const thickness, unloaded = 0.5, 3.0
	bore := math.Sqrt(3)*(unloaded+thickness) - thickness
	d := plan(t, fmt.Sprintf("core core mass_per_length=6 length=1000 load_length=400 bore=%v shot=9_lead unloaded_diameter=%v sheath_angle=30 sheath_thickness=%v", bore, unloaded, thickness))
	core := d.Parts[0]
	near(t, "cut", core.CutMM, 400*math.Sqrt(3)+600, 1e-12)
	near(t, "cord mass", d.BodyG, 6*core.CutMM/1000, 1e-12)
	// As it lies: √3 times as much to the mm over the first 400.
	near(t, "cord balance", d.BodyBalanceMM, (400*math.Sqrt(3)*200+600*700)/core.CutMM, 1e-12)
	near(t, "shot balance", d.ShotBalanceMM, 200, 1e-12)
	near(t, "uncertainty", d.ShotUncertainty, math.Hypot(0.045/core.Packing, 0.05), 1e-12)
}

// TestUnloadedCore needs no more than its cord.
func TestUnloadedCore(t *testing.T) {
	d := plan(t, "core core mass_per_length=6 length=1000 start=100")
	core := d.Parts[0]
	near(t, "weight", d.WeightG, 6, 1e-12)
	near(t, "cut", core.CutMM, 1000, 1e-12)
	near(t, "balance", d.BalanceMM, 600, 1e-12)
	for name, x := range map[string]float64{"load": core.LoadLengthMM, "g/mm": core.ShotGMM, "packing": core.Packing,
		"length": d.LengthMM, "strand": d.StrandMM, "slope": d.DWeightDLoad(), "shot balance": d.ShotBalanceMM} {
		if model.Known(x) {
			t.Errorf("%s = %g, want NaN", name, x)
		}
	}
	if _, problems := d.WithLoad(10); len(problems) != 1 {
		t.Errorf("WithLoad of an unloaded core: %v, want one problem", problems)
	}
}
