package calibrate

import (
	"fmt"
	"math"
	"testing"
)

// The small system is the whole one: at any spreads of the effects of few
// levels it has the same solution, the same determinant but for a constant, and
// adds the same variances.
func TestRemainder_Exact(t *testing.T) {
	s := shopSystem(shop{builds: 2000, makers: 12, cores: 80, products: 4, scatter: 0.03})
	held := []float64{1.1, 2, 0.6}
	few := []int{0, 2}
	r := newRemainder(forced(s).solve(held, nil), few)
	offset := r.solveAt(held).sums.logDet - s.solve(held, nil).logDet
	for _, theta := range [][]float64{held, {0.3, 2, 1.5}, {2.5, 2, 0}} {
		t.Run(fmt.Sprint(theta), func(t *testing.T) {
			want, o := s.solve(theta, nil), r.solveAt(theta)
			got := o.whole()
			checkNear(t, "ln|A|", got.logDet-offset, want.logDet, 1e-7)
			checkNear(t, "mean", got.mean, want.mean, 1e-10)
			checkNear(t, "Rx²", got.rx2, want.rx2, 1e-9*want.rx2)
			checkNear(t, "r²", got.r2, want.r2, 1e-9*want.r2)
			for i := range want.b {
				checkNear(t, "b of "+s.levels[i].name, got.b[i], want.b[i], 1e-8)
				checkNear(t, "v of "+s.levels[i].name, got.v[i], want.v[i], 1e-8)
			}
			// Levels of few and of a single one of many: the latter's own part is
			// (A_RR)⁻¹, which with one effect left has only a diagonal.
			a, y := make([]float64, len(r.levels)), make([]float64, len(r.levels))
			c := contrast{fixed: 1, levels: s.cells[0].named()}
			r.share(&c, a)
			h := o.variance(a, y)
			for _, l := range c.levels {
				if x := r.theta[s.levels[l].effect]; x > 0 {
					h += x * x / r.diagonal[l]
				}
			}
			lift := 1.0
			for _, l := range c.levels {
				lift -= theta[s.levels[l].effect] * want.v[l]
			}
			_, wantH := want.estimate(c)
			checkNear(t, "h", h+want.around(0, lift), wantH, 1e-9)
		})
	}
}

// The maximum of a bent ridge, and where it has fallen by 2.
func TestClimb(t *testing.T) {
	f := func(x []float64) float64 {
		a, b := x[0]-1, x[1]-0.5*x[0]
		return 7 - a*a/0.5 - 8*b*b
	}
	at, top := climb([]float64{-1, 2}, f)
	checkNear(t, "top", top, 7, 1e-3)
	checkNear(t, "first", at[0], 1, 0.03)
	checkNear(t, "second", at[1], 0.5, 0.03)
	a := measure([]float64{1, 0.5}, 1, 7, f)
	checkNear(t, "up", a.up, math.Sqrt(2./8)/2, 1e-4)
	checkNear(t, "down", a.down, math.Sqrt(2./8)/2, 1e-4)
}
