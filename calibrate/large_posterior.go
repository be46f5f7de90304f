package calibrate

import (
	"runtime"
)

// fewLevels is the number of levels below which a spread is known too poorly
// to be held: 1/√(2·50) = 0.1 in ln θ, where a design puts nodes on an axis.
const fewLevels = 50

// newLargePosterior is the posterior of the large method. The spreads of
// effects with many levels are held at those of sol; one that REML does not
// tell from scatter is counted as scatter. The others', on which limits for a
// level never seen depend, are summed over: the remainder has their posterior.
func newLargePosterior(sol *solution, d design) *Posterior {
	s := sol.sys
	p := &Posterior{sys: s, held: sol}
	var few []int
	for k := range s.effects {
		if sol.fewLevelled(k) {
			few = append(few, k)
		}
	}
	if len(few) == 0 {
		sigma, _ := sol.sigmaNodes(nil)
		p.nodes, p.solved = []node{{theta: sol.theta, weight: 1, sigma: sigma}}, []*solution{sol}
	} else {
		p.remainder = newRemainder(sol, few)
		var weights []float64
		var sigma [][]sigmaNode
		p.small, weights, sigma = p.remainder.explore(d)
		for i, o := range p.small {
			p.nodes = append(p.nodes, node{theta: o.at, weight: weights[i], sigma: sigma[i]})
			p.solved = append(p.solved, o.whole())
		}
	}
	p.weigh()
	return p
}

// fewLevelled reports whether effect k has few levels. Rows whose label is blank
// have levels of their own; next to their scatter, those tell less of the spread
// than a level of many rows does.
func (o *solution) fewLevelled(k int) bool {
	s := o.sys
	share := 1 - 1/(1+o.theta[k]*o.theta[k])
	levels := 0.0
	for _, l := range s.levels {
		if l.effect == k && l.rows > 0 {
			levels++
		}
	}
	for _, all := range s.whole {
		if all.blank&(1<<k) != 0 {
			levels += all.n * share * share
		}
	}
	return levels < fewLevels
}

// held is the θ at which the large method holds spreads: those of a fit, or
// where there is none, and nothing to learn them from, the scales of the priors.
func (s *system) held(near []float64) []float64 {
	if near != nil {
		return near
	}
	theta := make([]float64, len(s.effects))
	for k := range theta {
		theta[k] = priorSpread / priorScatter
	}
	return theta
}

// posterior is the fit's, with limits as fine as they are shown.
func (s *screened) posterior() *Posterior {
	switch {
	case s.fit == nil:
		return newPosterior(s.sys, fineGrid, nil)
	case s.sys.large():
		return newLargePosterior(s.fit.solution, fineGrid.many) // solved already
	}
	return s.fit.posterior(fineGrid)
}

// manyTargets make draws worth their price; fewer take a solve each, which is
// exact.
const manyTargets = 8

// eachFromDraws is eachMixture of the large method.
func (p *Posterior) eachFromDraws(targets []target, use func(t int, m *Mixture)) {
	var d *draws
	if len(targets) > manyTargets {
		d = p.draw()
	}
	workers := min(runtime.GOMAXPROCS(0), len(targets))
	inParallel(workers, func(w int) {
		near := p.newVicinity(d)
		at := make([]estimate, len(p.nodes))
		var own []*solution
		if d == nil {
			p.eachSolved(func(_ int, o *solution) { own = append(own, o) })
		}
		for t := w; t < len(targets); t += workers {
			x := &targets[t]
			if d != nil {
				near.look(&x.contrast)
			}
			for i := range at {
				var mean, h float64
				if d != nil {
					mean, h = near.estimate(i)
				} else {
					mean, h = own[i].estimate(x.contrast)
				}
				if x.next {
					h++
				}
				at[i] = p.solved[i].pulled(estimate{mean: mean + x.fixed*p.sys.centre, h: h}, &x.contrast)
			}
			use(t, p.mixture(at))
		}
	})
}

// eachSolved is eachSolution of the large method.
func (p *Posterior) eachSolved(use func(i int, sol *solution)) {
	for i, o := range p.solved {
		c := *o // with scratch of its own
		c.g, c.t = make([]float64, len(o.b)), make([]float64, len(o.b))
		c.equations = newEquations(p.sys, p.held.equations.mesh, o.theta, p.held.equations.weight)
		use(i, &c)
	}
}

// draw makes the draws of the levels whose spreads the posterior holds, unless
// the fit has made them for its own variances.
func (p *Posterior) draw() *draws {
	d := p.held.drawn
	p.held.drawn = nil // they are large, and asked for once
	switch {
	case p.remainder != nil:
		return newDraws(&p.remainder.equations)
	case d == nil:
		return newDraws(p.held.equations)
	}
	return d
}

// vicinity is what the levels of one contrast have to do with each other and,
// through all others, with the few; at every node.
type vicinity struct {
	*Posterior
	of    *contrast
	local local
	draws *draws
	few   []float64 // how the effects of few levels enter
	y     []float64 // scratch
}

func (p *Posterior) newVicinity(d *draws) *vicinity {
	v := &vicinity{Posterior: p, draws: d}
	if p.remainder != nil {
		v.few, v.y = make([]float64, len(p.remainder.levels)), make([]float64, len(p.remainder.levels))
	}
	return v
}

// look turns to a contrast.
func (v *vicinity) look(c *contrast) {
	v.of = c
	v.draws.look(c, &v.local)
	if v.remainder != nil {
		v.remainder.share(c, v.few)
	}
}

// estimate is the contrast's at node i.
func (v *vicinity) estimate(i int) (mean, h float64) {
	o, c := v.solved[i], v.of
	mean, lift := c.fixed*o.mean, c.fixed
	for a, l := range c.levels {
		t := c.weight(a) * o.theta[v.sys.levels[l].effect]
		mean += t * o.b[l]
		lift -= t * o.v[l]
	}
	h = v.local.h + o.around(c.unseen, lift)
	if v.remainder != nil {
		h += v.small[i].variance(v.few, v.y)
	}
	return mean, h
}
