package calibrate

import (
	"math/rand/v2"
	"testing"

	"trueplait/model"
)

// A belief that learns rows one by one is the system solved anew with them:
// levels known, new and blank.
func TestBelief_Refit(t *testing.T) {
	obs, _ := crossed.simulate(rand.New(rand.NewPCG(6, 1)))
	before, after := obs[:40], obs[40:]
	var labels []model.Labels
	for _, o := range after {
		labels = append(labels, o.Labels)
	}
	s := newSystem(simulated, cellsOf(before), labels)
	theta := []float64{0.8, 1.5, 0.4, 0.9}
	slot := make([]int32, len(s.levels))
	var levels []int32
	for _, l := range labels {
		for _, i := range s.contrast(l).levels {
			if slot[i] == 0 {
				levels = append(levels, i)
				slot[i] = int32(len(levels))
			}
		}
	}
	b := s.solve(theta, nil).belief(levels, slot)
	for i := range after {
		full := newSystem(simulated, cellsOf(obs[:40+i]), labels)
		mean, h := full.solve(theta, nil).estimate(full.contrast(labels[i]))
		c := s.cell(&model.Cell{Labels: labels[i], N: 1, Mean: after[i].Y})
		got := b.next(&c)
		checkNear(t, "mean", got.mean+s.centre, mean+full.centre, 1e-10)
		checkNear(t, "variance", got.h, h+1, 1e-10)
		b.learn(&c)
	}
}
