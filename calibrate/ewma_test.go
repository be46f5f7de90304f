package calibrate

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestEWMAPublished compares with testdata/control/ewma.
func TestEWMAPublished(t *testing.T) {
	path := []string{"control", "ewma", "data_expected.csv"}
	x := column(t, "x", path...)
	z, half := ewma(x, 50, 2.0539, 0.3, 3)
	want, upper, lower, printed := column(t, "ewma", path...), column(t, "ucl_exact", path...), column(t, "lcl_exact", path...), column(t, "ewma_printed", path...)
	for i := range x {
		if !within9(z[i], want[i]) || !within9(50+half[i], upper[i]) || !within9(50-half[i], lower[i]) {
			t.Errorf("point %d = %v in %v to %v, want %v in %v to %v", i+1, z[i], 50-half[i], 50+half[i], want[i], lower[i], upper[i])
		}
		if math.Abs(z[i]-printed[i]) > 0.00501 {
			t.Errorf("point %d = %v, printed %v", i+1, z[i], printed[i])
		}
	}
}

// TestEWMARunLength compares average run lengths by simulation with
// testdata/control/arl, whose limits are the asymptotic ones: the simulated
// chart therefore starts from where its exact limits have widened to them.
func TestEWMARunLength(t *testing.T) {
	c := table(t, "control", "arl", "arl.csv")
	const runs = 4000
	checked := 0
	for i := range c["chart"] {
		shift := number(t, c["shift_in_sigma"][i])
		if c["chart"][i] != "ewma" || number(t, c["k_or_lambda"][i]) != ewmaWeight || number(t, c["h_or_L"][i]) != ewmaWidth || shift == 0 {
			continue
		}
		checked++
		r := rand.New(rand.NewPCG(uint64(i), 4))
		_, half := ewma(make([]float64, 400), 0, 1, ewmaWeight, ewmaWidth)
		limit := half[len(half)-1]
		sum, square := 0.0, 0.0
		x := make([]float64, 1000)
		for range runs {
			for j := range x {
				x[j] = shift + r.NormFloat64()
			}
			z, _ := ewma(x, 0, 1, ewmaWeight, ewmaWidth)
			length := 0.0
			for _, v := range z {
				if length++; math.Abs(v) > limit {
					break
				}
			}
			sum += length
			square += length * length
		}
		got, want := sum/runs, number(t, c["arl_zero_state"][i])
		if se := math.Sqrt((square/runs - got*got) / runs); math.Abs(got-want) > 4*se {
			t.Errorf("shift of %v σ: %v builds to a signal, want %v (4 standard errors are %.2g)", shift, got, want, 4*se)
		}
	}
	if checked != 3 {
		t.Errorf("%d run lengths checked, want 3", checked)
	}
}
