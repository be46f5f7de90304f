package calibrate

import (
	"math"
	"testing"

	"trueplait/model"
)

// TestCapabilityPublished compares with testdata/capability/handbook.
func TestCapabilityPublished(t *testing.T) {
	want := lookup(t, "quantity", "computed", "capability", "handbook", "expected.csv")
	c := capability([]float64{16}, want["mean"], want["sd"], want["sd"], want["lsl"], want["usl"], 0.95)
	for name, got := range map[string]float64{"cp": c.Cp, "cpk": c.Cpk} {
		if !within9(got, want[name]) {
			t.Errorf("%s = %v, want %v", name, got, want[name])
		}
	}
	_, below := potential(want["mean"], want["sd"], want["lsl"], model.Unknown)
	_, above := potential(want["mean"], want["sd"], model.Unknown, want["usl"])
	if !within9(below, want["cpl"]) || !within9(above, want["cpu"]) {
		t.Errorf("one limit only: %v and %v, want %v and %v", below, above, want["cpl"], want["cpu"])
	}
}

func TestCapabilityIntervalsPublished(t *testing.T) {
	path := []string{"capability", "handbook", "intervals.csv"}
	n, index := column(t, "n", path...), column(t, "index", path...)
	for i := range n {
		low, high := ppLimits(index[i], n[i], 0.95)
		if l, h := column(t, "cp_exact_lo95", path...)[i], column(t, "cp_exact_hi95", path...)[i]; !within9(low, l) || !within9(high, h) {
			t.Errorf("Pp %v of %v builds: %v to %v, want %v to %v", index[i], n[i], low, high, l, h)
		}
		low, high = ppkLimits(index[i], n[i], 0.95)
		if l, h := column(t, "cpk_bissell_lo95", path...)[i], column(t, "cpk_bissell_hi95", path...)[i]; !within9(low, l) || !within9(high, h) {
			t.Errorf("Ppk %v of %v builds: %v to %v, want %v to %v", index[i], n[i], low, high, l, h)
		}
	}
}

func TestCapabilityEdges(t *testing.T) {
	nan := math.NaN()
	x := []float64{400, 410, 420, 430}
	sd := math.Sqrt(500.0 / 3)
	tests := []struct {
		name                 string
		low, high, sd        float64
		pp, ppk, share, fail float64
	}{
		{"both limits", 405, 430, sd, 25 / (6 * sd), 10 / (3 * sd), 0.25, normalCDF(-10/sd) + normalCDF(-15/sd)},
		{"low only", 405, nan, sd, nan, 10 / (3 * sd), 0.25, normalCDF(-10 / sd)},
		{"high only", nan, 425, sd, nan, 10 / (3 * sd), 0.25, normalCDF(-10 / sd)},
		{"mean outside", 420, 500, sd, 80 / (6 * sd), -5 / (3 * sd), 0.5, normalCDF(5/sd) + normalCDF(-85/sd)},
		{"no scatter", 405, 425, 0, nan, nan, 0.5, nan},
		{"one build", 405, 425, nan, nan, nan, 0.5, nan},
	}
	for _, c := range tests {
		t.Run(c.name, func(t *testing.T) {
			got := capability(x, 415, c.sd, c.sd, c.low, c.high, 0.95)
			for name, v := range map[string][2]float64{"pp": {got.Pp, c.pp}, "ppk": {got.Ppk, c.ppk}, "outside": {got.OutsideShare, c.share}, "expected": {got.ExpectedShare, c.fail}} {
				if !(within9(v[0], v[1]) || math.IsNaN(v[0]) && math.IsNaN(v[1])) {
					t.Errorf("%s = %v, want %v", name, v[0], v[1])
				}
			}
			if math.IsNaN(got.PpkLow) != math.IsNaN(c.ppk) || math.IsNaN(got.PpLow) != math.IsNaN(c.pp) {
				t.Errorf("limits %v and %v of %v and %v", got.PpLow, got.PpkLow, c.pp, c.ppk)
			}
		})
	}
}
