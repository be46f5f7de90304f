package calibrate

import (
	"math"
	"runtime"
	"sync"
)

// Mixture is a weighted sum of normal distributions in log units: what is
// known of a factor, or of the next build's ratio.
type Mixture struct {
	part []normal // weights sum to 1
	mean float64
	sd   float64
}

// normal is one component. sigma is the part of its sd that is the next
// build's own scatter.
type normal struct {
	mean, sd, weight, sigma float64
}

// target is what a mixture is wanted for: a contrast, and whether the next
// build's own scatter σ is in it.
type target struct {
	contrast
	next bool
}

// mixtures returns the distribution of every target.
func (p *Posterior) mixtures(targets []target) []*Mixture {
	out := make([]*Mixture, len(targets))
	p.eachMixture(targets, func(t int, m *Mixture) { out[t] = m })
	return out
}

// eachMixture calls use with the distribution of every target, from several
// goroutines. Each node is solved once for all targets.
func (p *Posterior) eachMixture(targets []target, use func(t int, m *Mixture)) {
	if p.solved != nil {
		p.eachFromDraws(targets, use)
		return
	}
	probes := p.sys.probes(targets)
	n := len(p.nodes)
	all := make([]estimate, len(targets)*n) // by target, then node
	p.eachSolution(func(i int, sol *solution) {
		for t := range targets {
			mean, h := sol.probed(&probes[t])
			if targets[t].next {
				h++
			}
			e := estimate{mean: mean + targets[t].fixed*p.sys.centre, h: h}
			all[t*n+i] = sol.pulled(e, &targets[t].contrast)
		}
	})
	workers := min(runtime.GOMAXPROCS(0), len(targets))
	inParallel(workers, func(w int) {
		for t := w; t < len(targets); t += workers {
			use(t, p.mixture(all[t*n:t*n+n]))
		}
	})
}

// eachSolution solves every node and calls use with its number and solution,
// from several goroutines.
func (p *Posterior) eachSolution(use func(i int, sol *solution)) {
	if p.solved != nil {
		p.eachSolved(use)
		return
	}
	workers := min(runtime.GOMAXPROCS(0), 1+len(p.nodes)/16)
	inParallel(workers, func(w int) {
		var sol *solution
		for i := w; i < len(p.nodes); i += workers {
			sol = p.sys.solve(p.nodes[i].theta, sol)
			use(i, sol)
		}
	})
}

func inParallel(workers int, do func(worker int)) {
	var wg sync.WaitGroup
	for w := range workers {
		wg.Go(func() { do(w) })
	}
	wg.Wait()
}

// mixture puts one target's estimates together.
func (p *Posterior) mixture(at []estimate) *Mixture {
	var m merger
	for i, e := range at {
		n := &p.nodes[i]
		for _, s := range n.sigma {
			m.note(e.mean+s.pull*e.shift, (e.h-s.pull*e.less)*s.sigma*s.sigma, n.weight*s.weight)
		}
	}
	m.begin()
	for i, e := range at {
		n := &p.nodes[i]
		pull, root, logRoot := math.NaN(), 0.0, 0.0
		for _, s := range n.sigma {
			if s.pull != pull { // once a node, where no mean is borrowed
				pull = s.pull
				h := e.h - pull*e.less
				root = math.Sqrt(h)
				if m.spreads > 1 {
					logRoot = math.Log(h) / 2
				}
			}
			m.add(normal{e.mean + pull*e.shift, s.sigma * root, n.weight * s.weight, s.sigma}, s.log+logRoot)
		}
	}
	return m.mixture()
}

// newMixture sums up components by few.
func newMixture(all []normal) *Mixture {
	var m merger
	for _, c := range all {
		m.note(c.mean, c.sd*c.sd, c.weight)
	}
	m.begin()
	for _, c := range all {
		m.add(c, math.Log(c.sd))
	}
	return m.mixture()
}

// merger sums up many components by few: those of nearly the same mean and
// spread become one with the same first two moments, which moves a quantile by
// far less than the choice of nodes does. Components are noted once, so that
// the grid of means and spreads can be laid over what they span, then added.
type merger struct {
	count               int
	total, mean, square float64
	left, right         float64 // means
	lowest, highest     float64 // variances
	logLow              float64
	sd, perMean, perLog float64 // bins per unit
	means, spreads      int
	bins                [mergeMeans * mergeSpreads]bin
	single              []normal // too few to merge
}

// The grid: a bin is a fifth of the mixture's standard deviation, and a tenth
// of a standard deviation on a log scale, or more where that would make too
// many of them.
const (
	mergeMeans   = 40
	mergeSpreads = 12
	mergeFew     = 3 // components are left as they are, if they differ at all
	binMean      = 0.2
	binSpread    = 0.1
)

