package calibrate

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// descend minimizes f, which writes its gradient into g, from x on by damped
// quasi-Newton steps. expected is a guess of the curvature where f was called
// last; from there on it is kept up with by Broyden, Fletcher, Goldfarb and
// Shanno's update: Nocedal & Wright (2006), Numerical Optimization, eq. 6.19.
// It ends after a step expected to lower f by less than done, or than rounding
// lets show; the first step is not even taken where that is so by far.
func descend(x []float64, f func(x, g []float64) float64, expected func() *mat.SymDense, done float64) (at []float64, value float64, curvature *mat.SymDense) {
	const (
		steps = 100
		far   = 0.01  // expected decrease above which what is expected here beats what was learnt elsewhere
		near  = 1e-9  // expected decrease below which rounding hides progress, so that the step is trusted,
		blur  = 1e-14 // or as a share of f
		eps   = 1e-15 // share of f that can no longer be told
	)
	n := len(x)
	x = append([]float64(nil), x...)
	g := make([]float64, n)
	d := f(x, g)
	if n == 0 {
		return x, d, nil
	}
	h := expected()
	next, gn := make([]float64, n), make([]float64, n)
	for range steps {
		step := newtonStep(h, g)
		decrease := 0.0
		for i := range step {
			decrease -= g[i] * step[i]
		}
		if decrease < far*done {
			break
		}
		scale, ok := 1.0, false
		var dn float64
		for range 40 {
			for i := range next {
				next[i] = x[i] + scale*step[i]
			}
			if dn = f(next, gn); dn <= d-1e-4*scale*decrease || decrease < math.Max(near, blur*math.Abs(d)) && !math.IsInf(dn, 1) {
				ok = true
				break
			}
			scale /= 2
		}
		if !ok {
			break
		}
		last := decrease < math.Max(done, eps*math.Abs(d))
		if decrease > far || !last && !update(h, x, next, g, gn) {
			h = expected()
		}
		x, next = next, x
		g, gn = gn, g
		d = dn
		if last {
			break
		}
	}
	return x, d, h
}

// update brings the curvature up to date with the gradients at both ends of a
// step; false where they do not curve upwards.
func update(h *mat.SymDense, from, to, gFrom, gTo []float64) bool {
	n := len(from)
	s, y, hs := mat.NewVecDense(n, nil), mat.NewVecDense(n, nil), mat.NewVecDense(n, nil)
	for i := range n {
		s.SetVec(i, to[i]-from[i])
		y.SetVec(i, gTo[i]-gFrom[i])
	}
	hs.MulVec(h, s)
	sy, shs := mat.Dot(s, y), mat.Dot(s, hs)
	if !(sy > 0 && shs > 0) {
		return sy == 0 && mat.Dot(s, s) == 0 // nothing moved, nothing to learn
	}
	h.SymRankOne(h, 1/sy, y)
	h.SymRankOne(h, -1/shs, hs)
	return true
}

// newtonStep solves |H| step = −g, with |H|'s eigenvalues kept away from zero
// so that a flat direction does not run off.
func newtonStep(h *mat.SymDense, g []float64) []float64 {
	var eig mat.EigenSym
	n := len(g)
	step := make([]float64, n)
	if !eig.Factorize(h, true) {
		for i := range g {
			step[i] = -g[i]
		}
		return step
	}
	var v mat.Dense
	eig.VectorsTo(&v)
	for e, l := range eig.Values(nil) {
		l = math.Max(math.Abs(l), 1e-6)
		p := 0.0
		for i := range n {
			p += v.At(i, e) * g[i]
		}
		for i := range n {
			step[i] -= v.At(i, e) * p / l
		}
	}
	return step
}
