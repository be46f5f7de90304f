package reference

import (
	"math"
	"testing"

	"trueplait/model"
)

// TestGreatestMass converts the specification's least feet per pound, MIL-C-5040H
// Table II, to the most grams per metre with NIST SP 811's exact factors.
func TestGreatestMass(t *testing.T) {
	maxima := 0
	for _, c := range Cords() {
		if (c.Kind == "maximum") == math.IsNaN(c.MinFeetPerPound) {
			t.Errorf("%s: kind %q with %g ft/lb", c.Name, c.Kind, c.MinFeetPerPound)
		}
		if c.Kind != "maximum" {
			continue
		}
		maxima++
		want := model.GramsPerPound / (c.MinFeetPerPound * model.MMPerFoot / 1000)
		if math.Abs(c.GramsPerM-want) > 0.00005 { // printed to 0.0001
			t.Errorf("%s: %g g/m, want %.5f", c.Name, c.GramsPerM, want)
		}
	}
	if maxima != 6 {
		t.Errorf("%d types of the specification, want 6", maxima)
	}
}