type bin struct {
	weight, mean, square, sigma float64 // sums; mean and square about the mixture's mean
}

func (m *merger) note(mean, variance, weight float64) {
	if weight == 0 {
		return
	}
	if m.count == 0 {
		m.left, m.right = mean, mean
		m.lowest, m.highest = variance, variance
	}
	m.count++
	m.total += weight
	d := mean - m.mean
	m.mean += d * weight / m.total
	m.square += weight * (variance + d*(mean-m.mean))
	m.left, m.right = min(m.left, mean), max(m.right, mean)
	m.lowest, m.highest = min(m.lowest, variance), max(m.highest, variance)
}

func (m *merger) begin() {
	m.sd = math.Sqrt(m.square / m.total)
	m.means, m.perMean = binsOver(m.right-m.left, binMean*m.sd, mergeMeans)
	if m.highest < m.lowest*(1+2*binSpread) { // in one bin, and no logarithm needed
		m.spreads = 1
		return
	}
	m.logLow = math.Log(m.lowest) / 2
	m.spreads, m.perLog = binsOver(math.Log(m.highest)/2-m.logLow, binSpread, mergeSpreads)
}

// binsOver is the number of bins over a span, and bins per unit.
func binsOver(span, width float64, most int) (n int, per float64) {
	n = min(1+int(span/width), most)
	if n == 1 {
		return n, 0
	}
	return n, float64(n) / span
}

func (m *merger) add(c normal, logSD float64) {
	if c.weight == 0 {
		return
	}
	if m.count <= mergeFew && m.means*m.spreads > 1 {
		c.weight /= m.total
		m.single = append(m.single, c)
		return
	}
	i := min(int((c.mean-m.left)*m.perMean), m.means-1)
	j := 0
	if m.spreads > 1 {
		j = max(0, min(int((logSD-m.logLow)*m.perLog), m.spreads-1))
	}
	d := c.mean - m.mean
	b := &m.bins[i*m.spreads+j]
	b.weight += c.weight
	b.mean += c.weight * d
	b.square += c.weight * (c.sd*c.sd + d*d)
	b.sigma += c.weight * c.sigma
}

func (m *merger) mixture() *Mixture {
	out := &Mixture{part: m.single, mean: m.mean, sd: m.sd}
	for i := range m.bins[:m.means*m.spreads] {
		if b := &m.bins[i]; b.weight > 0 {
			d := b.mean / b.weight
			out.part = append(out.part, normal{m.mean + d, math.Sqrt(b.square/b.weight - d*d), b.weight / m.total, b.sigma / b.weight})
		}
	}
	return out
}

// CDF is the probability of a value up to x.
func (m *Mixture) CDF(x float64) float64 {
	p, _ := m.at(x)
	return p
}

// at is the probability of a value up to x, and the density there.
func (m *Mixture) at(x float64) (p, density float64) {
	for i := range m.part {
		c := &m.part[i]
		z := (x - c.mean) / c.sd
		p += c.weight * 0.5 * math.Erfc(-z/math.Sqrt2)
		density += c.weight / c.sd * math.Exp(-z*z/2)
	}
	return p, density / math.Sqrt(2*math.Pi)
}

// Quantile is the x with CDF(x) = p, 0 < p < 1, by Newton steps kept inside a
// bracket. It starts from Chebyshev's: no distribution has a tail of p beyond
// sd/√p.
func (m *Mixture) Quantile(p float64) float64 {
	x := m.mean + m.sd*math.Sqrt2*math.Erfinv(2*p-1)
	if len(m.part) == 1 {
		return x
	}
	reach := m.sd / math.Sqrt(math.Min(p, 1-p))
	lo, hi := m.mean-reach, m.mean+reach
	for range 100 {
		f, density := m.at(x)
		if f -= p; f > 0 {
			hi = x
		} else {
			lo = x
		}
		next := x - f/density
		if !(next >= lo && next <= hi) { // also where there is no density
			next = (lo + hi) / 2
		}
		if math.Abs(next-x) < 1e-7*m.sd {
			return next
		}
		x = next
	}
	return x
}

// Interval is the factor's median with equal-tailed limits of the given
// coverage: exp of the quantiles.
func (m *Mixture) Interval(coverage float64) Interval {
	tail := (1 - coverage) / 2
	return Interval{
		Median: math.Exp(m.Quantile(0.5)),
		Low:    math.Exp(m.Quantile(tail)),
		High:   math.Exp(m.Quantile(1 - tail)),
	}
}
