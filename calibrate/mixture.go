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
	at := make([][]estimate, len(targets)) // by target, then node
	for t := range targets {
		at[t] = make([]estimate, len(p.nodes))
	}
	p.eachSolution(func(i int, sol *solution) {
		for t := range targets {
			mean, h := sol.estimate(targets[t].contrast)
			if targets[t].next {
				h++
			}
			at[t][i] = estimate{mean + targets[t].fixed*p.sys.centre, h}
		}
	})
	workers := min(runtime.GOMAXPROCS(0), len(targets))
	inParallel(workers, func(w int) {
		for t := w; t < len(targets); t += workers {
			use(t, p.mixture(at[t]))
		}
	})
}

// eachSolution solves every node and calls use with its number and solution,
// from several goroutines.
func (p *Posterior) eachSolution(use func(i int, sol *solution)) {
	workers := min(runtime.GOMAXPROCS(0), 1+len(p.nodes)/16)
	inParallel(workers, func(w int) {
		var sol *solution
		for i := w; i < len(p.nodes); i += workers {
			sol = p.sys.solve(p.nodes[i].theta, sol)
			use(i, sol)
		}
	})
}

// estimate is a target at one node: its mean, and its variance over σ².
type estimate struct {
	mean, h float64
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
			m.note(e.mean, e.h*s.sigma*s.sigma, n.weight*s.weight)
		}
	}
	m.begin()
	for i, e := range at {
		n := &p.nodes[i]
		root, logRoot := math.Sqrt(e.h), math.Log(e.h)/2
		for _, s := range n.sigma {
			m.add(normal{e.mean, s.sigma * root, n.weight * s.weight, s.sigma}, s.log+logRoot)
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
// far less than the lattice does. Components are noted once, so that the grid
// of means and spreads can be laid, then added.
type merger struct {
	count                int
	total, mean, square  float64
	lowest, highest      float64 // variance
	sd, logLow, logWidth float64
	bins                 [mergeMeans * mergeSpreads]bin
	single               []normal // too few to merge
}

// The grid: means over ±4 standard deviations, spreads between the least and
// the greatest on a log scale.
const (
	mergeMeans   = 40
	mergeSpreads = 12
)

type bin struct {
	weight, mean, square, sigma float64 // sums; mean and square about the mixture's mean
}

func (m *merger) note(mean, variance, weight float64) {
	if m.count == 0 {
		m.lowest, m.highest = variance, variance
	}
	m.count++
	m.total += weight
	d := mean - m.mean
	m.mean += d * weight / m.total
	m.square += weight * (variance + d*(mean-m.mean))
	m.lowest, m.highest = math.Min(m.lowest, variance), math.Max(m.highest, variance)
}

func (m *merger) begin() {
	m.sd = math.Sqrt(m.square / m.total)
	m.logLow = math.Log(m.lowest) / 2
	m.logWidth = math.Log(m.highest)/2 - m.logLow + 1e-9
}

func (m *merger) add(c normal, logSD float64) {
	if m.count <= mergeMeans {
		c.weight /= m.total
		m.single = append(m.single, c)
		return
	}
	d := c.mean - m.mean
	i := int(d/m.sd*mergeMeans/8 + mergeMeans/2)
	j := int((logSD - m.logLow) / m.logWidth * mergeSpreads)
	b := &m.bins[min(max(i, 0), mergeMeans-1)*mergeSpreads+min(max(j, 0), mergeSpreads-1)]
	b.weight += c.weight
	b.mean += c.weight * d
	b.square += c.weight * (c.sd*c.sd + d*d)
	b.sigma += c.weight * c.sigma
}

func (m *merger) mixture() *Mixture {
	out := &Mixture{part: m.single, mean: m.mean, sd: m.sd}
	for _, b := range m.bins {
		if b.weight > 0 {
			d := b.mean / b.weight
			out.part = append(out.part, normal{m.mean + d, math.Sqrt(b.square/b.weight - d*d), b.weight / m.total, b.sigma / b.weight})
		}
	}
	return out
}

// CDF is the probability of a value up to x.
func (m *Mixture) CDF(x float64) float64 {
	p := 0.0
	for _, c := range m.part {
		p += c.weight * 0.5 * math.Erfc((c.mean-x)/(c.sd*math.Sqrt2))
	}
	return p
}

func (m *Mixture) density(x float64) float64 {
	d := 0.0
	for _, c := range m.part {
		z := (x - c.mean) / c.sd
		d += c.weight / c.sd * math.Exp(-z*z/2)
	}
	return d / math.Sqrt(2*math.Pi)
}

// Quantile is the x with CDF(x) = p, 0 < p < 1, by Newton steps kept inside a
// bracket. It starts from Chebyshev's: no distribution has a tail of p beyond
// sd/√p.
func (m *Mixture) Quantile(p float64) float64 {
	x := m.mean + m.sd*math.Sqrt2*math.Erfinv(2*p-1)
	reach := m.sd / math.Sqrt(math.Min(p, 1-p))
	lo, hi := m.mean-reach, m.mean+reach
	for range 100 {
		f := m.CDF(x) - p
		if f > 0 {
			hi = x
		} else {
			lo = x
		}
		next := x - f/m.density(x)
		if !(next >= lo && next <= hi) { // also where there is no density
			next = (lo + hi) / 2
		}
		if math.Abs(next-x) < 1e-9*m.sd {
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
