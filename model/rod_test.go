package model_test

import (
	"math"
	"testing"

	"trueplait/model"
)

// TestRod weighs a foot of inch bar of carbon steel: 0.284 lb/in³, MIL-HDBK-5J
// (2003) Table 2.2.1.0(b), against the 7.85 g/cm³ of the tables.
func TestRod(t *testing.T) {
	inch := plan(t, "rod rod material=Steel diameter=25.4 length=304.8")
	near(t, "weight", inch.WeightG, 0.284*math.Pi/4*12*model.GramsPerPound, 0.002)
	near(t, "balance", inch.BalanceMM, 152.4, 1e-12)
	near(t, "length", inch.Parts[0].EndMM, 304.8, 1e-12)

	two := plan(t, "rod rod material=steel density=2.7 diameter=10 length=100 start=50 count=2")
	near(t, "two of another density", two.WeightG, 2*2.7*math.Pi/4*10, 1e-12)
	near(t, "balance", two.BalanceMM, 100, 1e-12)
}

// TestStated weighs parts whose mass is stated.
func TestStated(t *testing.T) {
	for _, c := range []struct {
		name, row       string
		weight, balance float64
	}{
		{"mass alone sits at its start", "pommel knot mass=30 start=12", 30, 12},
		{"no start is the butt", "pommel knot mass=30", 30, 0},
		{"mass over a length", "fall fall mass=9 start=100 length=600", 9, 400},
		{"mass per length", "handle wrap mass_per_length=2 start=20 length=200", 0.4, 120},
		{"kind of cord", "handle wrap material=type_I start=20 length=1000", 1.5665, 520}, // MIL-C-5040H
		{"count", "tassel cracker mass=1.5 count=3 start=5", 4.5, 5},
		{"mass wins over cord", "x other mass=7 material=type_I length=10", 7, 5},
	} {
		d := plan(t, c.row)
		near(t, c.name, d.WeightG, c.weight, 1e-12)
		near(t, c.name+": body", d.BodyG, c.weight, 1e-12)
		if math.Abs(d.BalanceMM-c.balance) > 1e-9 {
			t.Errorf("%s: balance %g, want %g", c.name, d.BalanceMM, c.balance)
		}
	}
}

// TestFinish puts wax on the cord of a core and a plait, and on nothing else.
func TestFinish(t *testing.T) {
	const bare = `
rod   rod   material=steel diameter=8 length=200
core  core  mass_per_length=5 length=1000 load_length=400 bore=5 shot=9_lead
plait plait strands=8 strand_width=3 strand_thickness=1 diameter=8 length=1200 mass_per_length=4
fall  fall  mass=9 start=1200`
	without, with := plan(t, bare), plan(t, bare+"\nwax finish fraction=0.05\noil finish fraction=0.01")
	cord := without.Parts[1].MassG - without.Parts[1].ShotG + without.Parts[2].MassG
	near(t, "wax", with.Parts[4].MassG, 0.05*cord, 1e-12)
	near(t, "oil", with.Parts[5].MassG, 0.01*cord, 1e-12)
	near(t, "weight", with.WeightG, without.WeightG+0.06*cord, 1e-12)
	// A core of 5 g that balances at 500, the rest of the cord at 600.
	near(t, "balance", with.Parts[4].BalanceMM, (5*500+(cord-5)*600)/cord, 1e-12)
}
