package calibrate

import (
	"errors"
	"fmt"
	"math"

	"trueplait/model"
)

// ErrFewWorkshops is what a [PoolError] unwraps to.
var ErrFewWorkshops = errors.New("too few workshops share their figures")

// PoolError says that a pool is too small to borrow from.
type PoolError struct {
	Workshops int // that share, the borrower not among them
}

func (e *PoolError) Error() string {
	n := fmt.Sprintf("%d other workshops share their figures", e.Workshops)
	switch e.Workshops {
	case 0:
		n = "no other workshop shares its figures"
	case 1:
		n = "1 other workshop shares its figures"
	}
	return fmt.Sprintf("%s in this log, and at least %d must, so that nobody's figures show through: calibrate on your own rows for now, and borrow when more have calibrated", n, model.LeastPool)
}

// Unwrap is ErrFewWorkshops.
func (e *PoolError) Unwrap() error { return ErrFewWorkshops }

// The least that one more workshop may be expected to differ from the others:
// however alike a few of them happen to be, they do not pin it. (Common
// practice, no source.)
const (
	leastMeanSD   = 0.01 // of μ: 1 %
	leastSpreadSD = 0.3  // of ln σ and ln τ: three tenths of a spread
)

// borrowed are the priors that a pool puts in the place of the usual ones. Where
// fewer than model.LeastPool workshops know a parameter it is nil and the usual
// prior stays; so it does for all of a nil *borrowed.
//
// Each is the predictive distribution of one more workshop: Student's t with
// k − 1 degrees of freedom about the mean of k, with a squared scale of
//
//	max(s², se²)(1 + 1/k)   for μ
//	(s² + se²)(1 + 1/k)     for ln σ and ln τ
//
// Gelman et al. (2013), Bayesian Data Analysis, 3rd ed., section 3.2. s² is the
// sample variance and se² the mean squared standard error of what the workshops
// shared. Both are rather too wide than too narrow:
//
//   - μ had a flat prior, so its s² has the workshops' own errors in it. They are
//     not taken off: of five workshops, what is left could be next to nothing by
//     chance. Where even s² is below se², chance made them agree.
//   - ln σ and ln τ were drawn to the usual prior, so that their s² lacks what was
//     not learnt: var x = var E(x|rows) + E var(x|rows). Of workshops that knew
//     little, what comes out is about as wide as the usual prior.
type borrowed struct {
	mean    *student
	scatter *student
	spread  [maxEffects]*student // by effect of the system
	meanAs  []widened            // the mean's t as a mixture of normals
}

// borrow takes from a pool the priors of a quantity that it has, and notes in
// used what those were. Without rows there is nothing to put them to.
func (s *system) borrow(pool *model.Pool, q model.Quantity, used *model.Pool) {
	if s.n == 0 {
		return
	}
	b := &borrowed{}
	take := func(into **student, of model.Parameter, squared func(s2, se2 float64) float64, least float64) {
		p, ok := pool.Get(q, of)
		if !ok || p.Workshops < model.LeastPool {
			return
		}
		k := float64(p.Workshops)
		scale2 := squared(p.Variance, p.SquaredSE) * (1 + 1/k)
		*into = &student{mean: p.Mean, scale2: math.Max(scale2, least*least), df: k - 1}
		used.Parameters = append(used.Parameters, p)
	}
	larger := func(s2, se2 float64) float64 { return math.Max(s2, se2) }
	sum := func(s2, se2 float64) float64 { return s2 + se2 }
	take(&b.mean, model.MeanParameter, larger, leastMeanSD)
	take(&b.scatter, model.ScatterParameter, sum, leastSpreadSD)
	for k, e := range s.effects {
		take(&b.spread[k], model.SpreadParameter(e), sum, leastSpreadSD)
	}
	if b.mean != nil {
		b.meanAs = b.mean.normals()
	}
	s.borrowed = b
}

// ofScatter is the borrowed prior of ln σ, nil for the usual one.
func (b *borrowed) ofScatter() *student {
	if b == nil {
		return nil
	}
	return b.scatter
}

// ofSpread is the borrowed prior of ln τ of effect k, nil for the usual one.
func (b *borrowed) ofSpread(k int) *student {
	if b == nil {
		return nil
	}
	return b.spread[k]
}

// borrowsMean reports whether the prior of μ is a borrowed one, and not flat.
func (b *borrowed) borrowsMean() bool { return b != nil && b.mean != nil }

