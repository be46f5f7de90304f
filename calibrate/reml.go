package calibrate

import (
	"math"
	"slices"

	"trueplait/model"
)

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
