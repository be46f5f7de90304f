package calibrate

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// remainder is the system with the effects of many levels eliminated at the
// spreads they are held at: a small dense one of μ and the effects of few
// levels, exact at any spread of theirs. With F their levels, R all others and
// C = (Z_F, 1, y),
//
//	Q = CᵀV_R⁻¹C = CᵀWC − CᵀWZΛ A_RR⁻¹ ΛZᵀWC
//
// holds all that the rows say. The weights of rows with blank labels are held
// too.
type remainder struct {
	equations           // of R alone: θ of F is 0
	held      []float64 // θ, that of F where the weights were taken
	few       []int     // effects
	levels    []int32   // F
	place     []int32   // of a level in F; −1: of R
	x         []lanes   // A_RR⁻¹ΛZᵀWC, by fours of columns
	q         []float64 // by rows of f + 2
	blank     []blankRows
}

// blankRows are rows with the same blanks: how many, the sum of their squared
// residuals, and the variance of one, over σ², that is held.
type blankRows struct {
	blank            uint8
	n, square, other float64
}

// newRemainder eliminates all effects but the few from the system at sol.
func newRemainder(sol *solution, few []int) *remainder {
	s := sol.sys
	theta := append([]float64(nil), sol.theta...)
	for _, k := range few {
		theta[k] = 0
	}
	r := &remainder{equations: *newEquations(s, sol.equations.mesh, theta, sol.equations.weight), held: sol.theta, few: few, place: make([]int32, len(s.levels))}
	for i, l := range s.levels {
		r.place[i] = -1
		for _, k := range few {
			if l.effect == k {
				r.place[i] = int32(len(r.levels))
				r.levels = append(r.levels, int32(i))
			}
		}
	}
	columns := len(r.levels) + 2
	r.q = make([]float64, columns*columns)
	for from := 0; from < columns; from += width {
		r.eliminate(from)
	}
	for i := range s.cells {
		r.q[columns*columns-1] += r.weight[s.cells[i].blank] * s.cells[i].ss
	}
	r.noteBlanks(sol)
	return r
}

// row lists the columns of C that are not 0 in a cell, with their values.
func (r *remainder) row(c *cell, at []int, value []float64) ([]int, []float64) {
	at, value = at[:0], value[:0]
	for _, k := range r.few {
		if l := c.at[k]; l >= 0 {
			at, value = append(at, int(r.place[l])), append(value, 1)
		}
	}
	f := len(r.levels)
	return append(at, f, f+1), append(value, 1, c.mean)
}

// eliminate works out four columns of x, and of Q.
func (r *remainder) eliminate(from int) {
	cells, columns := r.sys.cells, len(r.levels)+2
	y, x := make(lanes, len(r.place)), make(lanes, len(r.place))
	var at []int
	var value []float64
	for i := range cells {
		c := &cells[i]
		w := c.n * r.weight[c.blank]
		at, value = r.row(c, at, value)
		for a, j := range at {
			if j < from || j >= from+width {
				continue
			}
			for b, k := range at {
				r.q[k*columns+j] += w * value[a] * value[b]
			}
			for k, t := range r.theta {
				if l := c.at[k]; l >= 0 {
					y[l][j-from] += t * w * value[a]
				}
			}
		}
	}
	r.solve(y, x, fine)
	r.x = append(r.x, x)
	for i := range cells {
		c := &cells[i]
		var f [width]float64
		for k, t := range r.theta {
			if l := c.at[k]; l >= 0 {
				for j := range f {
					f[j] += t * x[l][j]
				}
			}
		}
		w := c.n * r.weight[c.blank]
		at, value = r.row(c, at, value)
		for b, k := range at {
			for j := range min(width, columns-from) {
				r.q[k*columns+from+j] -= w * value[b] * f[j]
			}
		}
	}
}

// noteBlanks sums up the rows in which one of the few effects is blank, as
// seen from sol.
func (r *remainder) noteBlanks(sol *solution) {
	var of [1 << maxEffects]blankRows
	mask := uint8(0)
	for _, k := range r.few {
		mask |= 1 << k
	}
	for i := range r.sys.cells {
		if c := &r.sys.cells[i]; c.blank&mask != 0 {
			e := c.mean - sol.mean - sol.at(c)
			of[c.blank].n += c.n
			of[c.blank].square += c.n*e*e + c.ss
		}
	}
	for blank, rows := range of {
		if rows.n > 0 {
			rows.blank = uint8(blank)
			rows.other = 1 / rowWeight(rows.blank, r.theta)
			r.blank = append(r.blank, rows)
		}
	}
}

