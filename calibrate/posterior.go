package calibrate

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

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
// nodes form a lattice in ln θ, turned and scaled to the posterior's own axes
// and grown from its mode until what is outside no longer counts; for each θ
// the sum over ln σ is a trapezoid.
type Posterior struct {
	sys   *system
	nodes []node
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
}

// lattice says how finely a posterior is cut.
type lattice struct {
	step float64 // between nodes, in the posterior's own standard deviations
	drop float64 // nodes whose log density is this far below the mode's are left out
}

// The lattices in use, the first two within 1 % of a band's width of a dense
// grid: fine for small logs, medium where a hundred rows have made the
// posterior nearly normal on its own axes, and coarse, within some 2 %, for
// the many fits of a proof.
var (
	fineLattice   = lattice{step: 1.2, drop: 7.5}
	mediumLattice = lattice{step: 1.35, drop: 7.5}
	coarseLattice = lattice{step: 1.5, drop: 6.5}
)

// latticeFor is the lattice of a fit to n rows.
func latticeFor(n float64) lattice {
	if n >= 100 {
		return mediumLattice
	}
	return fineLattice
}

// Limits of ln θ: beyond them a spread is nothing, or all there is.
const (
	minLogTheta = -7
	maxLogTheta = 6
)

// newPosterior finds the nodes. It returns nil for a system without rows.
func newPosterior(s *system, cut lattice) *Posterior {
	if s.n == 0 {
		return nil
	}
	x := &explorer{sys: s, seen: map[[maxEffects]int]bool{}}
	x.explore(cut)
	total := 0.0
	for _, n := range x.nodes {
		total += n.weight
	}
	for i := range x.nodes {
		x.nodes[i].weight /= total
	}
	return &Posterior{s, x.nodes}
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
	l := -0.5*(o.logDet+math.Log(o.rx2)+df*(math.Log(2*math.Pi)+2*logSigma)+o.r2/(sigma*sigma)-o.logW) +
		logHalfT4(sigma, priorScatter) + logSigma
	for _, t := range o.theta {
		l += logHalfT4(t*sigma, priorSpread) + logSigma + math.Log(t)
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
	top := math.Inf(-1)
	for i := from; i <= to; i++ {
		log := lo + i*h
		sigma := math.Exp(log)
		l := o.logDensity(sigma)
		if i == 0 || i == steps {
			l -= math.Ln2
		}
		top = math.Max(top, l)
		nodes = append(nodes, sigmaNode{sigma, l, log})
	}
	const faint = 1e-4 // of the peak
	kept, sum := nodes[:0], 0.0
	for _, n := range nodes {
		w := math.Exp(n.weight - top)
		sum += w
		if w >= faint {
			kept = append(kept, sigmaNode{n.sigma, w, n.log})
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

// explorer grows the lattice of θ.
type explorer struct {
	sys   *system
	sol   *solution
	sigma []sigmaNode
	seen  map[[maxEffects]int]bool
	nodes []node
}

// at is the log posterior of ln θ with σ summed out; −Inf outside the limits.
func (x *explorer) at(phi []float64) float64 {
	theta := make([]float64, len(phi))
	for k, p := range phi {
		if p < minLogTheta || p > maxLogTheta {
			return math.Inf(-1)
		}
		theta[k] = math.Exp(p)
	}
	x.sol = x.sys.solve(theta, x.sol)
	var l float64
	x.sigma, l = x.sol.sigmaNodes(x.sigma)
	return l
}

func (x *explorer) explore(cut lattice) {
	k := len(x.sys.effects)
	mode, top := x.mode(k)
	axes := x.axes(mode, top, cut.step)
	// Flood fill from the mode along the axes.
	queue := [][maxEffects]int{{}}
	x.seen[queue[0]] = true
	phi := make([]float64, k)
	const most = 20000 // a guard against a posterior flat in every direction
	for len(queue) > 0 && len(x.nodes) < most {
		z := queue[0]
		queue = queue[1:]
		for i := range phi {
			phi[i] = mode[i]
			for a := range k {
				phi[i] += axes[a][i] * float64(z[a])
			}
		}
		l := x.at(phi)
		if !(l > top-cut.drop) {
			continue
		}
		x.nodes = append(x.nodes, node{
			theta:  append([]float64(nil), x.sol.theta...),
			weight: math.Exp(l - top),
			sigma:  append([]sigmaNode(nil), x.sigma...),
		})
		for a := range k {
			for _, d := range [2]int{-1, 1} {
				next := z
				next[a] += d
				if !x.seen[next] {
					x.seen[next] = true
					queue = append(queue, next)
				}
			}
		}
	}
}

// mode climbs to the posterior's mode in ln θ by damped Newton steps on
// finite differences; it need not be exact, the lattice only starts there.
func (x *explorer) mode(k int) (phi []float64, top float64) {
	phi = make([]float64, k)
	top = x.at(phi)
	if k == 0 {
		return phi, top
	}
	for range 30 {
		g, h := x.derivatives(phi, top)
		step := newtonStep(h, g)
		size := 0.0
		for _, s := range step {
			size = math.Max(size, math.Abs(s))
		}
		scale := math.Min(1, 2/size)
		moved := false
		for range 12 {
			next := make([]float64, k)
			for i := range next {
				next[i] = math.Min(math.Max(phi[i]+scale*step[i], minLogTheta+1), maxLogTheta-1)
			}
			if l := x.at(next); l > top {
				moved = l > top+1e-4
				phi, top = next, l
				break
			}
			scale /= 2
		}
		if !moved {
			break
		}
	}
	return phi, top
}

// derivatives returns gradient and Hessian of −ln p at phi.
func (x *explorer) derivatives(phi []float64, at float64) ([]float64, *mat.SymDense) {
	const h = 0.05
	k := len(phi)
	g := make([]float64, k)
	hess := mat.NewSymDense(k, nil)
	p := append([]float64(nil), phi...)
	eval := func(i int, di float64, j int, dj float64) float64 {
		p[i] += di
		p[j] += dj
		l := x.at(p)
		p[i], p[j] = phi[i], phi[j]
		return l
	}
	for i := range k {
		up, down := eval(i, h, i, 0), eval(i, -h, i, 0)
		g[i] = -(up - down) / (2 * h)
		hess.SetSym(i, i, -(up-2*at+down)/(h*h))
		for j := range i {
			c := eval(i, h, j, h) - eval(i, h, j, -h) - eval(i, -h, j, h) + eval(i, -h, j, -h)
			hess.SetSym(i, j, -c/(4*h*h))
		}
	}
	return g, hess
}

// axes returns the lattice's steps: the principal axes of the curvature at the
// mode, each as long as step standard deviations. The length is taken from
// where the density has really fallen by 2 (two standard deviations of a
// normal), so that a skewed posterior gets a lattice of its own size.
func (x *explorer) axes(mode []float64, top, step float64) [][]float64 {
	k := len(mode)
	if k == 0 {
		return nil
	}
	_, h := x.derivatives(mode, top)
	var eig mat.EigenSym
	vectors := mat.NewDense(k, k, nil)
	if eig.Factorize(h, true) {
		eig.VectorsTo(vectors)
	} else {
		for i := range k {
			vectors.Set(i, i, 1)
		}
	}
	axes := make([][]float64, k)
	phi := make([]float64, k)
	for a := range k {
		fallen := func(z float64) bool {
			for i := range phi {
				phi[i] = mode[i] + z*vectors.At(i, a)
			}
			return !(x.at(phi) > top-2)
		}
		width := (reach(fallen, 1) + reach(fallen, -1)) / 2
		axes[a] = make([]float64, k)
		for i := range k {
			axes[a][i] = vectors.At(i, a) * width / 2 * step
		}
	}
	return axes
}

// reach finds by doubling and halving how far out, in the given direction,
// fallen turns true.
func reach(fallen func(float64) bool, sign float64) float64 {
	lo, hi := 0.0, 0.25
	for hi < 16 && !fallen(sign*hi) {
		lo, hi = hi, 2*hi
	}
	for range 5 {
		mid := (lo + hi) / 2
		if fallen(sign * mid) {
			hi = mid
		} else {
			lo = mid
		}
	}
	return (lo + hi) / 2
}
