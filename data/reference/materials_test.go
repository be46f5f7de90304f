package reference

import "testing"

// TestMaterials holds the names makers use against the tables they come from.
func TestMaterials(t *testing.T) {
	m := Materials()
	for _, c := range []struct {
		table, name string
		got, want   float64
	}{
		{"size", "9", m.ShotDiameterMM["9"], 0.080 * 25.4},
		{"size", "7.5", m.ShotDiameterMM["7.5"], 0.095 * 25.4},
		{"size", "BB", m.ShotDiameterMM["BB"], 0.180 * 25.4},
		{"shot", "lead", m.ShotDensity["lead"], 11.10},     // published pellets per ounce, TestPelletsPerOunce
		{"shot", "steel", m.ShotDensity["steel"], 7.86},    // the same
		{"shot", "bismuth", m.ShotDensity["bismuth"], 9.6}, // alloyed: the element is 9.747
		{"shot", "tungsten alloy", m.ShotDensity["tungsten alloy"], 18.0},
		{"density", "lead", m.DensityGCM3["lead"], 11.35},
		{"density", "steel", m.DensityGCM3["steel"], 7.85},
		{"density", "stainless steel", m.DensityGCM3["stainless steel"], 8.0},
		{"density", "brass", m.DensityGCM3["brass"], 8.5},
		{"density", "nylon", m.DensityGCM3["nylon"], 1.14},
		{"density", "pvc", m.DensityGCM3["pvc"], 1.3},
		{"cord", "type iii", m.CordGM["type iii"], 6.6141},
	} {
		if !near(c.got, c.want, 1e-12) {
			t.Errorf("%s %q = %g, want %g", c.table, c.name, c.got, c.want)
		}
	}
	for short, name := range shortNames {
		if m.DensityGCM3[short] == 0 {
			t.Errorf("%q stands for %q, which densities.csv does not have", short, name)
		}
	}
}