// small is the remainder solved at one θ.
type small struct {
	*remainder
	at       []float64 // θ
	triangle []float64 // the Cholesky factor of ΛQ_FFΛ + I
	sums     solution  // all but b and v
	b, v     []float64 // of F
}

// solveAt solves the remainder at θ.
func (r *remainder) solveAt(theta []float64) *small {
	f, columns := len(r.levels), len(r.levels)+2
	q := func(i, j int) float64 { return r.q[i*columns+j] }
	o := &small{remainder: r, at: theta, triangle: make([]float64, f*f), b: make([]float64, f), v: make([]float64, f)}
	for i := range f {
		for j := range i + 1 {
			o.triangle[i*f+j] = o.scale(i) * o.scale(j) * (q(i, j) + q(j, i)) / 2
		}
		o.triangle[i*f+i]++
		o.v[i], o.b[i] = o.scale(i)*q(i, f), o.scale(i)*q(i, f+1)
	}
	sums := solution{sys: r.sys, theta: theta, logDet: cholesky(o.triangle, f), rx2: q(f, f), r2: q(f+1, f+1)}
	forward(o.triangle, o.v)
	forward(o.triangle, o.b)
	sums.rx2 -= dot(o.v, o.v)
	sums.mean = (q(f, f+1) - dot(o.v, o.b)) / sums.rx2
	sums.r2 = math.Max(sums.r2-dot(o.b, o.b)-sums.rx2*sums.mean*sums.mean, 0)
	axpy(-sums.mean, o.v, o.b)
	backward(o.triangle, o.v)
	backward(o.triangle, o.b)
	o.sums = sums
	return o
}

// scale is θ of level i of F.
func (o *small) scale(i int) float64 { return o.at[o.sys.levels[o.levels[i]].effect] }

// forward replaces y by L⁻¹y, backward by L⁻ᵀy.
func forward(l, y []float64) {
	m := len(y)
	for i := range y {
		y[i] = (y[i] - dot(l[i*m:i*m+i], y)) / l[i*m+i]
	}
}

func backward(l, y []float64) {
	m := len(y)
	for i := m - 1; i >= 0; i-- {
		y[i] /= l[i*m+i]
		axpy(-y[i], l[i*m:i*m+i], y)
	}
}

// density is the log posterior of θ with σ summed out, up to a constant, and
// σ's distribution there.
func (o *small) density() (log float64, sigma []sigmaNode) {
	sigma, log = o.sums.sigmaNodes(nil)
	square := 0.0
	for _, s := range sigma {
		square += s.weight * s.sigma * s.sigma
	}
	for _, b := range o.blank {
		held, now := b.other, b.other
		for _, k := range o.few {
			if b.blank&(1<<k) != 0 {
				held += o.held[k] * o.held[k]
				now += o.at[k] * o.at[k]
			}
		}
		log -= (b.n*math.Log(now/held) + b.square/square*(1/now-1/held)) / 2
	}
	return log, sigma
}

// whole is the solution of all levels.
func (o *small) whole() *solution {
	s, f := o.sys, len(o.levels)
	out := o.sums
	out.b, out.v = make([]float64, len(s.levels)), make([]float64, len(s.levels))
	for l, p := range o.place {
		if p >= 0 {
			out.b[l], out.v[l] = o.b[p], o.v[p]
			continue
		}
		b, v := o.column(l, f+1)-o.sums.mean*o.column(l, f), o.column(l, f)
		for j := range f {
			x := o.scale(j) * o.column(l, j)
			b -= x * o.b[j]
			v -= x * o.v[j]
		}
		out.b[l], out.v[l] = b, v
	}
	return &out
}

// column is an element of x.
func (r *remainder) column(l, j int) float64 { return r.x[j/width][l][j%width] }

