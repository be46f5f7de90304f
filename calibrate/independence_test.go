package calibrate

import (
	"math"
	"math/rand/v2"
	"testing"

	"trueplait/model"
)

// batched draws builds of a line: size builds of each batch, batches apart by
// tau and builds by sigma.
func batched(r *rand.Rand, batches, size int, tau, sigma float64) []LineBuild {
	var out []LineBuild
	for b := range batches {
		shift := tau * r.NormFloat64()
		for range size {
			l := LineBuild{X: 400 + shift + sigma*r.NormFloat64()}
			l.Labels.StrandBatch = string(rune('A' + b))
			l.Labels.CoreBatch = "C1"
			out = append(out, l)
		}
	}
	return out
}

// worth is independence of builds in weight.
func worth(builds []LineBuild) (float64, model.Effect, float64) {
	var x []float64
	for _, b := range builds {
		x = append(x, b.X)
	}
	var l Line
	l.individuals(x)
	return independence(model.Weight, builds, l.Mean, l.SD)
}

// TestIndependenceBalanced compares with the analysis of variance, which REML
// agrees with where batches are of one size: ρ = (MSB − MSW)/(MSB + (m−1) MSW),
// and n_eff = n/(1 + ρ (m − 1)).
func TestIndependenceBalanced(t *testing.T) {
	const batches, size = 6, 5
	builds := batched(rand.New(rand.NewPCG(5, 5)), batches, size, 8, 6)
	grand, between, within := 0.0, 0.0, 0.0
	for _, b := range builds {
		grand += b.X / (batches * size)
	}
	for b := range batches {
		mean := 0.0
		for _, v := range builds[b*size : (b+1)*size] {
			mean += v.X / size
		}
		between += size * (mean - grand) * (mean - grand) / (batches - 1)
		for _, v := range builds[b*size : (b+1)*size] {
			within += (v.X - mean) * (v.X - mean) / (batches * (size - 1))
		}
	}
	rho := (between - within) / (between + (size-1)*within)
	share, effect, n := worth(builds)
	if math.Abs(share-rho) > 1e-6 || effect != model.StrandBatch {
		t.Errorf("share = %v of %s, want %v of the strand batch", share, effect, rho)
	}
	if want := batches * size / (1 + rho*(size-1)); math.Abs(n-want) > 1e-4 {
		t.Errorf("worth %v independent builds, want %v", n, want)
	}
}

// TestIndependenceLimits checks the ends: batches that are everything leave as
// many builds as batches, and none of them all builds.
func TestIndependenceLimits(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	if share, _, n := worth(batched(r, 5, 8, 30, 0.01)); share < 0.999 || math.Abs(n-5) > 0.01 {
		t.Errorf("batches alone: share %v, worth %v builds, want 1 and 5", share, n)
	}
	alike := batched(r, 5, 8, 0, 1)
	for i := range alike { // each batch has the same builds: less apart than chance makes them
		alike[i].X = 400 + float64(i%8)
	}
	if share, _, n := worth(alike); share > 1e-6 || math.Abs(n-40) > 1e-3 {
		t.Errorf("no batches apart: share %v, worth %v builds, want 0 and 40", share, n)
	}
	blank := batched(r, 4, 5, 10, 1)
	for i := range blank {
		blank[i].Labels = model.Labels{}
	}
	if share, effect, n := worth(blank); !math.IsNaN(share) || effect != "" || !math.IsNaN(n) {
		t.Errorf("no batch recorded: %v of %q, worth %v", share, effect, n)
	}
}
