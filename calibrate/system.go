package calibrate

import (
	"math"
	"slices"
	"sort"

	"trueplait/model"
)

// maxEffects is the largest number of effects a quantity has.
const maxEffects = 4

// system is the mixed model of one quantity, reduced to its cells:
//
//	y = μ + Σ_k u_k[level] + e,  u_k ~ N(0, τ_k²),  e ~ N(0, σ²),  θ_k = τ_k/σ
//
// A row whose label of effect k is blank belongs to a level of its own; that
// is the same as a row variance of σ²(1 + Σ_blank θ_k²) = σ²/w.
//
// Levels of all effects are numbered through. The effect with the most levels
// comes first: its block of ΛᵀZᵀWZΛ + I is diagonal and is eliminated before
// the rest is factorized, so the dense algebra is only as large as the other
// effects together.
type system struct {
	effects []model.Effect // in the order of the quantity
	order   []int          // effects by falling number of levels
	levels  []level        // numbered through, in that order
	index   map[levelKey]int
	first   int    // levels of the eliminated effect: 0..first-1
	cells   []cell // labels as level numbers
	n       float64
	centre  float64 // subtracted from every cell mean, for precision
}

type levelKey struct {
	effect int
	name   string
}

type level struct {
	effect int // index into effects
	name   string
	rows   int
}

// cell is a model.Cell with its labels as level numbers; blank is a bit set of
// effects without a label.
type cell struct {
	n, mean, ss float64
	at          [maxEffects]int32 // by effect; -1: blank
	blank       uint
}

// newSystem builds the system of cells. Every level named in extra is there
// too, with no rows, so that predictions for it need no special case.
// Effects with no recorded label in cells and extra are left out.
func newSystem(effects []model.Effect, cells []model.Cell, extra []model.Labels) *system {
	s := &system{index: map[levelKey]int{}}
	names := make(map[model.Effect]map[string]int)
	note := func(l model.Labels, rows int) {
		for _, e := range effects {
			if name := l.Get(e); name != "" {
				if names[e] == nil {
					names[e] = map[string]int{}
				}
				names[e][name] += rows
			}
		}
	}
	for _, c := range cells {
		note(c.Labels, c.N)
	}
	for _, l := range extra {
		note(l, 0)
	}
	for _, e := range effects {
		if len(names[e]) > 0 {
			s.effects = append(s.effects, e)
		}
	}
	for k := range s.effects {
		s.order = append(s.order, k)
	}
	sort.SliceStable(s.order, func(i, j int) bool {
		return len(names[s.effects[s.order[i]]]) > len(names[s.effects[s.order[j]]])
	})
	for _, k := range s.order {
		e := s.effects[k]
		for _, name := range sortedKeys(names[e]) {
			s.index[levelKey{k, name}] = len(s.levels)
			s.levels = append(s.levels, level{k, name, names[e][name]})
		}
		if s.first == 0 {
			s.first = len(s.levels)
		}
	}
	sum := 0.0
	for _, c := range cells {
		s.n += float64(c.N)
		sum += float64(c.N) * c.Mean
	}
	if s.n > 0 {
		s.centre = sum / s.n
	}
	for _, c := range cells {
		s.cells = append(s.cells, s.cell(c))
	}
	s.merge()
	return s
}

