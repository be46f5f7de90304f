package data

import (
	"testing"

	"trueplait/model"
)

func TestPlanFromPartsList(t *testing.T) {
	l := newLog(t)
	nan := model.Unknown
	im, err := l.Begin(t.Context(), noon)
	if err != nil {
		t.Fatal(err)
	}
	files := []file{usualRows()[0], {name: "b.csv", rows: []model.Row{
		edit(usualBuild("B1"), func(b *model.Build) { b.PredictedWeightG, b.PredictedShotG = nan, nan }),
		edit(usualBuild("B2"), func(b *model.Build) { b.Product = "unlisted"; b.PredictedWeightG = nan }),
	}}}
	into(t, im, files...)
	lists, err := im.Unplanned(t.Context())
	if err != nil || len(lists) != 1 || lists[0].Product != "6 ft" || lists[0].Version != 1 || len(lists[0].Parts) != 2 {
		t.Fatalf("unplanned %+v, %v; want the list of 6 ft", lists, err)
	}
	n, err := im.Plan(t.Context(), lists[0], Base{WeightG: 390, LengthMM: 1700, ShotG: 70, StrandMM: nan})
	if err != nil || n != 1 {
		t.Fatalf("planned %d, %v; want 1", n, err)
	}
	if err := im.Commit(t.Context()); err != nil {
		t.Fatal(err)
	}
	for q, want := range map[model.Quantity]float64{model.Weight: 390, model.Shot: 70, model.Body: 320, model.Length: 1800} {
		if obs := observations(t, l, q); obs[0].Base != want {
			t.Errorf("%s: base %v, want %v", q, obs[0].Base, want)
		}
	}
	// The file that left it blank and the export that states it are the same to
	// the log; a new log made of the export has the same base.
	exported := file{name: "export.csv", rows: all(t, l, model.Builds)}
	for _, again := range []file{files[1], exported} {
		outcomes, _ := add(t, l, again)
		if outcomes[0].Same != 2 {
			t.Errorf("%s: %+v, want 2 the same", again.name, outcomes[0])
		}
	}
	copied := newLog(t)
	add(t, copied, exported)
	for _, q := range []model.Quantity{model.Weight, model.Shot, model.Body, model.Length} {
		if got, want := observations(t, copied, q)[0].Base, observations(t, l, q)[0].Base; got != want {
			t.Errorf("%s: base %v in the copy, want %v", q, got, want)
		}
	}
}

// Every list is there with where its parts come from, whether builds wait for
// it or not.
func TestLists(t *testing.T) {
	l := newLog(t)
	list := usualRows()[0]
	add(t, l, list)
	other := edit(list.rows[0].(*model.Part), func(p *model.Part) { p.Product, p.Position = "4 ft", 3 })
	add(t, l, file{name: "second.csv", opt: FinishOptions{Amend: true}, rows: []model.Row{list.rows[1], other}})
	im, err := l.Begin(t.Context(), noon)
	if err != nil {
		t.Fatal(err)
	}
	defer im.Rollback()
	got, err := im.Lists(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	part := func(r model.Row, line, position int) *model.Part {
		return edit(at(r, "second.csv", line).(*model.Part), func(p *model.Part) { p.Position = position })
	}
	want := []PartsList{
		{"4 ft", 1, []*model.Part{part(other, 3, 3)}},
		{"6 ft", 2, []*model.Part{part(list.rows[1], 2, 2)}},
	}
	if d := diff(want, got); d != "" {
		t.Errorf("lists (-want +got):\n%s", d)
	}
	if lists, err := im.Unplanned(t.Context()); err != nil || len(lists) != 0 {
		t.Errorf("unplanned without builds: %+v, %v", lists, err)
	}
}