// share writes into a how the few effects enter a contrast, directly and
// through the levels of R that are estimated together with them.
func (r *remainder) share(c *contrast, a []float64) {
	clear(a)
	for i, l := range c.levels {
		if p := r.place[l]; p >= 0 {
			a[p] += c.weight(i)
			continue
		}
		w := c.weight(i) * r.theta[r.sys.levels[l].effect]
		for j := range a {
			a[j] -= w * r.column(int(l), j)
		}
	}
}

// variance is what the few effects add to the variance of a contrast that they
// enter by a, over σ². y is scratch.
func (o *small) variance(a, y []float64) float64 {
	h := 0.0
	for i := range a {
		y[i] = o.scale(i) * a[i]
	}
	forward(o.triangle, y)
	for _, x := range y {
		h += x * x
	}
	return h
}

// explore places nodes where the few spreads count: the mode in ln θ, by
// descent, and a design on the axes of the single effects, which have little to
// do with each other.
func (r *remainder) explore(d design) (nodes []*small, weights []float64, sigma [][]sigmaNode) {
	at := func(phi []float64) *small {
		theta := append([]float64(nil), r.held...)
		for a, k := range r.few {
			theta[k] = math.Exp(phi[a])
		}
		return r.solveAt(theta)
	}
	log := func(phi []float64) float64 {
		for _, x := range phi {
			if x < minLogTheta || x > maxLogTheta {
				return math.Inf(-1)
			}
		}
		l, _ := at(phi).density()
		return l
	}
	start := make([]float64, len(r.few))
	for a, k := range r.few {
		start[a] = math.Log(math.Max(r.held[k], 0.1))
	}
	mode, top := climb(start, log)
	axes := make([]axis, len(mode))
	for a := range axes {
		axes[a] = measure(mode, a, top, log)
	}
	points := d.points(axes)
	for i := range points {
		phi := append([]float64(nil), mode...)
		stretch := 0.0
		for a := range axes {
			z := points[i].z[a]
			stretch += axes[a].move(phi, z) + z*z/2
		}
		l := log(phi)
		const faint = 1e-5 // of the first one's
		if w := points[i].weight * math.Exp(l-top+stretch); w > faint*points[0].weight {
			o := at(phi)
			_, s := o.density()
			nodes, weights, sigma = append(nodes, o), append(weights, w), append(sigma, s)
		}
	}
	return nodes, weights, sigma
}

// climb finds the maximum of a smooth function of few variables.
func climb(start []float64, f func([]float64) float64) (at []float64, top float64) {
	const h = 1e-2
	x := make([]float64, len(start)) // where f is looked at
	last := make([]float64, len(start))
	slopes := func(phi, g []float64) float64 {
		copy(last, phi)
		copy(x, phi)
		for i := range x {
			x[i] = phi[i] + h
			up := f(x)
			x[i] = phi[i] - h
			g[i] = (f(x) - up) / (2 * h)
			x[i] = phi[i]
		}
		return -f(phi)
	}
	curvature := func() *mat.SymDense {
		c := mat.NewSymDense(len(x), nil)
		g, up := make([]float64, len(x)), make([]float64, len(x))
		phi := append([]float64(nil), last...)
		slopes(phi, g)
		for i := range phi {
			phi[i] += h
			slopes(phi, up)
			phi[i] -= h
			for j := range i + 1 {
				c.SetSym(i, j, (up[j]-g[j])/h)
			}
		}
		return c
	}
	at, value, _ := descend(start, slopes, curvature, 1e-3)
	return at, -value
}

// measure is the axis of one variable, with its standard deviation each way:
// half the distance at which f has fallen by 2.
func measure(mode []float64, k int, top float64, f func([]float64) float64) axis {
	x := append([]float64(nil), mode...)
	reach := func(by float64) float64 {
		near, far := 0.0, by // f has not fallen by 2, and has
		for x[k] = mode[k] + far; f(x) > top-2; x[k] = mode[k] + far {
			near, far = far, 2*far
		}
		for range 20 {
			middle := (near + far) / 2
			if x[k] = mode[k] + middle; f(x) > top-2 {
				near = middle
			} else {
				far = middle
			}
		}
		return math.Abs(far) / 2
	}
	a := axis{direction: make([]float64, len(mode))}
	a.direction[k] = 1
	a.up, a.down = reach(0.1), reach(-0.1)
	return a
}
