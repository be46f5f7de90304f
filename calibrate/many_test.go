package calibrate

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"trueplait/model"
)

// busy is a shop with enough rows for one start to do.
var busy = shop{
	builds: 3000, makers: 6, cores: 120, shots: 20, products: 12, scatter: 0.025, blank: 0.06,
	spread: map[model.Effect]float64{model.Maker: 0.03, model.CoreBatch: 0.05, model.ShotBatch: 0.015, model.Product: 0.02},
}

// With many rows one start does: the fit is stationary, no start finds a lower
// criterion, a spread that is not there included, and the rough fit is well
// within a standard error of it, which is 1 of the criterion.
func TestREML_ManyRows(t *testing.T) {
	for seed := range uint64(6) {
		w := busy
		if seed%2 == 1 {
			w.spread = map[model.Effect]float64{model.Maker: 0.03, model.CoreBatch: 0.05}
		}
		obs, _ := w.simulate(rand.New(rand.NewPCG(seed, 2)))
		s := newSystem(simulated, cellsOf(obs), nil)
		fit := s.fitREML(nil)
		if rough := s.roughREML(); !(rough.criterion < fit.criterion+0.5) {
			t.Errorf("seed %d: rough fit %.9g above the best criterion", seed, rough.criterion-fit.criterion)
		}
		g := make([]float64, 4)
		fit.gradient(g)
		for k := range g {
			if math.Abs(g[k]) > 1e-2 {
				t.Errorf("seed %d: θ[%d] = %g has slope %g", seed, k, fit.theta[k], g[k])
			}
		}
		for _, x := range []float64{0.05, 0.4, 3} {
			m := &minimizer{sys: s}
			free := []int{0, 1, 2, 3}
			theta, best, curvature := m.descend([]float64{x, x, x, x}, free)
			if _, best = m.zeros(theta, best, free, curvature); best < fit.criterion-1e-6 {
				t.Errorf("seed %d: %.9g below the fit's criterion, from %g", seed, fit.criterion-best, x)
			}
		}
	}
}

// The information with blanks, whose levels are many and each its own, against
// the mean of the second derivatives over logs drawn from the model: there they
// are what is expected.
func TestInformation_Expected(t *testing.T) {
	const logs = 60
	theta := []float64{1.2, 2, 0.6, 0.8}
	w := busy
	w.blank = 0.2
	w.builds, w.makers = 600, 12
	var info, want [maxEffects][maxEffects]float64
	for seed := range uint64(logs) {
		r := rand.New(rand.NewPCG(seed, 3))
		obs, _ := w.simulate(r)
		drawFromModel(obs, theta, r)
		s := newSystem(simulated, cellsOf(obs), nil)
		expected := s.solve(theta, nil).information()
		const h = 1e-3
		for k := range theta {
			up, down := make([]float64, 4), make([]float64, 4)
			s.solve(moved(theta, k, h), nil).gradient(up)
			s.solve(moved(theta, k, -h), nil).gradient(down)
			at := make([]float64, 4)
			s.solve(theta, nil).gradient(at)
			for l := range theta {
				d := (up[l] - down[l]) / (2 * h)
				if k == l {
					d -= 2 * at[k] // what the slope adds in ln θ
				}
				info[k][l] += expected[k][l] / logs
				want[k][l] += d / logs
			}
		}
	}
	for k := range theta {
		for l := range theta {
			tol := 0.15 * math.Sqrt(info[k][k]*info[l][l])
			checkNear(t, fmt.Sprintf("information %d, %d", k, l), info[k][l], want[k][l], tol)
		}
	}
}

// drawFromModel replaces every y by one drawn from the model, where a blank is
// a level of its own.
func drawFromModel(obs []model.Observation, theta []float64, r *rand.Rand) {
	effect := map[model.Effect]map[string]float64{}
	for i := range obs {
		obs[i].Y = r.NormFloat64()
		for k, e := range simulated {
			if effect[e] == nil {
				effect[e] = map[string]float64{}
			}
			label := obs[i].Labels.Get(e)
			u, known := effect[e][label]
			if !known || label == "" {
				u = theta[k] * r.NormFloat64()
				effect[e][label] = u
			}
			obs[i].Y += u
		}
	}
}

// moved is θ with one component changed by so much of ln θ.
func moved(theta []float64, k int, by float64) []float64 {
	out := slices.Clone(theta)
	out[k] *= math.Exp(by)
	return out
}

// The axis of a spread of few levels has fallen by 2 at two standard deviations
// each way.
func TestSkewAxis(t *testing.T) {
	for _, sd := range []float64{0.05, 0.13, 0.3} {
		for _, sign := range []float64{1, -1} {
			a := skewAxis([]float64{0.1, sign}, sd)
			up, down := a.up, a.down
			if sign < 0 {
				up, down = down, up
			}
			nu := 1 / (2 * sd * sd)
			fall := func(x float64) float64 { return nu * (x + math.Expm1(-2*x)/2) }
			checkNear(t, "fall above", fall(2*up), 2, 1e-9)
			checkNear(t, "fall below", fall(-2*down), 2, 1e-9)
		}
	}
}
