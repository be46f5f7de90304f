package calibrate

import "math"

// outcome is the distribution of one figure of the next build, in g or mm.
type outcome interface {
	// quantile is the figure that is not passed with chance p.
	quantile(p float64) float64

	// below is the chance of a figure up to x.
	below(x float64) float64

	// batches draws what builds of the same labels have in common.
	batches() []batch
}

// batch is the distribution of ln figure of builds whose hands and purchases
// are the same, once those are known: they differ by their own scatter only.
type batch struct {
	mean, sd float64
}

// batchDraws is the number of batches drawn, over fixed low-discrepancy points:
// enough for the chance that all builds are inside within 0.001.
const batchDraws = 4096

// scaled is a base figure times an uncertain ratio.
type scaled struct {
	base  float64
	ratio *Mixture
}

func (s scaled) quantile(p float64) float64 { return s.base * math.Exp(s.ratio.Quantile(p)) }

func (s scaled) below(x float64) float64 {
	if x <= 0 {
		return 0
	}
	return s.ratio.CDF(math.Log(x / s.base))
}

func (s scaled) batches() []batch {
	pick := newPicker(s.ratio)
	log := math.Log(s.base)
	return drawBatches(func(u [4]float64) batch {
		c := pick.pick(u[0])
		return batch{log + c.steady(u[1]), c.sigma}
	})
}

// steady is the u-quantile of the part of a component that builds of the same
// labels share.
func (n normal) steady(u float64) float64 {
	return n.mean + math.Sqrt(math.Max(n.sd*n.sd-n.sigma*n.sigma, 0))*math.Sqrt2*math.Erfinv(2*u-1)
}

// inParts is a weight as the sum of shot and body; their effects are
// independent, their scatters are correlated by rho.
type inParts struct {
	shot, body scaled
	rho        float64
	*sum
}

func newInParts(shot, body scaled, rho float64) inParts {
	return inParts{shot, body, rho, newSum(shot.base, shot.ratio, body.base, body.ratio, rho)}
}

func (w inParts) below(x float64) float64 {
	p, _ := w.cdf(x)
	return p
}

// batches draws the steady parts of shot and body. Given them the weight is
// the sum of two log-normals, near enough one itself.
func (w inParts) batches() []batch {
	shot, body := newPicker(w.shot.ratio), newPicker(w.body.ratio)
	a, b := math.Log(w.shot.base), math.Log(w.body.base)
	return drawBatches(func(u [4]float64) batch {
		x, y := shot.pick(u[0]), body.pick(u[1])
		return logSum(batch{a + x.steady(u[2]), x.sigma}, batch{b + y.steady(u[3]), y.sigma}, w.rho*x.sigma*y.sigma)
	})
}

// logSum is ln(e^X + e^Y) for normal X and Y with a covariance: the sum of two
// log-normals is taken for a log-normal of the same mean and variance. L. F.
// Fenton (1960), IRE Trans Commun Syst 8:57. With a scatter of some per cent
// the difference is far below that of the draws.
func logSum(x, y batch, cov float64) batch {
	a, b := math.Exp(x.mean+x.sd*x.sd/2), math.Exp(y.mean+y.sd*y.sd/2)
	variance := a*a*math.Expm1(x.sd*x.sd) + b*b*math.Expm1(y.sd*y.sd) + 2*a*b*math.Expm1(cov)
	s2 := math.Log1p(variance / ((a + b) * (a + b)))
	return batch{math.Log(a+b) - s2/2, math.Sqrt(s2)}
}

// drawBatches calls draw with the points of an additive recurrence of four
// dimensions, as in newSum; its number is the root of t⁵ = t + 1.
func drawBatches(draw func(u [4]float64) batch) []batch {
	const t = 1.1673039782614187
	out := make([]batch, batchDraws)
	for i := range out {
		var u [4]float64
		step := 1.0
		for d := range u {
			step /= t
			u[d] = frac(0.5 + float64(i+1)*step)
		}
		out[i] = draw(u)
	}
	return out
}

// allInside is the chance that k builds of one batch all lie between low and
// high.
func allInside(k int, drawn []batch, low, high float64) float64 {
	logLow, logHigh := math.Log(low), math.Log(high)
	sum := 0.0
	for _, b := range drawn {
		one := 0.5 * (math.Erfc((b.mean-logHigh)/(b.sd*math.Sqrt2)) - math.Erfc((b.mean-logLow)/(b.sd*math.Sqrt2)))
		sum += math.Pow(one, float64(k))
	}
	return sum / float64(len(drawn))
}

// limits are the quantiles p and 1 − p between which the next k builds of one
// batch all lie with the chance coverage.
func limits(o outcome, coverage float64, k int) (low, high float64) {
	tail := (1 - coverage) / 2
	if k == 1 {
		return o.quantile(tail), o.quantile(1 - tail)
	}
	// Builds that had everything in common would need the tail of one, builds
	// that had nothing in common at most a k-th of it. Between, halve in ln p.
	drawn := o.batches()
	narrow, wide := math.Log(tail), math.Log(tail/float64(k))
	for narrow-wide > 1e-4 {
		mid := (narrow + wide) / 2
		low, high = o.quantile(math.Exp(mid)), o.quantile(1-math.Exp(mid))
		if allInside(k, drawn, low, high) < coverage {
			narrow = mid
		} else {
			wide = mid
		}
	}
	return o.quantile(math.Exp(wide)), o.quantile(1 - math.Exp(wide))
}
