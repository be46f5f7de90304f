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

	d        []float64   // diagonal of the eliminated block of A
	f        [][]entry   // border: for each eliminated level, its products with the rest
	m        int         // levels that were not eliminated
	chol     []float64   // Cholesky factor of the Schur complement, m × m, row by row
	sInv     []float64   // its inverse, once inverted
	inverted bool        // sInv is there
	cross    [][]float64 // rows of A⁻¹ of eliminated levels, over the others; empty until needed
	work     solverSpace // reused between solutions
}

// entry is one non-zero of the border.
type entry struct {
	j int // level less first
	x float64
}

// solverSpace holds what a solve needs for a while.
type solverSpace struct {
	g, t, rhs, scratch []float64
}

// solve factorizes the system at θ, reusing into's memory if it is not nil.
// The cost is that of the cells plus a sixth of the cube of the levels that are
// not eliminated; three times that once variances are asked for.
func (s *system) solve(theta []float64, into *solution) *solution {
	o := into
	q := len(s.levels)
	if o == nil || o.sys != s {
		m := q - s.first
		o = &solution{sys: s, m: m,
			theta: make([]float64, len(theta)),
			b:     make([]float64, q), v: make([]float64, q),
			d: make([]float64, s.first), f: make([][]entry, s.first), cross: make([][]float64, s.first),
			chol: make([]float64, m*m), sInv: make([]float64, m*m),
			work: solverSpace{make([]float64, q), make([]float64, q), make([]float64, m), make([]float64, m*m)},
		}
	}
	copy(o.theta, theta)
	s.assemble(o)
	o.factorize()
	o.finish()
	return o
}

// assemble fills A, g = ΛᵀZᵀW1 and t = ΛᵀZᵀWy from the cells.
func (s *system) assemble(o *solution) {
	m, first := o.m, s.first
	schur, g, t := o.chol, o.work.g, o.work.t
	clear(schur)
	clear(g)
	clear(t)
	for i := range o.d {
		o.d[i] = 1
		o.f[i] = o.f[i][:0]
	}
	for j := range m {
		schur[j*m+j] = 1
	}
	o.rx2, o.mean, o.logW = 0, 0, 0
	var th [maxEffects]float64
	copy(th[:], o.theta)
	lead := -1
	if len(s.order) > 0 {
		lead = s.order[0]
	}
	for i := range s.cells {
		c := &s.cells[i]
		w := rowWeight(c.blank, o.theta)
		W := c.n * w
		if w != 1 {
			o.logW += c.n * math.Log(w)
		}
		o.rx2 += W           // Σ W for now
		o.mean += W * c.mean // Σ W y for now
		big := -1
		if lead >= 0 {
			big = int(c.at[lead])
		}
		for k := range s.effects {
			ik := int(c.at[k])
			if ik < 0 {
				continue
			}
			x := th[k]
			g[ik] += x * W
			t[ik] += x * W * c.mean
			if k == lead {
				o.d[ik] += x * x * W
				continue
			}
			jk := ik - first
			if big >= 0 {
				o.f[big] = addEntry(o.f[big], jk, th[lead]*x*W)
			}
			schur[jk*m+jk] += x * x * W
			for l := range k {
				if jl := int(c.at[l]) - first; l != lead && c.at[l] >= 0 {
					xx := x * th[l] * W
					schur[jk*m+jl] += xx
					schur[jl*m+jk] += xx
				}
			}
		}
	}
}

// addEntry adds x to column j of a border row that has few columns.
func addEntry(row []entry, j int, x float64) []entry {
	for i := range row {
		if row[i].j == j {
			row[i].x += x
			return row
		}
	}
	return append(row, entry{j, x})
}

// factorize eliminates the diagonal block and factorizes what is left.
func (o *solution) factorize() {
	m := o.m
	schur := o.chol
	o.logDet = 0
	for i, d := range o.d {
		o.logDet += math.Log(d)
		inv := 1 / d
		for _, a := range o.f[i] {
			row := schur[a.j*m : a.j*m+m]
			x := a.x * inv
			for _, b := range o.f[i] {
				row[b.j] -= x * b.x
			}
		}
	}
	o.logDet += cholesky(schur, m)
	o.inverted = false
	for i := range o.cross {
		o.cross[i] = o.cross[i][:0]
	}
}

// cholesky replaces the lower half of a (m × m, symmetric positive definite)
// by its Cholesky factor and returns ln|a|. A is I plus a Gram matrix here, so
// its eigenvalues are at least 1 and it cannot fail.
func cholesky(a []float64, m int) (logDet float64) {
	for i := range m {
		ri := a[i*m : i*m+i+1]
		for j := range i {
			rj := a[j*m : j*m+j+1]
			x := ri[j]
			for k, l := range rj[:j] {
				x -= ri[k] * l
			}
			ri[j] = x / rj[j]
		}
		x := ri[i]
		for _, l := range ri[:i] {
			x -= l * l
		}
		ri[i] = math.Sqrt(x)
		logDet += 2 * math.Log(ri[i])
	}
	return logDet
}

