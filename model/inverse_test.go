package model_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"trueplait/model"
)

// TestWithLoad changes the load of a whip: masses go linearly with it, by the
// slopes stated, and never down.
func TestWithLoad(t *testing.T) {
	d := plan(t, whip)
	low, high := d.LoadRange()
	if low != 0 || high != 1500 {
		t.Fatalf("LoadRange() = %g, %g, want 0, 1500", low, high)
	}
	near(t, "DShotDLoad", d.DShotDLoad(), d.Parts[1].ShotGMM, 1e-12)
	rapid.Check(t, func(t *rapid.T) {
		load := rapid.Float64Range(low, high).Draw(t, "load")
		other, problems := d.WithLoad(load)
		if len(problems) > 0 {
			t.Fatalf("WithLoad(%g): %v", load, problems)
		}
		near(t, "weight", other.WeightG, d.WeightG+d.DWeightDLoad()*(load-700), 1e-12)
		near(t, "shot", other.ShotG+1, d.ShotG+1+d.DShotDLoad()*(load-700), 1e-12)
		near(t, "slope", other.DWeightDLoad(), d.DWeightDLoad(), 1e-12)
		if load > 700 && other.WeightG < d.WeightG || load < 700 && other.WeightG > d.WeightG {
			t.Errorf("with %g mm loaded it weighs %g, with 700 mm %g", load, other.WeightG, d.WeightG)
		}
		back, _ := other.WithLoad(700)
		near(t, "and back", back.WeightG, d.WeightG, 1e-14)
	})
	if got := d.Parts[1].LoadLengthMM; got != 700 {
		t.Errorf("the first design now has a load of %g", got)
	}
}

// TestSlope holds the derivatives against central differences.
func TestSlope(t *testing.T) {
	for name, text := range map[string]string{
		"whip":   whip,
		"two":    strings.Replace(whip, "length=1500 start=150", "count=2 length=1500 start=150", 1),
		"plain":  "core core mass_per_length=6 length=900 load_length=700 bore=5 shot=9_steel",
		"waxed":  "core core mass_per_length=6 length=900 load_length=700 bore=5 shot=9_steel unloaded_diameter=4 sheath_angle=40\nwax finish fraction=0.3 count=2",
		"narrow": "core core mass_per_length=6 length=900 load_length=700 bore=3 shot=9_steel unloaded_diameter=4 sheath_angle=40 sheath_thickness=1",
	} {
		d := plan(t, text)
		const h = 100 // the masses are linear
		more, _ := d.WithLoad(700 + h)
		less, _ := d.WithLoad(700 - h)
		near(t, name+": weight", d.DWeightDLoad(), (more.WeightG-less.WeightG)/(2*h), 1e-11)
		near(t, name+": shot", d.DShotDLoad(), (more.ShotG-less.ShotG)/(2*h), 1e-11)
	}
}

// TestLoadedCore varies the core with most shot, and goes on doing so when it
// no longer has.
func TestLoadedCore(t *testing.T) {
	d := plan(t, `
thin  core mass_per_length=6 length=500 load_length=300 bore=4 shot=9_lead
thick core mass_per_length=6 length=900 load_length=700 bore=6 shot=9_lead`)
	empty, problems := d.WithLoad(0)
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	if thin, thick := empty.Parts[0], empty.Parts[1]; thin.ShotG != d.Parts[0].ShotG || thick.ShotG != 0 || thick.ShotGMM != d.Parts[1].ShotGMM {
		t.Errorf("emptied: thin has %g g, thick %g g at %g g/mm", thin.ShotG, thick.ShotG, thick.ShotGMM)
	}
	again, _ := empty.WithLoad(700)
	near(t, "filled again", again.WeightG, d.WeightG, 1e-14)

	for load, want := range map[float64]string{
		901:        `parts.csv:3: load_length: "901 mm" is longer than the core, 900 mm: shorten the load or lengthen the core`,
		-1:         `parts.csv:3: load_length: "-1 mm" is below 0`,
		math.NaN(): `parts.csv:3: load_length: "" is blank: a loaded core needs it`,
	} {
		if other, problems := d.WithLoad(load); other != nil || len(problems) != 1 || problems[0].Error() != want {
			t.Errorf("WithLoad(%g): %v, want %s", load, problems, want)
		}
	}
	if slope := plan(t, "a knot mass=1").DWeightDLoad(); model.Known(slope) {
		t.Errorf("a knot gains %g g/mm of load", slope)
	}
}
