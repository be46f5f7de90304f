package reference

import (
	"math"
	"regexp"
	"strconv"
	"testing"
)

// TestAlloyedShot recomputes the densities of lead shot with antimony from
// those of the two metals, NIST's 11.35 and 6.691 g/cm³.
func TestAlloyedShot(t *testing.T) {
	metal := map[string]float64{}
	for _, d := range Densities() {
		metal[d.Material] = d.DensityGCM3
	}
	lead, antimony := metal["lead, pure"], metal["antimony"]
	share := regexp.MustCompile(`([\d.]+) % Sb`)
	alloys := 0
	for _, d := range Densities() {
		m := share.FindStringSubmatch(d.Material)
		if m == nil {
			continue
		}
		alloys++
		w, err := strconv.ParseFloat(m[1], 64)
		if err != nil {
			t.Fatal(err)
		}
		want := 1 / (w/100/antimony + (1-w/100)/lead)
		if math.Abs(d.DensityGCM3-want) > 0.0075 { // printed to 0.01
			t.Errorf("%s: %g g/cm³, want %.3f", d.Material, d.DensityGCM3, want)
		}
	}
	if alloys != 5 {
		t.Errorf("%d alloys, want 5", alloys)
	}
}

func TestDensityWithinItsRange(t *testing.T) {
	seen := map[string]bool{}
	for _, d := range Densities() {
		if seen[d.Material] {
			t.Errorf("%s is listed twice", d.Material)
		}
		seen[d.Material] = true
		if d.DensityGCM3 < d.LowGCM3 || d.DensityGCM3 > d.HighGCM3 {
			t.Errorf("%s: %g g/cm³ is outside %g to %g", d.Material, d.DensityGCM3, d.LowGCM3, d.HighGCM3)
		}
	}
}
