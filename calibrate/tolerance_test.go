package calibrate

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

// TestToleranceFactorsPublished compares with testdata/tolerance/factors, to
// 1e-6.
func TestToleranceFactorsPublished(t *testing.T) {
	for _, c := range []struct {
		file   string
		factor func(n, nu, coverage, confidence float64) float64
	}{
		{"two_sided.csv", twoSidedFactor},
		{"one_sided.csv", oneSidedFactor},
		{"meeker_hahn_escobar_sample.csv", twoSidedFactor},
		{"iso16269_6_sample.csv", twoSidedFactor},
	} {
		rows := table(t, "tolerance", "factors", c.file)
		for i := range rows["n"] {
			n := number(t, rows["n"][i])
			nu := n - 1
			if rows["nu"] != nil {
				nu = number(t, rows["nu"][i])
			}
			p, gamma, want := number(t, rows["p"][i]), number(t, rows["gamma"][i]), number(t, rows["k_exact"][i])
			got := c.factor(n, nu, p, gamma)
			if math.Abs(got-want) > 1e-6 {
				t.Errorf("%s: k(n %v, nu %v, %v, %v) = %.9f, want %.9f", c.file, n, nu, p, gamma, got, want)
			}
			if rows["printed_ceiling4"] != nil {
				if printed := fmt.Sprintf("%.4f", math.Ceil(got*1e4)/1e4); printed != rows["printed_ceiling4"][i] {
					t.Errorf("%s: k(%v, %v, %v, %v) rounds up to %s, printed %s", c.file, n, nu, p, gamma, printed, rows["printed_ceiling4"][i])
				}
			}
		}
	}
}

// TestToleranceWafers compares with the handbook's example in
// testdata/tolerance/wafers.
func TestToleranceWafers(t *testing.T) {
	want := lookup(t, "quantity", "computed", "tolerance", "wafers", "expected.csv")
	for name, got := range map[string]float64{
		"k2_exact_n43_p90_g99":  twoSidedFactor(43, 42, 0.9, 0.99),
		"k1_noncentral_t_n43":   oneSidedFactor(43, 42, 0.9, 0.99),
		"k1_noncentral_t_n6":    oneSidedFactor(6, 5, 0.9, 0.99),
		"two_sided_lower_exact": want["example_mean"] - twoSidedFactor(43, 42, 0.9, 0.99)*want["example_sd"],
		"upper_one_sided_exact": want["example_mean"] + oneSidedFactor(43, 42, 0.9, 0.99)*want["example_sd"],
	} {
		if w, ok := want[name]; !ok || math.Abs(got-w) > 1e-6 {
			t.Errorf("%s = %v, want %v", name, got, w)
		}
	}
}

// TestTolerancePistonRings compares limits with testdata/tolerance/pistonrings.
func TestTolerancePistonRings(t *testing.T) {
	var l Line
	y := column(t, "y", "tolerance", "pistonrings", "data.csv")
	l.individuals(y)
	rows := table(t, "tolerance", "pistonrings", "expected.csv")
	n := float64(len(y))
	for i, name := range rows["quantity"] {
		want, got := number(t, rows["value"][i]), 0.0
		switch name {
		case "n":
			got = n
		case "mean":
			got = l.Mean
		case "sd":
			got = l.SD
		default:
			k := twoSidedFactor
			if strings.HasPrefix(name, "one_sided") {
				k = oneSidedFactor
			}
			half := k(n, n-1, number(t, rows["p"][i]), number(t, rows["gamma"][i])) * l.SD
			got = l.Mean + half
			if strings.HasSuffix(name, "lower") {
				got = l.Mean - half
			}
		}
		if math.Abs(got-want) > 1e-7 {
			t.Errorf("%s %s %s = %v, want %v", name, rows["p"][i], rows["gamma"][i], got, want)
		}
	}
}

// TestToleranceHolds checks by simulation that intervals of k hold the share
// they promise as often as they promise.
func TestToleranceHolds(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 8))
	const runs, n = 20_000, 6
	two, one := twoSidedFactor(n, n-1, 0.95, 0.9), oneSidedFactor(n, n-1, 0.95, 0.9)
	held := map[string]float64{}
	x := make([]float64, n)
	for range runs {
		for i := range x {
			x[i] = r.NormFloat64()
		}
		var l Line
		l.individuals(x)
		if normalCDF(l.Mean+two*l.SD)-normalCDF(l.Mean-two*l.SD) >= 0.95 {
			held["two-sided"]++
		}
		if normalCDF(l.Mean+one*l.SD) >= 0.95 {
			held["one-sided"]++
		}
	}
	for _, name := range []string{"two-sided", "one-sided"} {
		if got := held[name] / runs; math.Abs(got-0.9) > 0.0085 { // 4 standard errors
			t.Errorf("%s: %v of the intervals hold 95 %%, want 0.9", name, got)
		}
	}
}

func TestToleranceEdges(t *testing.T) {
	if two, one := twoSidedFactor(1, 0, 0.95, 0.95), oneSidedFactor(1, 0, 0.95, 0.95); !math.IsNaN(two) || !math.IsNaN(one) {
		t.Errorf("one build: k = %v and %v, want none", two, one)
	}
	if one := oneSidedFactor(20, 19, 0.4, 0.95); !math.IsNaN(one) {
		t.Errorf("k for less than half of the builds = %v, want none", one)
	}
	// a large log comes down to the normal quantile
	if got := twoSidedFactor(1e6, 1e6-1, 0.95, 0.95); math.Abs(got-1.9599640/math.Sqrt(1-1.644854*math.Sqrt(2/1e6))) > 1e-3 {
		t.Errorf("k of a million builds = %v", got)
	}
	for _, p := range []float64{1e-6, 0.999999} {
		for _, gamma := range []float64{1e-6, 0.999999} {
			if got := twoSidedFactor(5, 4, p, gamma); !(got > 0) || math.IsInf(got, 0) {
				t.Errorf("k(5, 4, %v, %v) = %v", p, gamma, got)
			}
		}
	}
}

func BenchmarkTwoSidedFactor(b *testing.B) {
	b.ReportAllocs()
	k := 0.0
	for b.Loop() {
		k = twoSidedFactor(30, 29, 0.95, 0.95)
	}
	if math.Abs(k-2.554892813) > 1e-6 {
		b.Errorf("k = %v", k)
	}
}
