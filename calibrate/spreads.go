package calibrate

import (
	"math"
	"runtime"

	"gonum.org/v1/gonum/mat"
)

// slopes are those of the REML criterion by φ = θ², with their traces
// estimated from draws: with V_k = ∂V/∂φ_k and P as usual,
//
//	∂d/∂φ_k = tr(PV_k) − (N−1) yᵀPV_kPy/r²
//
// and, in place of second derivatives, the average of the observed and the
// expected ones,
//
//	(N−1) (yᵀPV_kPV_lPy/r² − yᵀPV_kPy · yᵀPV_lPy/r⁴)
//
// Gilmour, Thompson & Cullis (1995), Biometrics 51:1440.
type slopes struct {
	sys   *system
	free  []int     // effects with a spread to be estimated
	floor []float64 // φ that cannot be told from 0, by effect
	start []lanes   // the draws at the last θ
}

func newSlopes(s *system, estimable []bool) *slopes {
	x := &slopes{sys: s, floor: make([]float64, len(s.effects)), start: make([]lanes, slopeDraws/width)}
	for k := range s.effects {
		// A thousandth of the variance of a level's mean of as many rows as a row
		// finds in its level.
		const share = 1e-3
		x.floor[k] = share * s.n / s.concentration(k)
		if estimable[k] {
			x.free = append(x.free, k)
		}
	}
	return x
}

// root returns the θ at which the slopes vanish, or where the criterion wants a
// spread below nothing, 0, and whether it got there. It starts from a guess or
// the moments and takes Newton's steps until one is a fiftieth of a standard
// error, or next to nothing: the signs blur the place by a fourth of a standard
// error, 1/√16, whatever is done.
// sol is a solution to reuse.
func (x *slopes) root(start []float64, sol *solution) (theta []float64, found bool) {
	const (
		steps  = 200
		small  = 1e-3 // of a step: twice its square in standard errors
		little = 1e-3 // of a step, as a share of φ
		most   = 4    // times φ that the first step leads to, and the others ever less far: signs can lead in circles
		above  = 100  // floors where a spread starts
	)
	if start == nil {
		start = x.sys.moments(x.free)
	}
	phi := make([]float64, len(start))
	for _, k := range x.free {
		phi[k] = math.Max(start[k]*start[k], above*x.floor[k])
	}
	last, factor := make([]float64, len(phi)), make([]float64, len(phi))
	for k := range factor {
		factor[k] = most
	}
	for i := range steps {
		x.sys.solve(roots(phi), sol)
		slope, second := x.at(sol)
		var moving []int // the others rest on their floor
		for _, k := range x.free {
			if phi[k] > x.floor[k] || slope[k] < 0 {
				moving = append(moving, k)
			}
		}
		step, decrease := newton(slope, second, moving)
		if decrease < small {
			found = true
			break
		}
		found = true
		for _, k := range moving {
			if step[k]*last[k] < 0 { // there and back, where spreads can hardly be told apart
				factor[k] = math.Sqrt(factor[k])
			} else {
				left := 1 - float64(i)/steps
				factor[k] = math.Min(math.Pow(most, left*left), math.Pow(factor[k], 1.5))
			}
			next := math.Max(x.floor[k], math.Max(phi[k]/factor[k], math.Min(phi[k]*factor[k], phi[k]+step[k])))
			found = found && math.Abs(next-phi[k]) <= little*phi[k]
			phi[k], last[k] = next, step[k]
		}
		if found {
			break
		}
	}
	for _, k := range x.free {
		if phi[k] <= x.floor[k] {
			phi[k] = 0
		}
	}
	return roots(phi), found
}

func roots(phi []float64) []float64 {
	theta := make([]float64, len(phi))
	for k, p := range phi {
		theta[k] = math.Sqrt(p)
	}
	return theta
}

// newton solves for the step of some effects and says by how much it is
// expected to lower the criterion, twice.
func newton(slope []float64, second *mat.SymDense, moving []int) (step []float64, decrease float64) {
	step = make([]float64, len(slope))
	n := len(moving)
	if n == 0 {
		return step, 0
	}
	h, g := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
	for a, k := range moving {
		g.SetVec(a, -slope[k])
		for b, l := range moving[:a+1] {
			h.SetSym(a, b, second.At(k, l))
		}
	}
	var chol mat.Cholesky
	var at mat.VecDense
	if !chol.Factorize(h) || chol.SolveVecTo(&at, g) != nil {
		at.CloneFromVec(g) // they cannot be told apart: each as if it were alone
		for a := range moving {
			at.SetVec(a, g.AtVec(a)/math.Max(h.At(a, a), math.SmallestNonzeroFloat64))
		}
	}
	for a, k := range moving {
		step[k] = at.AtVec(a)
		decrease += step[k] * g.AtVec(a)
	}
	return step, decrease
}

// at returns the slopes of the free effects at a solution, and the average
// second derivatives.
func (x *slopes) at(o *solution) (slope []float64, second *mat.SymDense) {
	traces := x.traces(o)
	w := x.working(o)
	k, df := len(x.sys.effects), x.sys.n-1
	slope, second = make([]float64, k), mat.NewSymDense(max(k, 1), nil)
	for i := range k {
		slope[i] = traces[i] - df*w.quad[i]/o.r2
		for j := range i + 1 {
			second.SetSym(i, j, df*(w.both[i][j]-w.quad[i]*w.quad[j]/o.r2)/o.r2)
		}
	}
	return slope, second
}

