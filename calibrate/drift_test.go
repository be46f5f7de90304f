package calibrate

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"sort"
	"testing"

	"trueplait/model"
)

// The row-by-row state against the system solved anew for each day: the same
// one-step-ahead errors.
func TestStepAhead_Refit(t *testing.T) {
	obs, _ := crossed.simulate(rand.New(rand.NewPCG(3, 1)))
	for i := range obs { // some rows share a day, and must not predict each other
		obs[i].Date = day(i / 2)
	}
	fit := newSystem(simulated, cellsOf(obs), nil).fitREML(nil)
	z := fit.stepAhead(obs)
	sigma := math.Sqrt(fit.r2 / (fit.sys.n - 1))
	for i := range obs {
		if i < 6 {
			continue // μ's flat prior has hardly been informed
		}
		s := newSystem(simulated, cellsOf(obs[:i/2*2]), nil)
		theta := make([]float64, len(s.effects))
		for k, e := range s.effects {
			theta[k] = fit.theta[slices.Index(fit.sys.effects, e)]
		}
		c := s.contrast(obs[i].Labels)
		mean, h := s.solve(theta, nil).estimate(c)
		for k, e := range fit.sys.effects { // an effect no earlier row has recorded
			if !slices.Contains(s.effects, e) {
				h += fit.theta[k] * fit.theta[k]
			}
		}
		want := (obs[i].Y - s.centre - mean) / (sigma * math.Sqrt(1+h))
		checkNear(t, fmt.Sprintf("error of row %d", i), z[i], want, 1e-4)
	}
}

// Run lengths of the sum, before errors are capped, against the published
// ones: testdata/control/arl.
func TestCusum_RunLengths(t *testing.T) {
	c := table(t, "control", "arl", "arl.csv")
	r := rand.New(rand.NewPCG(1, 2))
	tested := 0
	for i, chart := range c["chart"] {
		if chart != "cusum" || c["k_or_lambda"][i] != "0.5" || c["h_or_L"][i] != "5" || c["sided"][i] != "two" {
			continue
		}
		shift, want := number(t, c["shift_in_sigma"][i]), number(t, c["arl_zero_state"][i])
		const runs = 3000
		mean := 0.0
		for range runs {
			var z []float64
			var rows []int
			for len(cusum(z, rows)) == 0 {
				for range 64 {
					z, rows = append(z, shift+r.NormFloat64()), append(rows, len(rows))
				}
			}
			// The first row with a signal: once there, it stays.
			first := sort.Search(len(z), func(n int) bool { return len(cusum(z[:n], rows[:n])) > 0 })
			mean += float64(first) / runs
		}
		t.Logf("shift %g: mean run length %.1f, published %.1f", shift, mean, want)
		checkNear(t, fmt.Sprintf("run length at shift %g", shift), mean, want, 0.05*want)
		tested++
	}
	if tested < 3 {
		t.Fatalf("%d published run lengths found", tested)
	}
}

// A change of load in the batch in use is found, with the first build named
// within three of the truth, and a steady shop of 200 builds is left alone:
// "act" in under 10 % of shops. Rates and delays are logged.
func TestDrifts_Rates(t *testing.T) {
	const shops = 120
	s := shop{builds: 200, makers: 3, cores: 10, scatter: 0.025,
		spread: map[model.Effect]float64{model.Maker: 0.03, model.CoreBatch: 0.06}}
	grades := func(seed uint64, shift float64) (watch, act bool, delay, off int) {
		obs, _ := s.simulate(rand.New(rand.NewPCG(seed, 77)))
		const changed = 188 // eight builds into the last batch
		for i := changed; i < len(obs); i++ {
			obs[i].Y += shift * s.scatter
		}
		fit := newSystem(model.Shot.Effects(), cellsOf(obs), nil).fitREML(nil)
		delay = -1
		for _, d := range fit.drifts(model.Shot, obs) {
			watch = true
			act = act || d.Grade == "act"
			var at, since int
			fmt.Sscanf(d.AtBuild, "B%d", &at)
			fmt.Sscanf(d.Since, "B%d", &since)
			if d.Effect == model.CoreBatch && at >= changed && delay < 0 {
				delay, off = at-changed+1, since-changed
			}
		}
		return watch, act, delay, off
	}
	for _, shift := range []float64{0, 1, 2, 3} {
		watched, acted, found, near, delays := 0, 0, 0, 0, 0
		for seed := range uint64(shops) {
			watch, act, delay, off := grades(seed, shift)
			if watch {
				watched++
			}
			if act {
				acted++
			}
			if delay > 0 {
				found++
				delays += delay
				if off >= -3 && off <= 3 {
					near++
				}
			}
		}
		t.Logf("shift %g sd: watch in %d, act in %d of %d shops; found in the batch in %d, after %.1f builds, named within 3 in %d",
			shift, watched, acted, shops, found, float64(delays)/math.Max(1, float64(found)), near)
		if shift == 0 && acted*10 >= shops {
			t.Errorf("act in %d of %d steady shops", acted, shops)
		}
		if shift == 3 && (found*10 < shops*8 || near*100 < found*80) {
			t.Errorf("a shift of 3 sd found in %d of %d shops, named within 3 builds in %d", found, shops, near)
		}
	}
}
