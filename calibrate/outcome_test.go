package calibrate

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"trueplait/model"
)

// modelDraw draws k builds of one batch from the very model: components, then
// what the builds share, then each one's scatter.
func modelDraw(r *rand.Rand, w inParts, k int, out []float64) {
	pick := func(m *Mixture) normal {
		u := r.Float64()
		for _, c := range m.part {
			if u -= c.weight; u < 0 {
				return c
			}
		}
		return m.part[len(m.part)-1]
	}
	x, y := pick(w.shot.ratio), pick(w.body.ratio)
	fx := x.mean + math.Sqrt(x.sd*x.sd-x.sigma*x.sigma)*r.NormFloat64()
	fy := y.mean + math.Sqrt(y.sd*y.sd-y.sigma*y.sigma)*r.NormFloat64()
	for i := range k {
		a, b := r.NormFloat64(), r.NormFloat64()
		out[i] = w.shot.base*math.Exp(fx+x.sigma*a) + w.body.base*math.Exp(fy+y.sigma*(w.rho*a+math.Sqrt(1-w.rho*w.rho)*b))
	}
}

// The limits of a sum for several builds hold them all as often as asked, drawn
// from the exact model: within four standard errors of the draws, for a light
// and a heavy load.
func TestLimits_AllOfK(t *testing.T) {
	x := newMixture([]normal{{-0.08, 0.07, 0.6, 0.02}, {-0.05, 0.10, 0.4, 0.04}})
	y := newMixture([]normal{{0.03, 0.04, 0.7, 0.012}, {0.02, 0.05, 0.3, 0.03}})
	for _, shot := range []float64{50, 300} {
		for _, rho := range []float64{-0.5, 0, 0.4} {
			for _, k := range []int{1, 3, 10} {
				t.Run(fmt.Sprintf("shot=%g/rho=%g/k=%d", shot, rho, k), func(t *testing.T) {
					const n, coverage = 200_000, 0.9
					w := newInParts(scaled{shot, x}, scaled{300, y}, rho)
					low, high := limits(w, coverage, k)
					r := rand.New(rand.NewPCG(5, uint64(k)))
					builds := make([]float64, k)
					inside := 0
					for range n {
						modelDraw(r, w, k, builds)
						all := true
						for _, b := range builds {
							all = all && b >= low && b <= high
						}
						if all {
							inside++
						}
					}
					checkNear(t, "share of batches with all inside", float64(inside)/n, coverage, 4*math.Sqrt(0.09/n)+0.0005)
					if k > 1 {
						one, _ := limits(w, coverage, 1)
						if !(low < one) {
							t.Errorf("limits of %d builds start at %g g, of one at %g g", k, low, one)
						}
					}
				})
			}
		}
	}
}

// The limits of a single ratio for several builds, against the integral over
// what they share.
func TestLimits_Scaled(t *testing.T) {
	const sigma, factor, k, coverage = 0.02, 0.05, 5, 0.95
	s := scaled{400, newMixture([]normal{{0.01, math.Hypot(sigma, factor), 1, sigma}})}
	low, high := limits(s, coverage, k)
	a, b := math.Log(low/400)-0.01, math.Log(high/400)-0.01
	sum, step := 0.0, 1e-4
	for f := -8 * factor; f <= 8*factor; f += step {
		one := normalCDF((b-f)/sigma) - normalCDF((a-f)/sigma)
		sum += math.Pow(one, k) * math.Exp(-f*f/(2*factor*factor)) / (factor * math.Sqrt(2*math.Pi)) * step
	}
	checkNear(t, "chance that all are inside", sum, coverage, 5e-4)
}

// The weight's limits against draws from the posteriors themselves, node by
// node, before components are merged: for one build within 0.1 g beside four standard
// errors of the draws, for five within a third of a per cent in the chance that
// all are inside.
func TestPromise_MonteCarlo(t *testing.T) {
	rows := workshopRows(5, 40)
	c := fitLog(t, rows, Options{})
	opt := usualPromise()
	opt.Labels.CoreBatch = model.NewLevel
	plan := Planned{WeightG: 450, BodyG: 300, ShotG: 150, LengthMM: model.Unknown}
	one := promise(t, rows, plan, opt)
	opt.Of = 5
	five := promise(t, rows, plan, opt)

	const n = 1_000_000
	r := rand.New(rand.NewPCG(8, 8))
	type drawn struct{ steady, sigma float64 }
	draw := func(q model.Quantity) func() drawn {
		o := newOutlook(q, c.Quantity(q).Posterior, opt.Labels)
		var all []drawn // the factor's mean and h, beside σ
		var h, upTo []float64
		sum := 0.0
		for i, node := range o.post.nodes {
			for _, s := range node.sigma {
				sum += node.weight * s.weight
				all, h, upTo = append(all, drawn{o.at[i].mean, s.sigma}), append(h, o.at[i].h), append(upTo, sum)
			}
		}
		return func() drawn {
			i, _ := slices.BinarySearch(upTo, r.Float64()*sum)
			d := all[min(i, len(all)-1)]
			d.steady += d.sigma * math.Sqrt(h[min(i, len(h)-1)]) * r.NormFloat64()
			return d
		}
	}
	shot, body := draw(model.Shot), draw(model.Body)
	first := make([]float64, n)
	inside := 0
	for i := range n {
		x, y := shot(), body()
		all := true
		for k := range 5 {
			a, b := r.NormFloat64(), r.NormFloat64()
			w := plan.ShotG*math.Exp(x.steady+x.sigma*a) + plan.BodyG*math.Exp(y.steady+y.sigma*(c.Correlation*a+math.Sqrt(1-c.Correlation*c.Correlation)*b))
			all = all && w >= five.Weight.Low && w <= five.Weight.High
			if k == 0 {
				first[i] = w
			}
		}
		if all {
			inside++
		}
	}
	slices.Sort(first)
	for _, q := range []struct {
		p, got float64
	}{{0.025, one.Weight.Low}, {0.5, one.Weight.Median}, {0.975, one.Weight.High}} {
		// Four standard errors each way in p, in grams.
		se := math.Sqrt(q.p * (1 - q.p) / n)
		noise := (first[int((q.p+4*se)*n)] - first[int((q.p-4*se)*n)]) / 2
		checkNear(t, fmt.Sprintf("quantile %g", q.p), q.got, first[int(q.p*n)], 0.1+noise)
	}
	checkNear(t, "share of batches with all five inside", float64(inside)/n, 0.95, 0.0033)
}
