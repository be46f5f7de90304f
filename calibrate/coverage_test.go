package calibrate

import (
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"sync"
	"testing"

	"trueplait/model"
)

// Simulated shops with makers 3 % and batches 6 % apart: the 95 % band for the
// next build must hold about 95 % of them from the first builds on. Each band
// is scored by its exact probability under the shop's own truth. The plug-in
// band, REML's estimates taken for the truth, is shown to fall short where
// builds are few.
func TestCoverage(t *testing.T) {
	const shops = 400
	for _, size := range []struct{ builds, makers, batches int }{{3, 1, 1}, {5, 1, 1}, {8, 1, 2}, {15, 2, 3}, {40, 3, 6}} {
		for _, scatter := range []float64{0.01, 0.025} {
			t.Run(fmt.Sprintf("builds=%d/scatter=%g", size.builds, scatter), func(t *testing.T) {
				s := shop{builds: size.builds, makers: size.makers, cores: size.batches, scatter: scatter,
					spread: map[model.Effect]float64{model.Maker: 0.03, model.CoreBatch: 0.06}}
				var mu sync.Mutex
				var got bandHolds
				var wg sync.WaitGroup
				workers := runtime.GOMAXPROCS(0)
				for w := range workers {
					wg.Go(func() {
						var mine bandHolds
						for i := w; i < shops; i += workers {
							mine.add(s, rand.New(rand.NewPCG(uint64(i), uint64(size.builds))), 1.0/shops)
						}
						mu.Lock()
						defer mu.Unlock()
						got.sum(mine)
					})
				}
				wg.Wait()
				t.Logf("known %.1f %%, new %.1f %%; plug-in known %.1f %%, new %.1f %%", 100*got.known, 100*got.fresh, 100*got.plugKnown, 100*got.plugFresh)
				if got.known < 0.93 || got.fresh < 0.92 {
					t.Errorf("band holds %.3f of a known batch and %.3f of a new one, want at least 0.93 and 0.92", got.known, got.fresh)
				}
				if got.known > 0.998 || got.fresh > 0.998 {
					t.Errorf("band holds %.3f and %.3f: wider than honest", got.known, got.fresh)
				}
				if (size.builds == 5 || size.builds == 8) && !(got.plugKnown < got.known-0.03 && got.plugFresh < got.fresh-0.10) {
					t.Errorf("plug-in band holds %.3f and %.3f, want visibly less than %.3f and %.3f", got.plugKnown, got.plugFresh, got.known, got.fresh)
				}
			})
		}
	}
}

// bandHolds sums up how much of the true distribution the bands hold, for the
// next build with the latest batch and with a new one.
type bandHolds struct {
	known, fresh, plugKnown, plugFresh float64
}

func (b *bandHolds) sum(c bandHolds) {
	b.known += c.known
	b.fresh += c.fresh
	b.plugKnown += c.plugKnown
	b.plugFresh += c.plugFresh
}

func (b *bandHolds) add(s shop, r *rand.Rand, weight float64) {
	obs, tr := s.simulate(r)
	sys := newSystem(model.Shot.Effects(), cellsOf(obs), nil)
	last := obs[len(obs)-1].Labels
	known := sys.contrast(last)
	fresh := sys.contrast(model.Labels{Maker: last.Maker})

	meanKnown := tr.mean + tr.level[model.LevelEffect{Effect: model.Maker, Level: last.Maker}]
	meanFresh := meanKnown
	meanKnown += tr.level[model.LevelEffect{Effect: model.CoreBatch, Level: last.CoreBatch}]
	sdFresh := math.Hypot(tr.scatter, s.spread[model.CoreBatch])
	holds := func(mean, sd, low, high float64) float64 {
		return weight * (normalCDF((high-mean)/sd) - normalCDF((low-mean)/sd))
	}

	m := newPosterior(sys, fineGrid, nil).mixtures([]target{{known, true}, {fresh, true}})
	b.known += holds(meanKnown, tr.scatter, m[0].Quantile(0.025), m[0].Quantile(0.975))
	b.fresh += holds(meanFresh, sdFresh, m[1].Quantile(0.025), m[1].Quantile(0.975))

	fit := sys.fitREML(nil)
	sigma := math.Sqrt(fit.r2 / (sys.n - 1))
	plug := func(c contrast, mean, sd float64) float64 {
		centre, h := fit.estimate(c)
		half := 1.96 * sigma * math.Sqrt(1+h)
		centre += sys.centre
		return holds(mean, sd, centre-half, centre+half)
	}
	b.plugKnown += plug(known, meanKnown, tr.scatter)
	b.plugFresh += plug(fresh, meanFresh, sdFresh)
}
