package calibrate

// equations are A at one θ as something that multiplies: A = ΛZᵀWZΛ + I, never
// written out. They solve A x = y for four right-hand sides at once, because a
// pass over the cells costs little more for four than for one.
//
// The pivot's levels, of which A has only a diagonal D, are eliminated as the
// cells go by: with C the rest of their rows, what is left for the other levels
// is
//
//	S = A_rest − CᵀD⁻¹C
//
// and solved for by conjugate gradients preconditioned by A's diagonal, which is
// its block diagonal too, for no row has two levels of one effect. Hestenes &
// Stiefel (1952), J Res NBS 49:409; for crossed effects, whose backfitting they
// accelerate, Ghosh, Hastie & Owen (2022), Ann Stat 50:560.
type equations struct {
	*mesh
	sys      *system
	theta    []float64
	weight   [1 << maxEffects]float64 // of a row, by its blanks
	diagonal []float64                // of A
}

// lanes are four vectors side by side, by level.
type lanes [][width]float64

const width = 4

// Conjugate gradients end once the residual, preconditioned, has fallen to this
// share of the right-hand side. Fine is for what is reported, rough for what
// draws are estimated from: chance puts those off by far more.
const (
	fine       = 1e-12
	rough      = 1e-5
	mostSweeps = 3_000
)

// rowWeights are those at θ, by blanks.
func rowWeights(theta []float64) (w [1 << maxEffects]float64) {
	for blank := range w {
		w[blank] = rowWeight(uint8(blank), theta)
	}
	return w
}

// newEquations are those at θ, with the weights of rows given, by their blanks.
func newEquations(s *system, m *mesh, theta []float64, weight [1 << maxEffects]float64) *equations {
	e := &equations{mesh: m, sys: s, theta: theta, weight: weight, diagonal: make([]float64, len(s.levels))}
	for i := range s.margins {
		m := &s.margins[i]
		t := theta[s.levels[m.level].effect]
		e.diagonal[m.level] += t * t * m.n * weight[m.blank]
	}
	for i := range e.diagonal {
		e.diagonal[i]++
	}
	return e
}

// rest is the part of a vector that is not the pivot's, as a new one.
func rest[T any](m *mesh, x []T) []T {
	out := make([]T, 0, len(x)-(m.next-m.first))
	return append(append(out, x[:m.first]...), x[m.next:]...)
}

// reduced is S with its scratch.
type reduced struct {
	*equations
	scale  []float64 // θ of each level
	scaled lanes
	f      lanes // of the links of one level
}

func newReduced(e *equations) *reduced {
	r := &reduced{equations: e, f: make(lanes, e.longest)}
	for _, l := range rest(e.mesh, e.sys.levels) {
		r.scale = append(r.scale, e.theta[l.effect])
	}
	r.scaled = make(lanes, len(r.scale))
	return r
}

// setScaled puts Λx into scaled.
func (r *reduced) setScaled(x lanes) {
	for i, t := range r.scale {
		for j := range width {
			r.scaled[i][j] = t * x[i][j]
		}
	}
}

// gather sums n w zᵀΛx over the links of one level, and keeps zᵀΛx of each.
func (r *reduced) gather(links []link) (sum [width]float64) {
	for a := range links {
		x := &links[a]
		f := x.sum(r.scaled)
		r.f[a] = f
		w := x.n * r.weight[x.blank]
		sum[0] += w * f[0]
		sum[1] += w * f[1]
		sum[2] += w * f[2]
		sum[3] += w * f[3]
	}
	return sum
}

// multiply writes S x into out.
func (r *reduced) multiply(x, out lanes) {
	r.setScaled(x)
	clear(out)
	t := r.theta[r.pivot]
	for i := range r.next - r.first {
		links := r.of(i)
		h := r.gather(links)
		share := t * t / r.diagonal[r.first+i]
		for j := range h {
			h[j] *= share
		}
		for a := range links {
			f, w := &r.f[a], links[a].n*r.weight[links[a].blank]
			links[a].add(out, [width]float64{w * (f[0] - h[0]), w * (f[1] - h[1]), w * (f[2] - h[2]), w * (f[3] - h[3])})
		}
	}
	loose := r.loose()
	for a := range loose {
		f, w := loose[a].sum(r.scaled), loose[a].n*r.weight[loose[a].blank]
		loose[a].add(out, [width]float64{w * f[0], w * f[1], w * f[2], w * f[3]})
	}
	for i, t := range r.scale {
		for j := range width {
			out[i][j] = t*out[i][j] + x[i][j]
		}
	}
}