// invertFactored writes the inverse of L·Lᵀ into inv; low is scratch.
func invertFactored(l, inv, low []float64, m int) {
	for i := range m { // L⁻¹ into low, by rows
		ri := low[i*m : i*m+i+1]
		clear(ri)
		d := 1 / l[i*m+i]
		for k := range i {
			x := l[i*m+k]
			if x == 0 {
				continue
			}
			for j, y := range low[k*m : k*m+k+1] {
				ri[j] -= x * y
			}
		}
		for j := range i {
			ri[j] *= d
		}
		ri[i] = d
	}
	clear(inv)
	for k := range m { // L⁻ᵀL⁻¹, a row of L⁻¹ at a time
		rk := low[k*m : k*m+k+1]
		for i, x := range rk {
			row := inv[i*m : i*m+i+1]
			for j, y := range rk[:i+1] {
				row[j] += x * y
			}
		}
	}
	for i := range m {
		for j := range i {
			inv[j*m+i] = inv[i*m+j]
		}
	}
}

// apply writes A⁻¹x into out; x and out may be the same.
func (o *solution) apply(x, out []float64) {
	m, first := o.m, o.sys.first
	z := o.work.rhs
	copy(z, x[first:])
	for i, d := range o.d {
		xi := x[i] / d
		for _, e := range o.f[i] {
			z[e.j] -= e.x * xi
		}
	}
	for i := range m { // L z = rhs
		row := o.chol[i*m : i*m+i+1]
		s := z[i]
		for j, l := range row[:i] {
			s -= l * z[j]
		}
		z[i] = s / row[i]
	}
	for i := m - 1; i >= 0; i-- { // Lᵀ z = z
		row := o.chol[i*m : i*m+i+1]
		z[i] /= row[i]
		for j, l := range row[:i] {
			z[j] -= l * z[i]
		}
	}
	for i, d := range o.d {
		s := x[i]
		for _, e := range o.f[i] {
			s -= e.x * z[e.j]
		}
		out[i] = s / d
	}
	copy(out[first:], z)
}

// finish solves for μ̂ and the effects and sums up r².
func (o *solution) finish() {
	s := o.sys
	g, t := o.work.g, o.work.t
	sumW, sumWy := o.rx2, o.mean
	o.apply(g, o.v)
	gv, tv := 0.0, 0.0
	for i, v := range o.v {
		gv += g[i] * v
		tv += t[i] * v
	}
	o.rx2 = sumW - gv
	o.mean = (sumWy - tv) / o.rx2
	for i := range t {
		t[i] -= g[i] * o.mean
	}
	o.apply(t, o.b)
	// The penalized residual sum of squares: no cancellation, however large θ.
	o.r2 = 0
	for _, b := range o.b {
		o.r2 += b * b
	}
	for i := range s.cells {
		c := &s.cells[i]
		e := c.mean - o.mean - o.at(c)
		o.r2 += rowWeight(c.blank, o.theta) * (c.n*e*e + c.ss)
	}
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

// inverse returns the element (i, j) of A⁻¹.
func (o *solution) inverse(i, j int) float64 {
	first, m := o.sys.first, o.m
	if !o.inverted {
		invertFactored(o.chol, o.sInv, o.work.scratch, m)
		o.inverted = true
	}
	if i < j {
		i, j = j, i // i is the later one
	}
	switch {
	case j >= first:
		return o.sInv[(i-first)*m+j-first]
	case i >= first:
		return o.crossRow(j)[i-first]
	}
	row := o.crossRow(j)
	s := 0.0
	if i == j {
		s = 1
	}
	for _, e := range o.f[i] {
		s -= e.x * row[e.j]
	}
	return s / o.d[i]
}

// crossRow is the row of A⁻¹ of an eliminated level, over the levels that were
// not eliminated: −(1/d) fᵀS⁻¹.
func (o *solution) crossRow(i int) []float64 {
	m := o.m
	if len(o.cross[i]) == m {
		return o.cross[i]
	}
	row := o.cross[i]
	if cap(row) < m {
		row = make([]float64, m)
	}
	row = row[:m]
	clear(row)
	for _, e := range o.f[i] {
		x := -e.x / o.d[i]
		for j, y := range o.sInv[e.j*m : e.j*m+m] {
			row[j] += x * y
		}
	}
	o.cross[i] = row
	return row
}
