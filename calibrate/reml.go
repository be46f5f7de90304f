package calibrate

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"trueplait/model"
)

// criterion is the profiled REML criterion at the solution's θ,
//
//	d(θ) = ln|A| + ln Rx² + (N−1)(1 + ln(2π r²/(N−1))) − Σ n ln w
//
// Bates, Maechler, Bolker, Walker (2015), J Stat Softw 67(1), eq. 41, with the
// row weights of blank labels in it.
func (o *solution) criterion() float64 {
	df := o.sys.n - 1
	return o.logDet + math.Log(o.rx2) + df*(1+math.Log(2*math.Pi*o.r2/df)) - o.logW
}

// gradient writes θ_k ∂d/∂θ_k into g. With V_k = ∂V/∂θ_k², that is
//
//	2θ_k² [tr(P V_k) − (N−1) yᵀPV_kPy/r²]
//
// where the levels contribute 1 − (A⁻¹)_jj − v_j²/Rx² and b_j², and rows with
// a blank label w − w²h and their squared weighted residuals.
func (o *solution) gradient(g []float64) {
	s := o.sys
	df := s.n - 1
	clear(g)
	for i, l := range s.levels {
		if o.theta[l.effect] == 0 {
			continue
		}
		g[l.effect] += 1 - o.inverse(i, i) - o.v[i]*o.v[i]/o.rx2 - df*o.b[i]*o.b[i]/o.r2
	}
	for i := range s.cells {
		c := &s.cells[i]
		if c.blank == 0 {
			continue
		}
		w := rowWeight(c.blank, o.theta)
		_, h := o.estimate(c.contrast())
		e := c.mean - o.mean - o.at(c)
		x := c.n*(w-w*w*h) - df*w*w*(c.n*e*e+c.ss)/o.r2
		for k, t := range o.theta {
			if c.blank&(1<<k) != 0 {
				g[k] += t * t * x
			}
		}
	}
	for k := range g {
		g[k] *= 2
	}
}

// contrast is that of the cell's own labels, blanks left out.
func (c *cell) contrast() contrast {
	out := contrast{fixed: 1}
	for _, i := range c.at {
		if i >= 0 {
			out.levels = append(out.levels, int(i))
		}
	}
	return out
}

// remlFit is the optimum of the criterion.
type remlFit struct {
	*solution
	criterion float64
	estimable []bool // by effect
}

// fitREML minimizes the criterion over θ ≥ 0. Effects whose spread data cannot
// tell stay at 0. start is a guess, or nil.
//
// The criterion is even in θ, so zero components are ordinary minima: Newton's
// method on the exact gradient runs in θ without bounds, and a component that
// ends near zero is set there and kept if the criterion does not want it back.
//
// It returns nil for fewer than two rows or no scatter at all.
func (s *system) fitREML(start []float64) *remlFit {
	if s.n < 2 {
		return nil
	}
	k := len(s.effects)
	fit := &remlFit{estimable: make([]bool, k)}
	var free []int
	for i := range k {
		if fit.estimable[i] = s.estimable(i); fit.estimable[i] {
			free = append(free, i)
		}
	}
	m := &minimizer{sys: s, sol: s.solve(make([]float64, k), nil)}
	if s.noScatter(m.sol) {
		return nil
	}
	theta := make([]float64, k)
	if start != nil {
		for _, i := range free {
			theta[i] = math.Max(start[i], 0.05)
		}
	} else {
		theta = m.scan(free)
	}
	theta, best := m.descend(theta, free)
	theta, best = m.zeros(theta, best, free)
	fit.solution = s.solve(theta, nil)
	fit.criterion = best
	if s.noScatter(fit.solution) {
		return nil
	}
	return fit
}

// noScatter reports whether what is left over at a solution is only rounding.
func (s *system) noScatter(o *solution) bool {
	const rounding = 1e-13
	return o.r2 <= s.n*rounding*rounding
}

// minimizer finds the θ of least criterion.
type minimizer struct {
	sys *system
	sol *solution
}

func (m *minimizer) at(theta []float64) float64 {
	m.sol = m.sys.solve(theta, m.sol)
	return m.sol.criterion()
}

// scan returns the best point of a coarse lattice of θ.
func (m *minimizer) scan(free []int) []float64 {
	starts := []float64{0.2, 0.8, 3}
	theta := make([]float64, len(m.sys.effects))
	best, at := make([]float64, len(theta)), math.Inf(1)
	var walk func(i int)
	walk = func(i int) {
		if i == len(free) {
			if d := m.at(theta); d < at {
				at = d
				copy(best, theta)
			}
			return
		}
		for _, x := range starts {
			theta[free[i]] = x
			walk(i + 1)
		}
	}
	walk(0)
	return best
}

