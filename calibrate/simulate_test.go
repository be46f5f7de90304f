package calibrate

import (
	"fmt"
	"math"
	"math/rand/v2"

	"trueplait/model"
)

// shop is a simulated workshop with known truth, log units.
type shop struct {
	builds, makers, cores, shots, products int
	scatter                                float64
	spread                                 map[model.Effect]float64
	blank                                  float64 // share of labels not recorded
}

// effects of the simulated quantities.
var simulated = []model.Effect{model.Maker, model.CoreBatch, model.ShotBatch, model.Product}

// simulate draws a shop's observations of one quantity and its true effects.
// Batches are used up in turn; makers and products alternate at random.
func (s shop) simulate(r *rand.Rand) ([]model.Observation, truth) {
	return s.draw(r, nil)
}

// draw is simulate for builds whose labels are given, or nil to draw those
// too.
func (s shop) draw(r *rand.Rand, labels []model.Labels) ([]model.Observation, truth) {
	count := s.count()
	tr := truth{mean: 0.012, scatter: s.scatter, level: map[model.LevelEffect]float64{}}
	name := func(e model.Effect, i int) model.LevelEffect {
		return model.LevelEffect{Effect: e, Level: fmt.Sprintf("%c%02d", e[0], i)}
	}
	for _, e := range simulated {
		for i := range count[e] {
			tr.level[name(e, i)] = s.spread[e] * r.NormFloat64()
		}
	}
	var obs []model.Observation
	drawn := labels == nil
	if drawn {
		labels = s.labels(r, name)
	}
	for i := range s.builds {
		o := model.Observation{Key: model.RowKey{Kind: model.Builds, ID: fmt.Sprintf("B%05d", i)}, Date: day(i)}
		o.Y = tr.mean + s.scatter*r.NormFloat64()
		o.Labels = labels[i]
		for _, e := range simulated {
			o.Y += tr.level[model.LevelEffect{Effect: e, Level: o.Labels.Get(e)}]
			if drawn && r.Float64() < s.blank {
				o.Labels.Set(e, "")
			}
		}
		o.Base = 100
		o.Planned = 100
		o.Measured = 100 * math.Exp(o.Y)
		obs = append(obs, o)
	}
	return obs, tr
}

// labels draws who made what of which batch.
func (s shop) labels(r *rand.Rand, name func(model.Effect, int) model.LevelEffect) []model.Labels {
	count := s.count()
	out := make([]model.Labels, s.builds)
	for i := range out {
		for _, e := range simulated {
			if count[e] == 0 {
				continue
			}
			k := r.IntN(count[e])
			if e == model.CoreBatch || e == model.ShotBatch {
				k = i * count[e] / s.builds
			}
			out[i].Set(e, name(e, k).Level)
		}
	}
	return out
}

func (s shop) count() map[model.Effect]int {
	return map[model.Effect]int{model.Maker: s.makers, model.CoreBatch: s.cores, model.ShotBatch: s.shots, model.Product: s.products}
}

// truth is what a simulated shop was made with.
type truth struct {
	mean, scatter float64
	level         map[model.LevelEffect]float64
}

// cellsOf makes one cell a row.
func cellsOf(obs []model.Observation) []model.Cell {
	var cells []model.Cell
	for _, o := range obs {
		cells = append(cells, model.Cell{Kind: model.Builds, Labels: o.Labels, N: 1, Mean: o.Y})
	}
	return cells
}
