package calibrate

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

// TestAndersonDarlingCriticalValues compares with the critical values of case
// 3, D'Agostino & Stephens (1986), table 4.7 (from memory).
func TestAndersonDarlingCriticalValues(t *testing.T) {
	for _, c := range []struct{ a, p float64 }{
		{0.470, 0.25}, {0.561, 0.15}, {0.631, 0.10}, {0.752, 0.05}, {0.873, 0.025}, {1.035, 0.01},
	} {
		if got := andersonDarlingP(c.a); math.Abs(got/c.p-1) > 0.02 {
			t.Errorf("p(%v) = %v, want %v", c.a, got, c.p)
		}
	}
	last := 1.0
	for a := 0.01; a < 12; a += 0.01 {
		p := andersonDarlingP(a)
		if p < 0 || p > last+0.003 { // the pieces of the approximation meet to 0.003
			t.Fatalf("p(%.2f) = %v after %v", a, p, last)
		}
		last = p
	}
}

// TestAndersonDarlingLevel checks that normal builds fall below p = 0.05 about
// as often as they should, and skewed ones much more.
func TestAndersonDarlingLevel(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 1))
	const runs = 4000
	low := func(n int, draw func() float64) float64 {
		count := 0.0
		x := make([]float64, n)
		for range runs {
			for i := range x {
				x[i] = draw()
			}
			var l Line
			l.individuals(x)
			if andersonDarling(x, l.Mean, l.SD).P < 0.05 {
				count++
			}
		}
		return count / runs
	}
	for _, n := range []int{8, 20, 100} {
		if got := low(n, r.NormFloat64); math.Abs(got-0.05) > 0.014 { // 4 standard errors
			t.Errorf("%d normal builds: p below 0.05 in %v of the runs, want 0.05", n, got)
		}
	}
	if got := low(40, r.ExpFloat64); got < 0.95 {
		t.Errorf("40 skewed builds: p below 0.05 in %v of the runs only", got)
	}
}

// TestAndersonDarlingStatistic works the statistic out on a small sample by
// hand: the formula term by term.
func TestAndersonDarlingStatistic(t *testing.T) {
	z := []float64{-1.4, -0.9, -0.5, -0.1, 0.1, 0.4, 0.9, 1.5}
	want := -8.0
	for i := range z {
		want -= (2*float64(i) + 1) / 8 * (math.Log(distuv.UnitNormal.CDF(z[i])) + math.Log(1-distuv.UnitNormal.CDF(z[7-i])))
	}
	shuffled := []float64{1.5, -0.9, 0.4, -0.1, 0.1, -0.5, 0.9, -1.4}
	got := andersonDarling(shuffled, 0, 1)
	if !within9(got.A2, want) {
		t.Errorf("A² = %v, want %v", got.A2, want)
	}
	if p := andersonDarlingP(want * (1 + 0.75/8 + 2.25/64)); !within9(got.P, p) {
		t.Errorf("p = %v, want %v", got.P, p)
	}
	if got := andersonDarling(z[:7], 0, 1); !math.IsNaN(got.A2) || !math.IsNaN(got.P) {
		t.Errorf("seven builds: %v, want nothing said", got)
	}
	if got := andersonDarling(z, 0, 0); !math.IsNaN(got.P) {
		t.Errorf("no scatter: %v, want nothing said", got)
	}
	if got := andersonDarling(append(z, 1000), 0, 1); math.IsInf(got.A2, 0) || got.P != 0 {
		t.Errorf("one build 1000 σ out: %v, want a large A² and p = 0", got)
	}
}
