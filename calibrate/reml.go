package calibrate

import (
	"math"
	"slices"

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

// slopes writes the derivatives of the criterion's two parts by ln θ,
//
//	det_k = ∂(ln|A| + ln Rx² − Σ n ln w)/∂ ln θ_k,  quad_k = ∂r²/∂ ln θ_k
//
// With V_k = ∂V/∂θ_k² they are 2θ_k² tr(P V_k) and −2θ_k² yᵀPV_kPy: the levels
// contribute 1 − (A⁻¹)_jj − v_j²/Rx² and b_j², and rows with a blank label
// w − w²h and their squared weighted residuals.
func (o *solution) slopes(det, quad []float64) {
	s := o.sys
	o.needInverse()
	clear(det)
	clear(quad)
	for i, l := range s.levels {
		z := o.z[o.sparsity.at(int32(i), int32(i))]
		det[l.effect] += 2 * (1 - z - o.v[i]*o.v[i]/o.rx2)
		quad[l.effect] -= 2 * o.b[i] * o.b[i]
	}
	for k, t := range o.theta {
		if t == 0 {
			det[k], quad[k] = 0, 0
		}
	}
	o.needBlanks()
	for blank, d := range o.blanks {
		for k, t := range o.theta {
			if blank&(1<<k) != 0 {
				det[k] += 2 * t * t * d.det
				quad[k] += 2 * t * t * d.quad
			}
		}
	}
}

// blankSlope is what rows with the same blanks contribute to the slopes of
// each of these effects, over 2θ².
type blankSlope struct{ det, quad float64 }

// needBlanks works out the slopes by blanks.
func (o *solution) needBlanks() {
	if o.blanked {
		return
	}
	o.blanked = true
	s := o.sys
	clear(o.blanks[:])
	for _, i := range s.blank {
		c := &s.cells[i]
		w := o.weight[c.blank]
		lift := 1.0
		for k, l := range c.at {
			if l >= 0 {
				lift -= o.theta[k] * o.v[l]
			}
		}
		e := c.mean - o.mean - o.at(c)
		out := &o.blanks[c.blank]
		out.det += c.n * (w - w*w*lift*lift/o.rx2)
		out.quad -= w * w * (c.n*e*e + c.ss)
	}
	// What is left of h, Σ n (Λz)ᵀA⁻¹Λz, is a sum over ZᵀWZ.
	for i := range s.terms[s.noBlank:] {
		t := &s.terms[s.noBlank+i]
		w := o.weight[t.blank]
		x := t.n * w * w * o.theta[t.k] * o.theta[t.l] * o.z[t.at]
		if t.k != t.l {
			x *= 2 // the element and its mirror image
		}
		o.blanks[t.blank].det -= x
	}
}

// information is what is expected of the criterion's second derivatives by
// ln θ, with σ profiled out and without what the slopes add to it. With
// M = ΛZᵀV⁻¹ZΛ = I − A⁻¹ it is
//
//	4 Σ_{i of k, j of l} M_ij² − 4 tr_k M tr_l M/(N−1)
//
// with the levels that blanks are of their own, of which M is nearly diagonal.
// Elements outside the factor's pattern are small and left out, and μ̂'s part.
func (o *solution) information() (info [maxEffects][maxEffects]float64) {
	s := o.sys
	o.needInverse()
	o.needBlanks()
	var trace [maxEffects]float64
	add := func(i, j int32, z float64) {
		k, l := s.levels[i].effect, s.levels[j].effect
		if i == j {
			trace[k] += 1 - z
			info[k][k] += 4 * (1 - z) * (1 - z)
			return
		}
		info[k][l] += 4 * z * z
		info[l][k] += 4 * z * z
	}
	o.eachInverse(add)
	for _, w := range s.whole {
		if w.blank == 0 {
			continue
		}
		m := o.blanks[w.blank].det / w.n // of a row; over θ_k θ_l
		for k, x := range o.theta {
			if w.blank&(1<<k) == 0 {
				continue
			}
			trace[k] += w.n * x * x * m
			for l, y := range o.theta {
				if w.blank&(1<<l) != 0 {
					info[k][l] += 4 * w.n * (x * y * m) * (x * y * m)
				}
			}
		}
	}
	for k := range info {
		for l := range info {
			info[k][l] -= 4 * trace[k] * trace[l] / math.Max(s.n-1, 1)
		}
	}
	return info
}

// gradient writes θ_k ∂d/∂θ_k into g.
func (o *solution) gradient(g []float64) {
	quad := make([]float64, len(g))
	o.slopes(g, quad)
	for k := range g {
		g[k] += (o.sys.n - 1) * quad[k] / o.r2
	}
}

// remlFit is the optimum of the criterion.
type remlFit struct {
	*solution
	criterion float64
	estimable []bool    // by effect
	least     []float64 // θ that cannot be told from 0, by effect; nil: few rows
}

// fitREML minimizes the criterion over θ ≥ 0. Effects whose spread data cannot
// tell stay at 0. start is a guess, or nil.
//
// The criterion is even in θ, so zero components are ordinary minima: the
// descent runs in θ without bounds, and a component that ends near zero is set
// there and kept if the criterion does not want it back.
//
// It returns nil for fewer than two rows or no scatter at all.
func (s *system) fitREML(start []float64) *remlFit {
	fit, m, free := s.newFit()
	if fit == nil {
		return nil
	}
	theta := m.begin(start, free)
	switch {
	case s.n > manyStarts:
		theta = m.score(theta, free, 0.5) // from there on descending is as fast
	case start == nil:
		theta = m.scan(free)
	}
	theta, best, curvature := m.descend(theta, free)
	theta, best = m.zeros(theta, best, free, curvature)
	return fit.ended(m, theta, best)
}

// roughREML is fitREML from every start, but with many rows it stops where all
// θ are well within their standard errors: near enough to see which rows
// are far from the fit.
func (s *system) roughREML() *remlFit {
	if s.n <= manyStarts {
		return s.fitREML(nil)
	}
	fit, m, free := s.newFit()
	if fit == nil {
		return nil
	}
	theta := m.score(m.begin(nil, free), free, 0.04)
	return fit.ended(m, theta, m.at(theta))
}

// newFit prepares a fit; nil where there can be none.
func (s *system) newFit() (fit *remlFit, m *minimizer, free []int) {
	if s.n < 2 {
		return nil, nil, nil
	}
	k := len(s.effects)
	fit = &remlFit{estimable: make([]bool, k)}
	for i := range k {
		if fit.estimable[i] = s.estimable(i); fit.estimable[i] {
			free = append(free, i)
		}
	}
	if s.allAlike() {
		return nil, nil, nil
	}
	return fit, &minimizer{sys: s}, free
}

// ended is the fit at the θ found; nil if there is no scatter left.
func (f *remlFit) ended(m *minimizer, theta []float64, criterion float64) *remlFit {
	m.at(theta)
	f.solution, f.criterion, f.least = m.sol, criterion, m.least
	if m.sys.noScatter(f.solution) {
		return nil
	}
	return f
}

// near is the fit's θ as a place to begin where zero is none.
func (f *remlFit) near() []float64 {
	theta := slices.Clone(f.theta)
	for k, t := range f.least {
		theta[k] = math.Max(theta[k], t)
	}
	return theta
}

// posterior is that of the fit's system. It begins where the fit ended and
// takes its solution over, so that the fit is of no use after it.
func (f *remlFit) posterior(cut grid) *Posterior {
	x := newExplorer(f.sys, f.near(), f.solution)
	f.solution = nil
	return x.posterior(cut)
}

// noScatter reports whether what is left over at a solution is only rounding.
func (s *system) noScatter(o *solution) bool { return o.r2 <= s.rounding() }

// rounding is a sum of squares that says nothing.
func (s *system) rounding() float64 {
	const each = 1e-13
	return s.n * each * each
}

// allAlike reports whether all y are the same but for rounding.
func (s *system) allAlike() bool {
	ss := 0.0
	for i := range s.cells {
		c := &s.cells[i]
		ss += c.n*c.mean*c.mean + c.ss // about the centre
	}
	return ss <= s.rounding()
}

// minimizer finds the θ of least criterion.
type minimizer struct {
	sys   *system
	sol   *solution
	least []float64 // where θ cannot be told from 0; nil: not known
}

func (m *minimizer) at(theta []float64) float64 {
	if m.sol == nil || !slices.Equal(theta, m.sol.theta) {
		m.sol = m.sys.solve(theta, m.sol)
	}
	return m.sol.criterion()
}

// manyStarts rows leave the criterion one minimum.
const manyStarts = 1000

// begin is the place to start from: a guess, kept away from zero where nothing
// moves, or one of no knowledge.
func (m *minimizer) begin(guess []float64, free []int) []float64 {
	theta := make([]float64, len(m.sys.effects))
	for _, i := range free {
		theta[i] = 0.8
		if guess != nil {
			theta[i] = math.Max(guess[i], 0.05)
		}
	}
	return theta
}

// scan returns the best of all combinations of three values: with few rows
// there may be more than one minimum.
func (m *minimizer) scan(free []int) []float64 {
	theta := make([]float64, len(m.sys.effects))
	best, at := theta, math.Inf(1)
	var walk func(i int)
	walk = func(i int) {
		if i == len(free) {
			if d := m.at(theta); d < at {
				best, at = slices.Clone(theta), d
			}
			return
		}
		for _, x := range []float64{0.2, 0.8, 3} {
			theta[free[i]] = x
			walk(i + 1)
		}
	}
	walk(0)
	return best
}

// score improves a start for many rows by a few steps of Fisher's scoring for θ²,
//
//	θ² ← θ² − H⁻¹∇d,  H = information in θ²
//
// of which one is enough where the levels' rows are balanced, wherever it
// begins: there variances are linear in squares, which is why they are moved
// and not θ. A step is halved while it makes the criterion worse; a variance
// that it would make negative, or next to nothing, becomes a tenth of the
// standard deviation that H gives it.
// It stops where a step would lower the criterion by less than enough.
func (m *minimizer) score(theta []float64, free []int, enough float64) []float64 {
	const (
		steps = 8
		least = 0.1 // of a variance's standard deviation
	)
	n := len(free)
	theta = slices.Clone(theta)
	m.least = make([]float64, len(theta))
	d, next := m.at(theta), slices.Clone(theta)
	slope := make([]float64, len(theta))
	h, g, step := mat.NewSymDense(max(n, 1), nil), mat.NewVecDense(max(n, 1), nil), mat.NewVecDense(max(n, 1), nil)
	for range steps {
		info := m.sol.information()
		m.sol.gradient(slope)
		for i, k := range free {
			x := theta[k] * theta[k]
			g.SetVec(i, slope[k]/(2*x)) // by θ² instead of ln θ
			for j, l := range free[:i+1] {
				h.SetSym(i, j, info[k][l]/(4*x*theta[l]*theta[l]))
			}
		}
		var chol mat.Cholesky
		var cov mat.SymDense
		if n == 0 || !chol.Factorize(h) || chol.SolveVecTo(step, g) != nil || chol.InverseTo(&cov) != nil {
			break
		}
		for i, k := range free {
			m.least[k] = math.Sqrt(math.Sqrt(2 * cov.At(i, i)))
		}
		if mat.Dot(g, step) < enough {
			break
		}
		scale, dn := 1.0, d
		for range 10 {
			for i, k := range free {
				x := theta[k]*theta[k] - scale*step.AtVec(i)
				next[k] = math.Sqrt(math.Max(x, least*m.least[k]*m.least[k]))
			}
			if dn = m.at(next); dn < d {
				break
			}
			scale /= 2
		}
		if !(dn < d) {
			break
		}
		d = dn
		copy(theta, next)
	}
	return theta
}

// descend minimizes over the free effects from theta on; the curvature is that
// of the free θ.
func (m *minimizer) descend(theta []float64, free []int) (at []float64, d float64, curvature *mat.SymDense) {
	done := 1e-12
	if m.sys.n > manyStarts {
		done = 1e-6 // what is left after that is a millionth of θ
	}
	at = append([]float64(nil), theta...)
	all := make([]float64, len(theta))
	x := make([]float64, len(free))
	for i, k := range free {
		x[i] = theta[k]
	}
	x, d, curvature = descend(x, func(x, g []float64) float64 {
		for i, k := range free {
			at[k] = x[i]
		}
		d := m.at(at)
		if len(free) > 0 {
			m.sol.gradient(all)
		}
		for i, k := range free {
			if g[i] = 0; x[i] != 0 {
				g[i] = all[k] / x[i]
			}
		}
		return d
	}, func() *mat.SymDense { return m.curvature(free) }, done)
	for i, k := range free {
		at[k] = math.Abs(x[i])
	}
	return at, d, curvature
}

// curvature is the expected one of the criterion in the free θ. With d = f(θ²),
// ∂²d/∂θ² is the information over θ² and, where the slope is not zero, 2f'.
func (m *minimizer) curvature(free []int) *mat.SymDense {
	o := m.sol
	info := o.information()
	slope := make([]float64, len(o.theta))
	o.gradient(slope)
	h := mat.NewSymDense(len(free), nil)
	for i, k := range free {
		for j, l := range free[:i+1] {
			x := o.theta[k] * o.theta[l]
			switch {
			case i == j && x == 0:
				h.SetSym(i, i, 1)
			case i == j:
				h.SetSym(i, i, (info[k][k]+slope[k])/x)
			case x != 0:
				h.SetSym(i, j, info[k][l]/x)
			}
		}
	}
	return h
}

// zeros sets small components to zero where the criterion is no worse there.
// It does not try where the curvature says that the criterion, about a
// quadratic in θ², would be clearly worse whatever the others did.
func (m *minimizer) zeros(theta []float64, best float64, free []int, curvature *mat.SymDense) ([]float64, float64) {
	const (
		small  = 0.3
		worse  = 4 // of the criterion
		enough = 1e-10
	)
	var chol mat.Cholesky
	var cov mat.SymDense
	sure := len(free) > 0 && chol.Factorize(curvature) && chol.InverseTo(&cov) == nil
	for a, k := range free {
		if theta[k] == 0 || theta[k] > small || sure && theta[k]*theta[k] > 8*worse*cov.At(a, a) {
			continue
		}
		try := append([]float64(nil), theta...)
		try[k] = 0
		if d := m.at(try); d <= best+enough {
			theta, best = try, d
			continue
		}
		var rest []int
		for _, i := range free {
			if i != k && try[i] != 0 {
				rest = append(rest, i)
			}
		}
		if x, d, _ := m.descend(try, rest); d <= best+enough {
			theta, best = x, d
		}
	}
	return theta, best
}

// report turns the optimum into the published form. SE of a BLUP is
// √Var(û − u), which carries μ̂'s uncertainty.
func (f *remlFit) report() *REML {
	s := f.sys
	f.needInverse()
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
				z := f.theta[k] * f.theta[k] * f.z[s.sparsity.at(int32(i), int32(i))]
				lift := f.theta[k] * f.v[i]
				b.Value = f.theta[k] * f.b[i]
				b.SE = sigma * math.Sqrt(z+lift*lift/f.rx2)
			}
			r.BLUP = append(r.BLUP, b)
		}
	}
	return r
}

// fitted is the fit as residuals are taken from it.
func (f *remlFit) fitted() model.Fitted {
	s := f.sys
	out := model.Fitted{Mean: s.centre + f.mean, Sigma: math.Sqrt(f.r2 / (s.n - 1)), Theta2: map[model.Effect]float64{}}
	for k, e := range s.effects {
		out.Theta2[e] = f.theta[k] * f.theta[k]
	}
	for i, l := range s.levels {
		if l.rows > 0 {
			out.Levels = append(out.Levels, model.LevelEffect{Effect: s.effects[l.effect], Level: l.name, Value: f.theta[l.effect] * f.b[i], Rows: l.rows})
		}
	}
	return out
}