func sortedKeys[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

// cell numbers the labels of c.
func (s *system) cell(c model.Cell) cell {
	out := cell{n: float64(c.N), mean: c.Mean - s.centre, ss: c.SS}
	for k := range out.at {
		out.at[k] = -1
	}
	for k, e := range s.effects {
		if i, ok := s.index[levelKey{k, c.Labels.Get(e)}]; ok {
			out.at[k] = int32(i)
		} else {
			out.blank |= 1 << k
		}
	}
	return out
}

// merge joins cells that differ only in what is not an effect here.
func (s *system) merge() {
	type key struct {
		at    [maxEffects]int32
		blank uint
	}
	seen := make(map[key]int, len(s.cells))
	kept := s.cells[:0]
	for _, c := range s.cells {
		k := key{c.at, c.blank}
		if i, ok := seen[k]; ok {
			kept[i].add(c)
			continue
		}
		seen[k] = len(kept)
		kept = append(kept, c)
	}
	s.cells = kept
}

// add pools another cell of the same labels into c.
func (c *cell) add(d cell) {
	n := c.n + d.n
	delta := d.mean - c.mean
	c.ss += d.ss + delta*delta*c.n*d.n/n
	c.mean += delta * d.n / n
	c.n = n
}

// insert adds one row to the system; every label must be a level already.
func (s *system) insert(labels model.Labels, y float64) {
	c := s.cell(model.Cell{Labels: labels, N: 1, Mean: y})
	s.n++
	for k := range s.effects {
		if c.at[k] >= 0 {
			s.levels[c.at[k]].rows++
		}
	}
	for i := range s.cells {
		if s.cells[i].at == c.at {
			s.cells[i].add(c)
			return
		}
	}
	s.cells = append(s.cells, c)
}

// levelCount is the number of levels of effect k, blanks counted as levels of
// their own.
func (s *system) levelCount(k int) int {
	n := 0
	for _, l := range s.levels {
		if l.effect == k && l.rows > 0 {
			n++
		}
	}
	for _, c := range s.cells {
		if c.blank&(1<<k) != 0 {
			n += int(c.n)
		}
	}
	return n
}

// estimable reports whether the spread of effect k can be told from data: it
// has more than one level, and at least one level with more than one row.
func (s *system) estimable(k int) bool {
	n := s.levelCount(k)
	return n > 1 && n < int(s.n)
}

// rowWeight is w for rows with the given blanks.
func rowWeight(blank uint, theta []float64) float64 {
	if blank == 0 {
		return 1
	}
	v := 1.0
	for k, t := range theta {
		if blank&(1<<k) != 0 {
			v += t * t
		}
	}
	return 1 / v
}

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

// contrast is what a factor or a difference is made of: fixed × μ plus the
// levels' effects, plus new levels of the effects in the bit set unseen.
type contrast struct {
	fixed   float64 // 1 with the mean, 0 without
	levels  []int
	weights []float64 // of levels; nil: all 1
	unseen  uint
}

// weight is what level number a of the contrast is multiplied by.
func (c *contrast) weight(a int) float64 {
	if c.weights == nil {
		return 1
	}
	return c.weights[a]
}

// estimate returns the contrast's mean (without the system's centre) and h,
// its variance over σ²:
//
//	h = ‖c‖² + (fixed − aᵀc)²/Rx² + Σ_unseen θ²,  c = L⁻¹Λz
func (o *solution) estimate(c contrast) (mean, h float64) {
	s := o.sys
	mean = c.fixed * o.mean
	lift := c.fixed
	for a, i := range c.levels {
		x := c.weight(a) * o.theta[s.levels[i].effect]
		mean += x * o.b[i]
		lift -= x * o.v[i]
		h += x * x * o.inverse(i, i)
		for b, j := range c.levels[:a] {
			h += 2 * x * c.weight(b) * o.theta[s.levels[j].effect] * o.inverse(i, j)
		}
	}
	h += lift * lift / o.rx2
	for k, x := range o.theta {
		if c.unseen&(1<<k) != 0 {
			h += x * x
		}
	}
	return mean, h
}

// contrast returns the contrast of the factor of labels: a label that is
// blank, or no level of the system, counts as a level never seen.
func (s *system) contrast(labels model.Labels) contrast {
	c := contrast{fixed: 1}
	for k, e := range s.effects {
		if i, ok := s.index[levelKey{k, labels.Get(e)}]; ok {
			c.levels = append(c.levels, i)
		} else {
			c.unseen |= 1 << k
		}
	}
	return c
}
