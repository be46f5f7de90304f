package data

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"trueplait/model"
)

// The last plan of a product is that of its latest build with a planned
// weight or length, without the factors in it.
func TestLastPlan(t *testing.T) {
	l := newLog(t)
	nan := model.Unknown
	on := func(n int, id string, change func(*model.Build)) model.Row {
		return edit(usualBuild(id), func(b *model.Build) {
			b.Date = day(n)
			change(b)
		})
	}
	product := usualBuild("x").Product
	add(t, l, file{name: "b.csv", rows: []model.Row{
		on(1, "B1", func(b *model.Build) { b.ShotFactor, b.BodyFactor, b.LengthFactor = 0.8, 1.25, 0.9 }),
		on(2, "B2", func(b *model.Build) { b.PredictedWeightG, b.PredictedLengthMM = nan, nan }), // shot alone is no plan
		on(3, "B3", func(b *model.Build) { b.Product = "another"; b.PredictedWeightG = 999 }),
		on(9, "B4", func(b *model.Build) { b.PredictedWeightG, b.PredictedShotG = 500, nan }),
	}})
	for _, tt := range []struct {
		name    string
		through int
		want    Base
	}{
		{"as of day 5", 5, Base{WeightG: 80/0.8 + 320/1.25, LengthMM: 1800 / 0.9, ShotG: 80 / 0.8, StrandMM: nan}},
		{"as of day 9", 9, Base{WeightG: 500, LengthMM: 1800, ShotG: nan, StrandMM: nan}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			o, err := l.Observations(t.Context(), day(tt.through), false)
			if err != nil {
				t.Fatal(err)
			}
			got, ok, err := o.LastPlan(t.Context(), product)
			if d := cmp.Diff(tt.want, got, cmpopts.EquateNaNs(), cmpopts.EquateApprox(1e-12, 0)); !ok || err != nil || d != "" {
				t.Errorf("found %v, %v (-want +got):\n%s", ok, err, d)
			}
		})
	}
	if _, ok, err := reader(t, l).LastPlan(t.Context(), "unknown"); ok || err != nil {
		t.Errorf("a product without builds: found %v, %v", ok, err)
	}
	plans, err := reader(t, l).LastPlans(t.Context())
	want := map[string]Base{
		product:   {WeightG: 500, LengthMM: 1800, ShotG: nan, StrandMM: nan},
		"another": {WeightG: 999, LengthMM: 1800, ShotG: 80, StrandMM: nan},
	}
	if d := cmp.Diff(want, plans, cmpopts.EquateNaNs(), cmpopts.EquateApprox(1e-12, 0)); err != nil || d != "" {
		t.Errorf("of every product: %v (-want +got):\n%s", err, d)
	}
}
