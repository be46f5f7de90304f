package calibrate

import "math"

// The priors, in log units: build-to-build scatter of a few per cent, makers
// and batches apart by several (common practice, no source). σ is integrated
// between limits: no scale or tape in a shop reads finer than 0.2 %, and
// without the lower one equal ratios would make the integral diverge.
const (
	priorScatter = 0.03 // scale of the half-t₄ for σ
	priorSpread  = 0.06 // scale of the half-t₄ for each τ
	minSigma     = 0.002
	maxSigma     = 0.5
)

// Posterior is the distribution of σ and θ given the rows of one quantity, as
// a set of weighted nodes. With flat μ and u integrated out,
//
//	p(σ, τ) ∝ exp(−½[ln|A| + ln Rx² + (N−1) ln 2πσ² + r²/σ² − Σ n ln w])
//	          · half-t₄(σ; 0.03) · Π half-t₄(τ_k; 0.06)
//
// Gelman (2006), Bayesian Analysis 1:515, on half-t priors for spreads. The
// nodes lie on the posterior's own axes about its mode: for few rows a lattice,
// for many a design of few points (design.go). For each θ the sum over ln σ
// is a trapezoid.
//
// Priors that are borrowed take the place of these, and of the flat one of μ
// (pool.go).
//
// The large method has nodes for few spreads or none (newLargePosterior), keeps
// them solved, and answers many questions at once from draws.
type Posterior struct {
	sys   *system
	nodes []node

	// Of the large method, else nil.
	held      *solution   // the fit
	solved    []*solution // by node
	remainder *remainder  // the small system of effects with few levels; nil without
	small     []*small    // solved, by node
}

// node is one θ with its conditional distribution of σ.
type node struct {
	theta  []float64
	weight float64 // all nodes sum to 1
	sigma  []sigmaNode
}

// sigmaNode is one σ; the weights of a node sum to 1.
type sigmaNode struct {
	sigma, weight float64
	log           float64 // ln σ
	pull          float64 // towards a borrowed mean, see withMean; 0: none
	normal        int     // of the mixture that the borrowed mean's prior is
}

// grid says how finely a posterior is cut.
type grid struct {
	few  lattice // fewer than manyRows
	many design
}

// The grids in use: fine, within 1 % of a band's width of a dense one, and
// coarse, within some 2 %, for the many fits of a proof.
var (
	fineGrid = grid{
		few:  lattice{step: 1.2, drop: 7.5},
		many: design{sharp: 0.1, wide: 0.3, step: 1.35, reach: 3.5},
	}
	coarseGrid = grid{
		few:  lattice{step: 1.5, drop: 6.5},
		many: design{sharp: 0.12, wide: 0.3, step: 1.5, reach: 3.4},
	}
)

// manyRows make a posterior nearly normal on its own axes, so that few nodes
// do.
const manyRows = 100

// Limits of ln θ: beyond them a spread is nothing, or all there is.
const (
	minLogTheta = -7
	maxLogTheta = 6
)

// newPosterior finds the nodes; near is a guess of θ, or nil. It returns nil for
// a system without rows.
func newPosterior(s *system, cut grid, near []float64) *Posterior {
	if s.n == 0 {
		return nil
	}
	if s.large() {
		return newLargePosterior(s.solve(s.held(near), nil), cut.many)
	}
	return newExplorer(s, near, nil).posterior(cut)
}

// posterior puts the nodes where the explorer finds the density.
func (x *explorer) posterior(cut grid) *Posterior {
	s := x.sys
	p := &Posterior{sys: s}
	if s.n < manyRows {
		p.nodes = x.lattice(cut.few)
	} else {
		p.nodes = x.design(cut.many)
	}
	p.weigh()
	return p
}

// weigh makes the nodes' weights sum to 1, and leaves each one σ where rows
// are many.
func (p *Posterior) weigh() {
	total := 0.0
	for _, n := range p.nodes {
		total += n.weight
	}
	for i := range p.nodes {
		p.nodes[i].weight /= total
		switch {
		case p.sys.n > sharpRows && p.sys.borrowed.borrowsMean():
			p.nodes[i].sigma = oneSigmaEach(p.nodes[i].sigma)
		case p.sys.n > sharpRows:
			p.nodes[i].sigma = oneSigma(p.nodes[i].sigma)
		}
	}
}

