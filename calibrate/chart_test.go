package calibrate

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

// within9 reports whether got is want to nine digits.
func within9(got, want float64) bool { return math.Abs(got-want) <= 1e-9*math.Max(1, math.Abs(want)) }

// column reads a column of a CSV of testdata as numbers.
func column(t *testing.T, name string, path ...string) []float64 {
	t.Helper()
	var out []float64
	for _, s := range table(t, path...)[name] {
		out = append(out, number(t, s))
	}
	return out
}

// lookup reads two columns of a CSV of testdata as names and numbers; blanks
// are left out.
func lookup(t *testing.T, key, value string, path ...string) map[string]float64 {
	t.Helper()
	c, out := table(t, path...), map[string]float64{}
	for i, name := range c[key] {
		if c[value][i] != "" {
			out[name] = number(t, c[value][i])
		}
	}
	return out
}

// TestControlConstants compares with testdata/control/constants.
func TestControlConstants(t *testing.T) {
	two := func(name string) float64 { return column(t, name, "control", "constants", "constants.csv")[0] }
	for name, got := range map[string]float64{"d2": rangeMean, "d3": rangeSpread, "D4": rangeUpper} {
		if want := two(name); math.Abs(got-want) > 1e-10 {
			t.Errorf("%s = %.12f, want %.10f", name, got, want)
		}
	}
}

// TestIndividualsPublished compares with testdata/control/flowrate.
func TestIndividualsPublished(t *testing.T) {
	x := column(t, "flowrate", "control", "flowrate", "data.csv")
	want := lookup(t, "quantity", "with_exact_d2", "control", "flowrate", "expected.csv")
	var l Line
	l.individuals(x)
	for name, got := range map[string]float64{"center": l.Mean, "mr_bar": l.MRBar, "ucl_x": l.Upper, "lcl_x": l.Lower,
		"ucl_mr": l.MRUpper, "sigma_within": l.SDMovingRange} {
		if !within9(got, want[name]) {
			t.Errorf("%s = %v, want %v", name, got, want[name])
		}
	}
	out := 0.0
	for _, p := range patterns(x, l.Mean, l.SDMovingRange) {
		if p.rule == BeyondLimit {
			out++
		}
	}
	if out != want["points_out"] {
		t.Errorf("%v points beyond a limit, want %v", out, want["points_out"])
	}
}

func TestIndividualsEdges(t *testing.T) {
	nan := math.NaN()
	tests := []struct {
		name              string
		x                 []float64
		mean, mr, sd, top float64
	}{
		{"one", []float64{412}, 412, nan, nan, nan},
		{"two", []float64{400, 410}, 405, 10, math.Sqrt(50), 405 + 3*10/rangeMean},
		{"alike", []float64{0.1, 0.1, 0.1}, 0.1, 0, 0, 0.1},
		{"alike but for rounding", []float64{411.0, math.Nextafter(411, 500), 411}, 411, 0, 0, 411},
		{"far from zero", []float64{1e9 + 1, 1e9 + 2, 1e9 + 3}, 1e9 + 2, 1, 1, 1e9 + 2 + 3/rangeMean},
	}
	for _, c := range tests {
		t.Run(c.name, func(t *testing.T) {
			var l Line
			l.individuals(c.x)
			for name, v := range map[string][2]float64{"mean": {l.Mean, c.mean}, "mr_bar": {l.MRBar, c.mr}, "sd": {l.SD, c.sd}, "upper": {l.Upper, c.top}} {
				if v[1] == 0 && v[0] != 0 { // rounding is no scatter at all
					t.Errorf("%s = %v, want exactly 0", name, v[0])
				}
				if !(within9(v[0], v[1]) || math.IsNaN(v[0]) && math.IsNaN(v[1])) {
					t.Errorf("%s = %v, want %v", name, v[0], v[1])
				}
			}
		})
	}
}

// TestIndividualsScale checks that other units rescale every figure.
func TestIndividualsScale(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.SliceOfN(rapid.Float64Range(300, 500), 3, 40).Draw(t, "x")
		k := rapid.Float64Range(0.01, 100).Draw(t, "k")
		scaled := make([]float64, len(x))
		for i := range x {
			scaled[i] = k * x[i]
		}
		var a, b Line
		a.individuals(x)
		b.individuals(scaled)
		if !within9(b.Upper, k*a.Upper) || !within9(b.MRUpper, k*a.MRUpper) || !within9(b.SD, k*a.SD) {
			t.Errorf("%v times: %v %v %v, want %v %v %v", k, b.Upper, b.MRUpper, b.SD, k*a.Upper, k*a.MRUpper, k*a.SD)
		}
	})
}

// TestMovingRangeFindsScatter checks that MRBar/d2 is σ of independent builds.
func TestMovingRangeFindsScatter(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 5))
	x := make([]float64, 40_000)
	for i := range x {
		x[i] = 400 + 7*r.NormFloat64()
	}
	var l Line
	l.individuals(x)
	if math.Abs(l.SDMovingRange/7-1) > 0.015 { // its standard error is 0.5 %
		t.Errorf("scatter = %v, want 7", l.SDMovingRange)
	}
}
