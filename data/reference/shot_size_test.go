package reference

import (
	"math"
	"strconv"
	"testing"

	"trueplait/model"
)

// TestPelletsPerOunce holds the published counts against the volume of a
// sphere, 1 oz/(ρ π d³/6), at 11.10 g/cm³ for lead shot of about 3 % antimony
// and 7.86 g/cm³ for steel shot.
func TestPelletsPerOunce(t *testing.T) {
	const tolerance = 0.032 // the largest deviation is steel No. 3
	compared := 0
	for _, s := range ShotSizes() {
		if size, err := strconv.ParseFloat(s.Name, 64); s.Name != "BB" && (err != nil || size < 2 || size > 9) {
			continue
		}
		volumeCM3 := math.Pi / 6 * math.Pow(s.DiameterMM/10, 3)
		for _, metal := range []struct {
			name            string
			published, gcm3 float64
		}{{"lead", s.LeadPerOunce, 11.10}, {"steel", s.SteelPerOunce, 7.86}} {
			if math.IsNaN(metal.published) {
				continue
			}
			compared++
			if want := model.GramsPerOunce / (metal.gcm3 * volumeCM3); !near(metal.published, want, tolerance) {
				t.Errorf("No. %s %s: %g pellets per ounce published, %.1f by the sphere", s.Name, metal.name, metal.published, want)
			}
		}
	}
	if compared != 15 {
		t.Errorf("compared %d published counts, want 15: 9 of lead and 6 of steel", compared)
	}
}

// TestNumberedSizes checks the rule diameter = (17 − size)/100 in.
func TestNumberedSizes(t *testing.T) {
	numbered := 0
	for _, s := range ShotSizes() {
		size, err := strconv.ParseFloat(s.Name, 64)
		if err != nil {
			continue
		}
		numbered++
		if want := (17 - size) / 100 * model.MMPerInch; !near(s.DiameterMM, want, 1e-12) {
			t.Errorf("No. %s: diameter %g mm, want %g", s.Name, s.DiameterMM, want)
		}
	}
	if numbered != 14 {
		t.Errorf("%d numbered sizes, want 14", numbered)
	}
}

// TestSuspectCount keeps out a printed count, 50 lead pellets of size B to the
// ounce, that its own diameter contradicts.
func TestSuspectCount(t *testing.T) {
	for _, s := range ShotSizes() {
		if s.Name == "B" && (!math.IsNaN(s.LeadPerOunce) || s.Note == "") {
			t.Errorf("size B: lead count %g with note %q, want none and a reason", s.LeadPerOunce, s.Note)
		}
	}
}
