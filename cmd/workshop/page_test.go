package workshop

import (
	"context"
	"testing"

	"trueplait/calibrate"
	"trueplait/model"
)

// countedSource counts how often deviations are asked for.
type countedSource struct {
	calibrate.Source
	asked int
}

func (s *countedSource) Deviation(_ context.Context, q model.Quantity, _ []model.RowKey, share float64) (float64, error) {
	s.asked++
	return share + float64(len(q)), nil
}

// The deviations of each quantity are read once, and are its own.
func TestDeviations(t *testing.T) {
	src := &countedSource{}
	d := deviations{src, map[model.Quantity]float64{}}
	for range 3 {
		for _, q := range []model.Quantity{model.Weight, model.Shot} {
			if got, err := d.Deviation(t.Context(), q, nil, 0.95); err != nil || got != 0.95+float64(len(q)) {
				t.Errorf("%s: %v, %v", q, got, err)
			}
		}
	}
	if src.asked != 2 {
		t.Errorf("asked %d times, want once for each of 2 quantities", src.asked)
	}
}
