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

// mixtures returns the distribution of every target. Each node is solved once
// for all of them.
func (p *Posterior) mixtures(targets []target) []*Mixture {
	workers := min(runtime.GOMAXPROCS(0), 1+len(p.nodes)/16)
	parts := make([][][]normal, workers) // worker, target, components
	var wg sync.WaitGroup
	for w := range workers {
		wg.Go(func() {
			mine := make([][]normal, len(targets))
			var sol *solution
			for i := w; i < len(p.nodes); i += workers {
				n := &p.nodes[i]
				sol = p.sys.solve(n.theta, sol)
				for t, target := range targets {
					mean, h := sol.estimate(target.contrast)
					if target.next {
						h++
					}
					mean += target.fixed * p.sys.centre
					root := math.Sqrt(h)
					for _, s := range n.sigma {
						mine[t] = append(mine[t], normal{mean, s.sigma * root, n.weight * s.weight, s.sigma})
					}
				}
			}
			parts[w] = mine
		})
	}
	wg.Wait()
	out := make([]*Mixture, len(targets))
	for t := range targets {
		var all []normal
		for w := range workers {
			all = append(all, parts[w][t]...)
		}
		out[t] = newMixture(all)
	}
	return out
}

// newMixture sums up many components by few: those of nearly the same mean and
// spread are merged into one with the same first two moments, which moves a
// quantile by far less than the lattice does.
func newMixture(all []normal) *Mixture {
	const (
		meanCells = 48 // over ±4 sd
		sdCells   = 24
	)
	m := &Mixture{}
	total, square := 0.0, 0.0
	low, high := math.Inf(1), math.Inf(-1)
	for _, c := range all {
		total += c.weight
		m.mean += c.weight * c.mean
		low, high = math.Min(low, c.sd), math.Max(high, c.sd)
	}
	m.mean /= total
	for _, c := range all {
		d := c.mean - m.mean
		square += c.weight * (c.sd*c.sd + d*d)
	}
	m.sd = math.Sqrt(square / total)
	if len(all) <= meanCells {
		m.part = all
		for i := range m.part {
			m.part[i].weight /= total
		}
		return m
	}
	var bins [meanCells * sdCells]struct{ w, m, v, s float64 }
	width := math.Log(high/low) + 1e-9
	for _, c := range all {
		i := int((c.mean-m.mean)/m.sd*meanCells/8 + meanCells/2)
		i = min(max(i, 0), meanCells-1)
		j := int(math.Log(c.sd/low) / width * sdCells)
		b := &bins[i*sdCells+min(j, sdCells-1)]
		d := c.mean - m.mean
		b.w += c.weight
		b.m += c.weight * d
		b.v += c.weight * (c.sd*c.sd + d*d)
		b.s += c.weight * c.sigma
	}
	for _, b := range bins {
		if b.w > 0 {
			d := b.m / b.w
			m.part = append(m.part, normal{m.mean + d, math.Sqrt(b.v/b.w - d*d), b.w / total, b.s / b.w})
		}
	}
	return m
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
// bracket.
func (m *Mixture) Quantile(p float64) float64 {
	z := math.Sqrt2 * math.Erfinv(2*p-1)
	x := m.mean + m.sd*z
	lo, hi := x-m.sd, x+m.sd
	for m.CDF(lo) > p {
		lo -= 2 * (hi - lo)
	}
	for m.CDF(hi) < p {
		hi += 2 * (hi - lo)
	}
	for range 100 {
		f := m.CDF(x) - p
		if f > 0 {
			hi = x
		} else {
			lo = x
		}
		step := f / m.density(x)
		next := x - step
		if !(next > lo && next < hi) {
			next = (lo + hi) / 2
		}
		if math.Abs(next-x) < 1e-12*(1+math.Abs(x)) {
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