// slope is ∂d/∂θ over the free effects.
func (m *minimizer) slope(theta []float64, free []int) (d float64, g []float64) {
	d = m.at(theta)
	all := make([]float64, len(theta))
	m.sol.gradient(all)
	g = make([]float64, len(free))
	for i, k := range free {
		if theta[k] != 0 {
			g[i] = all[k] / theta[k]
		}
	}
	return d, g
}

// descend runs damped Newton steps from theta; the Hessian is the central
// difference of the exact gradient, made positive definite where it is not.
func (m *minimizer) descend(theta []float64, free []int) ([]float64, float64) {
	const (
		steps = 100
		near  = 1e-9  // expected decrease below which rounding hides progress: trust the step
		done  = 1e-17 // expected decrease at which θ has all its digits
	)
	n := len(free)
	x := append([]float64(nil), theta...)
	d, g := m.slope(x, free)
	if n == 0 {
		return x, d
	}
	for range steps {
		step := newtonStep(m.hessian(x, free), g)
		decrease := 0.0
		for i := range step {
			decrease -= g[i] * step[i]
		}
		next := append([]float64(nil), x...)
		scale, ok := 1.0, false
		var dn float64
		var gn []float64
		for range 40 {
			for i, k := range free {
				next[k] = math.Abs(x[k] + scale*step[i])
			}
			if dn, gn = m.slope(next, free); dn <= d-1e-4*scale*decrease || decrease < near {
				ok = true
				break
			}
			scale /= 2
		}
		if !ok {
			break
		}
		x, d, g = next, dn, gn
		if decrease < done {
			break
		}
	}
	return x, m.at(x)
}

// hessian is the matrix of second derivatives of d in the free θ.
func (m *minimizer) hessian(theta []float64, free []int) *mat.SymDense {
	n := len(free)
	rows := make([][]float64, n)
	x := append([]float64(nil), theta...)
	for i, k := range free {
		h := 1e-4 * (theta[k] + 0.01)
		x[k] = theta[k] + h
		_, up := m.slope(x, free)
		x[k] = theta[k] - h
		_, down := m.slope(x, free)
		x[k] = theta[k]
		rows[i] = make([]float64, n)
		for j := range up {
			rows[i][j] = (up[j] - down[j]) / (2 * h)
		}
	}
	out := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			out.SetSym(i, j, (rows[i][j]+rows[j][i])/2)
		}
	}
	return out
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

// zeros sets small components to zero where the criterion is no worse there.
func (m *minimizer) zeros(theta []float64, best float64, free []int) ([]float64, float64) {
	const small = 0.3
	for _, k := range free {
		if theta[k] == 0 || theta[k] > small {
			continue
		}
		try := append([]float64(nil), theta...)
		try[k] = 0
		var rest []int
		for _, i := range free {
			if i != k && try[i] != 0 {
				rest = append(rest, i)
			}
		}
		if x, d := m.descend(try, rest); d <= best+1e-10 {
			theta, best = x, d
		}
	}
	return theta, best
}

// report turns the optimum into the published form. SE of a BLUP is
// √Var(û − u), which carries μ̂'s uncertainty.
func (f *remlFit) report() *REML {
	s := f.sys
	sigma := math.Sqrt(f.r2 / (s.n - 1))
	r := &REML{
		Criterion: f.criterion,
		Mean:      s.centre + f.mean,
		MeanSE:    sigma / math.Sqrt(f.rx2),
		SD:        map[model.Effect]float64{},
		Residual:  sigma,
	}
	for k, e := range s.effects {
		r.SD[e] = math.NaN()
		if f.estimable[k] {
			r.SD[e] = sigma * f.theta[k]
		}
		for i, l := range s.levels {
			if l.effect != k || l.rows == 0 {
				continue
			}
			b := BLUP{Effect: e, Level: l.name, Rows: l.rows, SE: math.NaN()}
			if f.estimable[k] {
				u, h := f.estimate(contrast{levels: []int{i}})
				b.Value, b.SE = u, sigma*math.Sqrt(h)
			}
			r.BLUP = append(r.BLUP, b)
		}
	}
	return r
}

// fitted is the fit as residuals are taken from it.
func (f *remlFit) fitted() model.Fitted {
	s := f.sys
	out := model.Fitted{Mean: s.centre + f.mean, Theta2: map[model.Effect]float64{}}
	for k, e := range s.effects {
		out.Theta2[e] = f.theta[k] * f.theta[k]
	}
	for i, l := range s.levels {
		if l.rows > 0 {
			out.Levels = append(out.Levels, model.LevelEffect{Effect: s.effects[l.effect], Level: l.name, Value: f.theta[l.effect] * f.b[i]})
		}
	}
	return out
}
