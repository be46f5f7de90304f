package calibrate

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// The sum of shot and body against plain Monte Carlo from another generator:
// limits within 0.1 g, which is four standard errors there; so with each pair
// of components taken for a log-normal.
func TestSum_MonteCarlo(t *testing.T) {
	x := newMixture([]normal{{-0.08, 0.05, 0.5, 0.02}, {-0.05, 0.09, 0.3, 0.03}, {-0.1, 0.07, 0.2, 0.025}})
	y := newMixture([]normal{{0.03, 0.02, 0.6, 0.012}, {0.02, 0.035, 0.4, 0.016}})
	for _, rho := range []float64{-0.6, 0, 0.5} {
		t.Run(fmt.Sprintf("rho=%g", rho), func(t *testing.T) {
			const a, b, n = 80.0, 380.0, 2_000_000
			s, fast := newSum(a, x, b, y, rho), logSums(scaled{a, x}, scaled{b, y}, rho)
			r := rand.New(rand.NewPCG(3, 4))
			pick := func(m *Mixture) normal {
				u := r.Float64()
				for _, c := range m.part {
					if u -= c.weight; u < 0 {
						return c
					}
				}
				return m.part[len(m.part)-1]
			}
			draws := make([]float64, n)
			for i := range draws {
				cx, cy := pick(x), pick(y)
				z1, z2 := r.NormFloat64(), r.NormFloat64()
				c := rho * cx.sigma * cy.sigma / (cx.sd * cy.sd)
				draws[i] = a*math.Exp(cx.mean+cx.sd*z1) + b*math.Exp(cy.mean+cy.sd*(c*z1+math.Sqrt(1-c*c)*z2))
			}
			slices.Sort(draws)
			for _, p := range []float64{0.025, 0.5, 0.975} {
				checkNear(t, fmt.Sprintf("quantile %g", p), s.quantile(p), draws[int(p*n)], 0.1)
				checkNear(t, fmt.Sprintf("quantile %g by log-normals", p), math.Exp(fast.Quantile(p)), draws[int(p*n)], 0.1)
			}
		})
	}
}

// Without shot the weight is the body.
func TestSum_BodyAlone(t *testing.T) {
	y := newMixture([]normal{{0.03, 0.02, 1, 0.01}})
	s := newSum(0, newMixture([]normal{{0, 0.05, 1, 0.02}}), 400, y, 0.4)
	for _, p := range []float64{0.025, 0.5, 0.975} {
		checkNear(t, "quantile", s.quantile(p), 400*math.Exp(y.Quantile(p)), 0.01)
	}
}

func BenchmarkSum(b *testing.B) {
	x := newMixture([]normal{{-0.08, 0.05, 1, 0.02}})
	y := newMixture([]normal{{0.03, 0.02, 1, 0.01}})
	b.ReportAllocs()
	var q float64
	for b.Loop() {
		q = newSum(80, x, 380, y, 0.3).quantile(0.975)
	}
	if !(q > 450 && q < 520) {
		b.Fatalf("quantile %g", q)
	}
}