// fold is y of the other levels less CᵀD⁻¹ times the pivot's.
func (r *reduced) fold(y lanes) lanes {
	out := make(lanes, len(r.scale))
	t := r.theta[r.pivot]
	for i := range r.next - r.first {
		links := r.of(i)
		share := t / r.diagonal[r.first+i]
		for a := range links {
			var f [width]float64
			for j := range f {
				f[j] = -share * links[a].n * r.weight[links[a].blank] * y[r.first+i][j]
			}
			links[a].add(out, f)
		}
	}
	for i, from := range rest(r.mesh, y) {
		for j := range width {
			out[i][j] = r.scale[i]*out[i][j] + from[j]
		}
	}
	return out
}

// unfold fills x from its part x_rest: the pivot's is D⁻¹(y − C x_rest).
func (r *reduced) unfold(y, part, x lanes) {
	copy(x, part[:r.first])
	copy(x[r.next:], part[r.first:])
	r.setScaled(part)
	for i := range r.next - r.first {
		h := r.gather(r.of(i))
		for j := range width {
			x[r.first+i][j] = (y[r.first+i][j] - r.theta[r.pivot]*h[j]) / r.diagonal[r.first+i]
		}
	}
}

// solve improves x until A x = y, and reports whether it got there.
func (e *equations) solve(y, x lanes, tolerance float64) bool {
	s := newReduced(e)
	diagonal := rest(e.mesh, e.diagonal)
	b, u := s.fold(y), rest(e.mesh, x)
	ap := make(lanes, len(u))
	s.multiply(u, ap)
	r, p := make(lanes, len(u)), make(lanes, len(u))
	var goal, rz [width]float64
	for i, d := range diagonal {
		for j := range width {
			goal[j] += b[i][j] * b[i][j] / d * tolerance * tolerance
			r[i][j] = b[i][j] - ap[i][j]
			p[i][j] = r[i][j] / d
			rz[j] += r[i][j] * p[i][j]
		}
	}
	for range mostSweeps {
		if rz[0] <= goal[0] && rz[1] <= goal[1] && rz[2] <= goal[2] && rz[3] <= goal[3] {
			s.unfold(y, u, x)
			return true
		}
		s.multiply(p, ap)
		var pap, alpha, next, beta [width]float64
		for i := range p {
			for j := range width {
				pap[j] += p[i][j] * ap[i][j]
			}
		}
		for j := range width {
			if rz[j] > goal[j] { // one that is there stays
				alpha[j] = rz[j] / pap[j]
			}
		}
		for i, d := range diagonal {
			for j := range width {
				u[i][j] += alpha[j] * p[i][j]
				r[i][j] -= alpha[j] * ap[i][j]
				next[j] += r[i][j] * r[i][j] / d
			}
		}
		for j := range width {
			if alpha[j] != 0 {
				beta[j] = next[j] / rz[j]
				rz[j] = next[j]
			}
		}
		for i, d := range diagonal {
			for j := range width {
				p[i][j] = r[i][j]/d + beta[j]*p[i][j]
			}
		}
	}
	s.unfold(y, u, x)
	return false
}

// apply writes A⁻¹ of up to four vectors over them, and reports whether they
// converged.
func (e *equations) apply(vectors ...[]float64) bool {
	y, x := make(lanes, len(e.diagonal)), make(lanes, len(e.diagonal))
	for j, v := range vectors {
		for i := range v {
			y[i][j] = v[i]
		}
	}
	settled := e.solve(y, x, fine)
	for j, v := range vectors {
		for i := range v {
			v[i] = x[i][j]
		}
	}
	return settled
}

// effect is zᵀΛb of a cell.
func (e *equations) effect(c *cell, b []float64) float64 {
	f := 0.0
	for k, t := range e.theta {
		if l := c.at[k]; l >= 0 {
			f += t * b[l]
		}
	}
	return f
}