// traces estimates tr(PV_k). The levels' part is the trace of I − A⁻¹, that of
// rows with a blank label Σ n (w − w²h) with h = zᵀΛA⁻¹Λz; of both only A⁻¹ is left
// to chance, as the mean of εᵀA⁻¹ε over signs ε: Hutchinson (1989), Commun Stat
// Simul 18:1059. What that scatters is no more than what the rows do, over the
// number of draws, in any direction: even where two spreads can hardly be told
// apart.
func (x *slopes) traces(o *solution) (trace [maxEffects]float64) {
	s, e := x.sys, o.equations
	sums := make([][maxEffects]float64, len(x.start))
	inParallel(runtime.GOMAXPROCS(0), func(w int) {
		for block := w; block < len(x.start); block += runtime.GOMAXPROCS(0) {
			signs := e.signs(block)
			if x.start[block] == nil {
				x.start[block] = make(lanes, len(signs))
			}
			at := x.start[block]
			e.solve(signs, at, rough)
			sums[block] = e.products(signs, at)
		}
	})
	for _, sum := range sums {
		for k := range sum {
			trace[k] += sum[k] / slopeDraws
		}
	}
	for l, level := range s.levels {
		if t := o.theta[level.effect]; t > 0 {
			trace[level.effect] -= o.v[l] * o.v[l] / o.rx2 / (t * t)
		}
	}
	for i := range s.cells {
		c := &s.cells[i]
		if c.blank == 0 {
			continue
		}
		w := e.weight[c.blank]
		lift := 1 - e.effect(c, o.v)
		for k := range o.theta {
			if c.blank&(1<<k) != 0 {
				trace[k] += c.n * (w - w*w*lift*lift/o.rx2)
			}
		}
	}
	return trace
}

// products sums ε(ε − x)/φ over the levels of each effect, and −n w² zᵀΛε zᵀΛx over
// the cells in which it is blank, for four draws together.
func (e *equations) products(signs, x lanes) (sum [maxEffects]float64) {
	for l := range x {
		k := e.sys.levels[l].effect
		if t := e.theta[k]; t > 0 {
			for j := range width {
				sum[k] += signs[l][j] * (signs[l][j] - x[l][j]) / (t * t)
			}
		}
	}
	for i := range e.sys.cells {
		c := &e.sys.cells[i]
		if c.blank == 0 {
			continue
		}
		var f, g [width]float64
		for k, t := range e.theta {
			if l := c.at[k]; l >= 0 {
				for j := range f {
					f[j] += t * x[l][j]
					g[j] += t * signs[l][j]
				}
			}
		}
		w := e.weight[c.blank]
		product := c.n * w * w * (f[0]*g[0] + f[1]*g[1] + f[2]*g[2] + f[3]*g[3])
		for k := range e.theta {
			if c.blank&(1<<k) != 0 {
				sum[k] -= product
			}
		}
	}
	return sum
}

// working is what the working vectors V_kPy come to.
type working struct {
	quad [maxEffects]float64             // yᵀPV_kPy
	both [maxEffects][maxEffects]float64 // yᵀPV_kPV_lPy
}

// working solves the system for all V_kPy at once: b/θ in the rows of a level,
// their own weighted residual in rows without one.
func (x *slopes) working(o *solution) (out working) {
	s, e := x.sys, o.equations
	n := len(o.theta)
	t := make([][]float64, n) // ΛZᵀW of each, then A⁻¹ of that less the mean
	for k := range t {
		t[k] = make([]float64, len(s.levels))
	}
	var sum [maxEffects]float64 // 1ᵀW of each
	for l, level := range s.levels {
		if k := level.effect; o.theta[k] > 0 {
			out.quad[k] += o.b[l] * o.b[l] / (o.theta[k] * o.theta[k])
		}
	}
	for i := range s.cells {
		c := &s.cells[i]
		w := e.weight[c.blank]
		var q [maxEffects]float64
		own := 0.0
		if c.blank != 0 {
			own = w * (c.mean - o.mean - o.at(c))
		}
		for k := range n {
			if l := c.at[k]; l < 0 {
				q[k] = own
				out.quad[k] += c.n*own*own + w*w*c.ss
			} else if o.theta[k] > 0 {
				q[k] = o.b[l] / o.theta[k]
			}
		}
		nw := c.n * w
		for k := range n {
			sum[k] += nw * q[k]
			for j := range k + 1 {
				out.both[k][j] += nw * q[k] * q[j]
				if c.at[k] < 0 && c.at[j] < 0 {
					out.both[k][j] += w * w * w * c.ss
				}
			}
			for a, l := range c.at[:n] {
				if l >= 0 {
					t[k][l] += o.theta[a] * nw * q[k]
				}
			}
		}
	}
	solved := make([][]float64, n)
	for k := range solved {
		solved[k] = append([]float64(nil), t[k]...)
	}
	e.apply(solved...)
	for k := range n {
		mean := (sum[k] - dot(o.v, t[k])) / o.rx2
		for j := range k + 1 {
			// A⁻¹(t − g·mean) is solved − v·mean.
			out.both[k][j] -= mean*sum[j] + dot(t[j], solved[k]) - mean*dot(t[j], o.v)
		}
	}
	return out
}
