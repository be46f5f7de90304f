package calibrate

import (
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"testing"

	"trueplait/model"
)

// met is a trade in which everyone may meet everything: rows with levels at
// random, hardly two alike, so that exact algebra would never end.
type met struct{ rows, makers, batches, products int }

func (m met) String() string {
	return fmt.Sprintf("rows=%d/makers=%d/batches=%d/products=%d", m.rows, m.makers, m.batches, m.products)
}

// metTheta are the spreads that system draws, over σ.
var metTheta = []float64{1.2, 2, 0.5}

const metSigma = 0.03

// system draws the rows with a fixed seed, straight into cells: labels of ten
// million rows would take more memory than their fit.
func (m met) system() *system {
	r := rand.New(rand.NewPCG(11, uint64(m.rows)))
	s := &system{n: float64(m.rows), cells: make([]cell, m.rows)}
	var effect []float64
	first := []int{0}
	for k, n := range []int{m.makers, m.batches, m.products} {
		s.effects = append(s.effects, []model.Effect{model.Maker, model.StrandBatch, model.Product}[k])
		for range n {
			s.levels = append(s.levels, level{effect: k})
			effect = append(effect, metTheta[k]*metSigma*r.NormFloat64())
		}
		first = append(first, len(s.levels))
	}
	own := make([]margin, len(s.levels))
	all := whole{n: s.n}
	for i := range s.cells {
		c := cell{n: 1, mean: metSigma * r.NormFloat64(), at: nowhere()}
		for k := range s.effects {
			l := first[k] + r.IntN(first[k+1]-first[k])
			c.at[k] = int32(l)
			c.mean += effect[l]
			s.levels[l].rows++
		}
		s.cells[i] = c
		for _, l := range c.at[:len(s.effects)] {
			own[l].level = l
			own[l].n++
			own[l].sum += c.mean
		}
		all.sum += c.mean
		all.square += c.mean * c.mean
	}
	s.margins, s.whole = own, []whole{all}
	return forced(s)
}

// One quantity by the large method: the fit, the standard error of every
// level, and the limits of up to 100,000 combinations. bytes held are those of
// the cells, and of them with the fit and its draws.
func BenchmarkLarge(b *testing.B) {
	for _, m := range []met{
		{1_000_000, 20_000, 200_000, 20_000},
		{10_000_000, 20_000, 200_000, 20_000},
	} {
		b.Run(m.String(), func(b *testing.B) {
			s := m.system()
			var targets []target
			for i := 0; i < len(s.cells); i += max(1, len(s.cells)/100_000) {
				targets = append(targets, target{contrast: contrast{fixed: 1, levels: append([]int32(nil), s.cells[i].at[:len(s.effects)]...)}})
			}
			b.ReportAllocs()
			var fit *remlFit
			var limits []Interval
			for b.Loop() {
				var err error
				if fit, err = s.fit(nil); err != nil {
					b.Fatal(err)
				}
				p := newLargePosterior(fit.solution, fineGrid.many)
				limits = make([]Interval, len(targets))
				p.eachMixture(targets, func(t int, m *Mixture) { limits[t] = m.Interval(factorCoverage) })
			}
			for k, want := range metTheta {
				if off := fit.theta[k]/want - 1; math.Abs(off) > 0.03 {
					b.Errorf("θ of %s: %g, want %g", s.effects[k], fit.theta[k], want)
				}
			}
			for _, f := range limits {
				if !(f.Low < f.Median && f.Median < f.High && f.High < 1.2*f.Low) {
					b.Fatalf("limits %v", f)
				}
			}
			var mem runtime.MemStats
			runtime.ReadMemStats(&mem)
			b.ReportMetric(float64(mem.HeapSys)/(1<<20), "MiB-heap")
		})
	}
}