// sharpRows are enough to take σ for known at each node: its standard deviation
// is then 4 % and less, which moves a limit by a thousandth of a band's width.
const sharpRows = 400

// oneSigma sums up a distribution of σ by its mean square, and that of the
// pull by its mean.
func oneSigma(all []sigmaNode) []sigmaNode {
	square, pull := 0.0, 0.0
	for _, s := range all {
		square += s.weight * s.sigma * s.sigma
		pull += s.weight * s.pull
	}
	return []sigmaNode{{sigma: math.Sqrt(square), weight: 1, log: math.Log(square) / 2, pull: pull}}
}

// logHalfT4 is the log density of a half-t with 4 degrees of freedom, without
// its constant.
func logHalfT4(x, scale float64) float64 {
	z := x / scale
	return -2.5 * math.Log1p(z*z/4)
}

// logDensity is ln p(σ, θ) in the coordinates (ln σ, ln θ_1, …), up to a
// constant.
func (o *solution) logDensity(sigma float64) float64 {
	df := o.sys.n - 1
	logSigma := math.Log(sigma)
	l := -0.5 * (o.logDet + math.Log(o.rx2) + df*(math.Log(2*math.Pi)+2*logSigma) + o.r2/(sigma*sigma) - o.logW)
	if prior := o.sys.borrowed.ofScatter(); prior != nil {
		l += prior.log(logSigma)
	} else {
		l = l + logHalfT4(sigma, priorScatter) + logSigma
	}
	for k, t := range o.theta {
		if t == 0 { // the large method holds some there
			continue
		}
		if prior := o.sys.borrowed.ofSpread(k); prior != nil {
			l += prior.log(logSigma + math.Log(t))
		} else {
			l += logHalfT4(t*sigma, priorSpread) + logSigma + math.Log(t)
		}
	}
	return l
}

// sigmaNodes returns the conditional distribution of σ at the solution's θ
// and the log of its integral over ln σ.
func (o *solution) sigmaNodes(into []sigmaNode) ([]sigmaNode, float64) {
	lo, hi := math.Log(minSigma), math.Log(maxSigma)
	// One lattice of ln σ for all θ, as fine as the rows make the peak narrow.
	sd := 1 / math.Sqrt(2*(o.sys.n+1))
	steps := math.Max(24, math.Ceil((hi-lo)/(1.4*sd)))
	h := (hi - lo) / steps
	peak := math.Log(math.Sqrt(o.r2/math.Max(o.sys.n-1, 1) + 1e-12))
	reach := 6*sd + 2*h
	if o.sys.n < 30 {
		reach = hi - lo // the priors may pull the peak far
	}
	from := math.Max(0, math.Floor((math.Min(peak, hi)-reach-lo)/h))
	to := math.Min(steps, math.Ceil((math.Max(peak, lo)+reach-lo)/h))
	nodes := into[:0]
	for i := from; i <= to; i++ {
		log := lo + i*h
		sigma := math.Exp(log)
		l := o.logDensity(sigma)
		if i == 0 || i == steps {
			l -= math.Ln2
		}
		nodes = o.withMean(nodes, sigmaNode{sigma: sigma, weight: l, log: log})
	}
	top := math.Inf(-1)
	for _, n := range nodes {
		top = math.Max(top, n.weight)
	}
	const faint = 1e-4 // of the peak
	kept, sum := nodes[:0], 0.0
	for _, n := range nodes {
		w := math.Exp(n.weight - top)
		sum += w
		if w >= faint {
			n.weight = w
			kept = append(kept, n)
		}
	}
	total := 0.0
	for _, n := range kept {
		total += n.weight
	}
	for i := range kept {
		kept[i].weight /= total
	}
	return kept, top + math.Log(sum*h)
}
