package data

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"trueplait/model"
)

// usualPlan is a plan with every figure, all of them other than usualBuild's.
func usualPlan(id string) model.OpenBuild {
	return model.OpenBuild{
		ID: id, Saved: noon, Started: day(-9),
		Labels:           model.Labels{Maker: "ann", Product: "6 ft", CoreBatch: "C7", StrandBatch: "N7", ShotBatch: "S7"},
		PredictedWeightG: 420, PredictedLengthMM: 1900, PredictedShotG: 90, PredictedStrandMM: 2600,
		Calibration: 3, ShotFactor: 0.95, BodyFactor: 1.04, LengthFactor: 1.02, LoadLengthMM: 450, TargetWeightG: 425,
	}
}

// save saves a plan and expects no error.
func save(t *testing.T, l *Log, plans ...model.OpenBuild) {
	t.Helper()
	for _, p := range plans {
		if err := l.SavePlan(t.Context(), p); err != nil {
			t.Fatal(err)
		}
	}
}

// open lists the ids of the open plans.
func open(t *testing.T, l *Log) []string {
	t.Helper()
	plans, err := l.OpenBuilds(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	var ids []string
	for _, p := range plans {
		ids = append(ids, p.ID)
	}
	return ids
}

func TestOpenBuildsGiveBackWhatWentIn(t *testing.T) {
	l := newLog(t)
	nan := model.Unknown
	later := usualPlan("a later one")
	later.Saved = noon.Add(time.Hour)
	least := model.OpenBuild{ID: "B2", Saved: noon, Labels: model.Labels{Product: "6 ft"},
		PredictedWeightG: nan, PredictedLengthMM: nan, PredictedShotG: nan, PredictedStrandMM: nan,
		ShotFactor: nan, BodyFactor: nan, LengthFactor: nan, LoadLengthMM: nan, TargetWeightG: nan}
	save(t, l, later, least, usualPlan("B1"))
	got, err := l.OpenBuilds(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if d := diff([]model.OpenBuild{usualPlan("B1"), least, later}, got); d != "" {
		t.Errorf("open plans (-want +got):\n%s", d)
	}
}

func TestSavePlanAgain(t *testing.T) {
	l := newLog(t)
	add(t, l, file{name: "a.csv", rows: []model.Row{usualBuild("B0")}})
	save(t, l, usualPlan("B1"))
	before := dump(t, l)
	tests := []struct {
		name   string
		change func(*model.OpenBuild)
		is     error
		says   []string
	}{
		{"the same, later", func(p *model.OpenBuild) { p.Saved, p.Started = noon.Add(time.Hour), day(-9).Add(time.Hour) }, nil, nil},
		{"other figures", func(p *model.OpenBuild) { p.PredictedWeightG, p.CoreBatch = 421, "" }, ErrPlanKnown,
			[]string{`"B1"`, `core_batch "C7" there, "" here`, `predicted_weight_g "420" there, "421" here`, "another id"}},
		{"another target", func(p *model.OpenBuild) { p.TargetWeightG = model.Unknown }, ErrPlanKnown, []string{`target_weight_g "425" there, "" here`}},
		{"a build of the log", func(p *model.OpenBuild) { p.ID = "B0" }, ErrBuildKnown, []string{`"B0"`, "another id"}},
		{"no id", func(p *model.OpenBuild) { p.ID = "" }, nil, []string{"name both"}},
		{"no product", func(p *model.OpenBuild) { p.Product = "" }, nil, []string{"name both"}},
		{"not UTF-8", func(p *model.OpenBuild) { p.ID, p.Maker = "B9", "\xff" }, nil, []string{"not UTF-8"}},
	}
	for _, tt := range tests {
		plan := usualPlan("B1")
		tt.change(&plan)
		err := l.SavePlan(t.Context(), plan)
		if (err == nil) != (tt.says == nil) || tt.is != nil && !errors.Is(err, tt.is) {
			t.Errorf("%s: %v", tt.name, err)
		}
		for _, says := range tt.says {
			if err != nil && !strings.Contains(err.Error(), says) {
				t.Errorf("%s: %q does not say %q", tt.name, err, says)
			}
		}
		if after := dump(t, l); after != before {
			t.Errorf("%s: the log changed", tt.name)
		}
	}
}

// No fit, count or export knows of open plans.
func TestOpenPlansAreNoRows(t *testing.T) {
	l := newLog(t)
	add(t, l, usualRows()...)
	state := func() any {
		t.Helper()
		fingerprint, err := l.Fingerprint(t.Context(), time.Time{})
		if err != nil {
			t.Fatal(err)
		}
		obs := map[model.Quantity][]model.Observation{}
		for _, q := range model.Quantities {
			obs[q] = observations(t, l, q)
		}
		labels, err := l.Labels(t.Context(), model.CoreBatch)
		if err != nil {
			t.Fatal(err)
		}
		return []any{fingerprint, summary(t, l), obs, all(t, l, model.Builds), labels}
	}
	before := state()
	save(t, l, usualPlan("B8"), usualPlan("B9"))
	if d := diff(before, state()); d != "" {
		t.Errorf("without and with open plans:\n%s", d)
	}
}

// history lists the plans that ended, as text: id, weight, when, whether dropped.
func history(t *testing.T, l *Log) []string {
	t.Helper()
	var out []string
	var id string
	var weight float64
	var ended time.Time
	var dropped bool
	const query = "select id, predicted_weight_g, ended_at, dropped from open_build_history order by ended_at, id"
	err := each(t.Context(), l.db, query, []any{&id, &weight, &ended, &dropped}, func() error {
		out = append(out, fmt.Sprint(id, " ", weight, " ", ended.Format(time.TimeOnly), " ", dropped))
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func TestReplacePlan(t *testing.T) {
	l := newLog(t)
	add(t, l, file{name: "a.csv", rows: []model.Row{usualBuild("B0")}})
	save(t, l, usualPlan("B1"), usualPlan("B2"))
	changed := usualPlan("B1")
	changed.Saved, changed.PredictedWeightG, changed.CoreBatch, changed.ShotFactor = noon.Add(time.Hour), 421, "", model.Unknown
	for range 2 { // the second says the same
		if err := l.ReplacePlan(t.Context(), changed); err != nil {
			t.Fatal(err)
		}
	}
	got, err := l.OpenBuilds(t.Context())
	if d := diff([]model.OpenBuild{usualPlan("B2"), changed}, got); err != nil || d != "" {
		t.Errorf("open plans, %v (-want +got):\n%s", err, d)
	}
	if want, got := []string{"B1 420 13:00:00 false"}, history(t, l); !slices.Equal(got, want) {
		t.Errorf("history %v, want %v", got, want)
	}
	before := dump(t, l)
	for _, tt := range []struct {
		name, id, product string
		is                error
	}{
		{"not planned", "B9", "6 ft", ErrNoPlan},
		{"built", "B0", "6 ft", ErrNoPlan},
		{"no id", "", "6 ft", nil},
		{"no product", "B1", "", nil},
		{"not UTF-8", "B1", "\xff", nil},
	} {
		plan := usualPlan(tt.id)
		plan.Product = tt.product
		err := l.ReplacePlan(t.Context(), plan)
		if err == nil || tt.is != nil && (!errors.Is(err, tt.is) || !strings.Contains(err.Error(), tt.id)) {
			t.Errorf("%s: %v", tt.name, err)
		}
		if after := dump(t, l); after != before {
			t.Errorf("%s: the log changed", tt.name)
		}
	}

	// The build takes from the plan as it is now.
	add(t, l, file{name: "b.csv", rows: []model.Row{finished("B1")}})
	row, _, err := l.Row(t.Context(), model.Builds, "B1")
	if b := row.(*model.Build); err != nil || b.PredictedWeightG != 421 || b.CoreBatch != "" || model.Known(b.ShotFactor) {
		t.Errorf("%+v, %v; want the figures of the changed plan", b, err)
	}
	if err := l.ReplacePlan(t.Context(), changed); !errors.Is(err, ErrNoPlan) {
		t.Errorf("a finished plan: %v, want ErrNoPlan", err)
	}
}

func TestDropPlan(t *testing.T) {
	l := newLog(t)
	save(t, l, usualPlan("B1"), usualPlan("B2"), usualPlan("B3"))
	other := usualPlan("B2") // of another product and maker: B2 is free again
	other.Product, other.Maker, other.PredictedWeightG = "8 ft", "bob", 500
	for i, id := range []string{"B1", "B2"} {
		if err := l.DropPlan(t.Context(), id, noon.Add(time.Duration(i+1)*time.Hour)); err != nil {
			t.Fatal(err)
		}
	}
	for _, id := range []string{"B1", "B9", ""} {
		if err := l.DropPlan(t.Context(), id, noon); !errors.Is(err, ErrNoPlan) || !strings.Contains(err.Error(), strconv.Quote(id)) {
			t.Errorf("drop %q: %v, want ErrNoPlan", id, err)
		}
	}
	save(t, l, other)
	if ids := open(t, l); !slices.Equal(ids, []string{"B2", "B3"}) {
		t.Errorf("open: %v, want B2 and B3", ids)
	}
	if want, got := []string{"B1 420 13:00:00 true", "B2 420 14:00:00 true"}, history(t, l); !slices.Equal(got, want) {
		t.Errorf("history %v, want %v", got, want)
	}

	// Builds take nothing from a dropped plan, and need not agree with it.
	outcomes, _ := add(t, l, file{name: "b.csv", rows: []model.Row{
		edit(finished("B1"), func(b *model.Build) { b.Maker = "bob" }),
		edit(finished("B2"), func(b *model.Build) { b.Maker, b.Product = "bob", "8 ft" }),
	}})
	if d := diff(Outcome{New: 2}, outcomes[0]); d != "" {
		t.Fatalf("outcome (-want +got):\n%s", d)
	}
	for id, want := range map[string]float64{"B1": model.Unknown, "B2": 500} {
		row, _, err := l.Row(t.Context(), model.Builds, id)
		if err != nil || diff(want, row.(*model.Build).PredictedWeightG) != "" {
			t.Errorf("%s: %+v, %v; want a predicted weight of %v", id, row, err, want)
		}
	}
	for _, id := range []string{"B1", "B2"} { // built by now
		if err := l.DropPlan(t.Context(), id, noon); !errors.Is(err, ErrNoPlan) {
			t.Errorf("drop of a finished plan: %v, want ErrNoPlan", err)
		}
	}
}
