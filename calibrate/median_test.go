package calibrate

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// TestMedian compares with the middle of the values in order.
func TestMedian(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.SliceOfN(rapid.OneOf(rapid.Float64Range(-1, 1), rapid.SampledFrom([]float64{0, 0.5})), 1, 60).Draw(t, "x")
		given := slices.Clone(x)
		s := slices.Sorted(slices.Values(x))
		n := len(s)
		if got, want := median(x), (s[(n-1)/2]+s[n/2])/2; got != want {
			t.Fatalf("median(%v) = %v, want %v", x, got, want)
		}
		if !slices.Equal(x, given) {
			t.Fatalf("median changed %v to %v", given, x)
		}
	})
	if got := median(nil); !math.IsNaN(got) {
		t.Errorf("median of none = %v, want NaN", got)
	}
}
