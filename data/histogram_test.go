package data

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// count is a scan of sizes that are at hand.
func (h *histogram) count(sizes []float64) {
	sorted := slices.Sorted(slices.Values(sizes))
	for _, t := range sorted {
		at := math.Floor(t / h.width)
		if last := len(h.bins) - 1; last < 0 || h.bins[last].at != at {
			h.bins = append(h.bins, bin{at: at})
		}
		b := &h.bins[len(h.bins)-1]
		b.n++
		beside := math.Abs(at - h.read.middle)
		if beside <= h.read.near || h.read.first <= beside && beside <= h.read.last {
			b.sizes = append(b.sizes, t)
		}
	}
	h.kept = len(sizes)
}

// What a histogram claims to know is so, and one that reads near what another
// of the same bins found knows all.
func TestHistogramKnows(t *testing.T) {
	middleOf := func(x []float64) float64 {
		x = slices.Sorted(slices.Values(x))
		return (x[(len(x)-1)/2] + x[len(x)/2]) / 2
	}
	rapid.Check(t, func(t *rapid.T) {
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		x := make([]float64, rapid.IntRange(1, 60).Draw(t, "n"))
		kind := rapid.IntRange(0, 3).Draw(t, "kind")
		for i := range x {
			x[i] = rng.NormFloat64()
			switch kind {
			case 1: // two heaps with nothing between
				x[i] = x[i]/100 + float64(2*(i%2))
			case 2: // many are equal
				x[i] = float64(rng.IntN(3))
			case 3: // a few far away
				x[i] *= math.Exp(rng.ExpFloat64())
			}
		}
		m := middleOf(x)
		away := slices.Clone(x)
		for i := range away {
			away[i] = math.Abs(x[i] - m)
		}
		d := middleOf(away)
		width := math.Ldexp(1, rapid.IntRange(-10, 2).Draw(t, "width"))
		check := func(s spread, must bool) {
			if s.middle.known() && s.middle.at() != m || must && !s.middle.known() {
				t.Fatalf("%v: middle %v, want %v", x, s.middle, m)
			}
			if s.middle.known() && s.deviation.known() && s.deviation.at() != d || must && !s.deviation.known() {
				t.Fatalf("%v: middle %v, deviation %v, want %v", x, m, s.deviation, d)
			}
			if math.Abs(s.deviation.at()-d) > 2*width {
				t.Fatalf("%v: deviation %v is off %v by more than two bins of %v", x, s.deviation, d, width)
			}
		}
		first := histogram{width: width, read: readNothing}
		first.count(x)
		found := first.spread()
		check(found, false)

		guess := histogramNear(found, width/4, 0) // may miss
		guess.count(x)
		check(guess.spread(), false)

		second := histogramNear(found, width, 0)
		second.count(x)
		check(second.spread(), true)
	})
}