// withMean adds a node of σ to nodes, with its log density as weight. Where the
// mean's prior is borrowed it adds one for each normal of that: with flat μ
// integrated out, a prior N(m, v) multiplies the density by
//
//	N(μ̂ − m; 0, v + σ²/Rx²)
//
// and what is known of μ is then nearer to m by pull = (σ²/Rx²)/(v + σ²/Rx²) of
// the way, and by as much surer.
func (o *solution) withMean(nodes []sigmaNode, n sigmaNode) []sigmaNode {
	b := o.sys.borrowed
	if !b.borrowsMean() {
		return append(nodes, n)
	}
	d := o.aside()
	own := n.sigma * n.sigma / o.rx2
	for i, w := range b.meanAs {
		both := w.variance + own
		nodes = append(nodes, sigmaNode{
			sigma: n.sigma, log: n.log, pull: own / both, normal: i,
			weight: n.weight + w.log - (math.Log(both)+d*d/both)/2,
		})
	}
	return nodes
}

// oneSigmaEach is oneSigma for each normal of a borrowed mean's prior: those pull
// by so much more or less that a tail would be missing.
func oneSigmaEach(all []sigmaNode) []sigmaNode {
	var out []sigmaNode
	for normal := range studentNormals {
		var group []sigmaNode
		share := 0.0
		for _, s := range all {
			if s.normal == normal {
				group = append(group, s)
				share += s.weight
			}
		}
		if share == 0 {
			continue
		}
		for i := range group {
			group[i].weight /= share
		}
		one := oneSigma(group)[0]
		one.weight, one.normal = share, normal
		out = append(out, one)
	}
	return out
}

// aside is how far μ̂ lies from the mean of its borrowed prior.
func (o *solution) aside() float64 { return o.mean + o.sys.centre - o.sys.borrowed.mean.mean }

// pulled notes in the estimate of a contrast what a borrowed mean does to it:
// with lift its slope on μ, a pull of p moves it by −p · lift · (μ̂ − m) and takes
// p · lift²/Rx² off h.
func (o *solution) pulled(e estimate, c *contrast) estimate {
	if !o.sys.borrowed.borrowsMean() {
		return e
	}
	lift := c.fixed
	for a, l := range c.levels {
		lift -= c.weight(a) * o.theta[o.sys.levels[l].effect] * o.v[l]
	}
	e.shift, e.less = -lift*o.aside(), lift*lift/o.rx2
	return e
}

// meanSlopes adds to g the derivatives by ln θ of −ln N(μ̂ − m; 0, v + σ²/Rx²),
// their mean over the nodes of σ. With V_k as in slopes,
//
//	∂Rx²/∂ln θ_k = −2θ_k² 1ᵀV⁻¹V_kV⁻¹1,  ∂μ̂/∂ln θ_k = −2θ_k² 1ᵀV⁻¹V_kV⁻¹(y − μ̂)/Rx²
//
// to which the levels contribute v_j² and v_j b_j, and rows with a blank label
// the like of their own.
func (o *solution) meanSlopes(g []float64, sigma []sigmaNode) {
	s := o.sys
	if !s.borrowed.borrowsMean() {
		return
	}
	var rx2, mean [maxEffects]float64 // −½ ∂Rx², −½ Rx² ∂μ̂
	for j, l := range s.levels {
		rx2[l.effect] += o.v[j] * o.v[j]
		mean[l.effect] += o.v[j] * o.b[j]
	}
	for _, i := range s.blank {
		c := &s.cells[i]
		lift := 1.0
		for k, l := range c.at {
			if l >= 0 {
				lift -= o.theta[k] * o.v[l]
			}
		}
		w := o.weight[c.blank]
		for k, t := range o.theta {
			if c.blank&(1<<k) != 0 {
				rx2[k] += c.n * t * t * w * w * lift * lift
				mean[k] += c.n * t * t * w * w * lift * (c.mean - o.mean - o.at(c))
			}
		}
	}
	d := o.aside()
	for k := range g {
		toRx2, toMean := -2*rx2[k]/o.rx2, -2*mean[k]/o.rx2 // the former of ln Rx²
		for _, n := range sigma {
			surer := n.pull * o.rx2 / (n.sigma * n.sigma) // 1/(v + σ²/Rx²)
			g[k] += n.weight * (d*surer*toMean + n.pull*toRx2*(d*d*surer-1)/2)
		}
	}
}
