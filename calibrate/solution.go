package calibrate

import "math"

// solution is the system solved at one θ. With A = ΛᵀZᵀWZΛ + I:
//
//	logDet = ln|A|, rx2 = Rx² = 1ᵀV⁻¹1, mean = μ̂, r2 = r²,
//	b = spherical effects (û = Λb), v = A⁻¹ΛZᵀW1, logW = Σ n ln w
//
// Means are relative to the system's centre.
type solution struct {
	sys    *system
	theta  []float64
	logDet float64
	rx2    float64
	mean   float64
	r2     float64
	logW   float64
	b, v   []float64

	*factor                            // of A; in the large method it keeps the inverse's diagonal alone
	inverted  bool                     // the factor's inverse is there
	equations *equations               // of the large method, which has no factor; else nil
	settled   bool                     // equations: they converged
	drawn     *draws                   // of the equations, once made and until used
	weight    [1 << maxEffects]float64 // w by blanks
	blanks    [1 << maxEffects]blankSlope
	blanked   bool // they are there
	g, t      []float64
	column    []float64 // scratch of a solve, by place
}

// solve factorizes the system at θ, reusing into's memory if it is not nil.
// The cost is that of a pass over the cells and of the factor's elements, each
// column's squared; three times that once the inverse is asked for. The large
// method takes some tens of passes over the cells instead.
func (s *system) solve(theta []float64, into *solution) *solution {
	o := into
	if o == nil || o.sys != s {
		q := len(s.levels)
		o = &solution{sys: s,
			theta: make([]float64, len(theta)),
			b:     make([]float64, q), v: make([]float64, q),
			g: make([]float64, q), t: make([]float64, q),
		}
		if s.large() {
			o.factor = &factor{sparsity: s.sparsity}
		} else {
			o.factor, o.column = newFactor(s.sparsity), make([]float64, q)
		}
	}
	copy(o.theta, theta)
	o.weight = rowWeights(o.theta)
	if s.large() {
		var m *mesh
		if o.equations != nil {
			m = o.equations.mesh
		} else {
			m = newMesh(s)
		}
		o.equations = newEquations(s, m, o.theta, o.weight)
	} else {
		o.assemble()
		o.logDet = o.factorize()
	}
	o.totals()
	o.inverted, o.blanked = false, false
	o.finish()
	return o
}

// assemble fills A.
func (o *solution) assemble() {
	s := o.sys
	var scale [1 << maxEffects][maxEffects][maxEffects]float64 // θ_k θ_l w by blanks
	for blank, w := range o.weight {
		for k, x := range o.theta {
			for l, y := range o.theta {
				scale[blank][k][l] = x * y * w
			}
		}
	}
	o.factor.clear()
	for i := range s.terms {
		m := &s.terms[i]
		o.x[m.at] += scale[m.blank%(1<<maxEffects)][m.k%maxEffects][m.l%maxEffects] * m.n
	}
}

// totals fills g = ΛᵀZᵀW1 and t = ΛᵀZᵀWy.
func (o *solution) totals() {
	s := o.sys
	clear(o.g)
	clear(o.t)
	for i := range s.margins {
		m := &s.margins[i]
		x := o.theta[s.levels[m.level].effect] * o.weight[m.blank]
		o.g[m.level] += x * m.n
		o.t[m.level] += x * m.sum
	}
}

// apply writes A⁻¹x into out; x and out may be the same.
func (o *solution) apply(x, out []float64) {
	if o.equations != nil {
		copy(out, x)
		o.equations.apply(out)
		return
	}
	for i, p := range o.place {
		o.column[p] = x[i]
	}
	o.factor.solve(o.column)
	for i, p := range o.place {
		out[i] = o.column[p]
	}
}

// finish solves for μ̂ and the effects and sums up r².
func (o *solution) finish() {
	s := o.sys
	sumW, sumWy := 0.0, 0.0
	o.logW = 0
	for _, m := range s.whole {
		w := o.weight[m.blank]
		sumW += m.n * w
		sumWy += m.sum * w
		o.logW += m.n * math.Log(w)
	}
	if o.equations != nil { // both at once; b is put right below
		copy(o.v, o.g)
		copy(o.b, o.t)
		o.settled = o.equations.apply(o.v, o.b)
	} else {
		o.apply(o.g, o.v)
	}
	gv, tv := 0.0, 0.0
	for i, v := range o.v {
		gv += o.g[i] * v
		tv += o.t[i] * v
	}
	o.rx2 = sumW - gv
	o.mean = (sumWy - tv) / o.rx2
	for i := range o.t {
		o.t[i] -= o.g[i] * o.mean
	}
	if o.equations != nil {
		for i, v := range o.v {
			o.b[i] -= o.mean * v
		}
	} else {
		o.apply(o.t, o.b)
	}
	o.r2 = o.squares(sumWy)
}

// squares is r², the penalized residual sum of squares. It is what is left of
// the squares of all rows; only where next to nothing is left, and rounding
// would show, are they added up cell by cell.
func (o *solution) squares(sumWy float64) float64 {
	const rounding = 1e-5
	all := 0.0
	for _, m := range o.sys.whole {
		all += m.square * o.weight[m.blank]
	}
	r2 := all - o.mean*sumWy
	for i, b := range o.b {
		r2 -= b * (o.t[i] + o.g[i]*o.mean)
	}
	if r2 > rounding*all || o.sys.cells == nil {
		return r2
	}
	r2 = 0
	for _, b := range o.b {
		r2 += b * b
	}
	for i := range o.sys.cells {
		c := &o.sys.cells[i]
		e := c.mean - o.mean - o.at(c)
		r2 += o.weight[c.blank] * (c.n*e*e + c.ss)
	}
	return r2
}

// at is zᵀû of a cell.
func (o *solution) at(c *cell) float64 {
	f := 0.0
	for k, x := range o.theta {
		if i := c.at[k]; i >= 0 {
			f += x * o.b[i]
		}
	}
	return f
}

// needInverse works out the elements of A⁻¹ that lie in the factor's pattern;
// the large method estimates its diagonal.
func (o *solution) needInverse() {
	if !o.inverted {
		if o.equations != nil {
			o.drawn = newDraws(o.equations)
			o.z = o.drawn.variances()
		} else {
			o.factor.invert()
		}
		o.inverted = true
	}
}
