package data

import (
	"testing"
	"time"

	"trueplait/model"
)

// unstatedLog is a log with a row of every kind, of which the build, the fill and
// the check state no prediction and have it worked out.
func unstatedLog(t *testing.T) (*Log, string) {
	t.Helper()
	l, path := openLog(t)
	nan := model.Unknown
	im, err := l.Begin(t.Context(), noon)
	if err != nil {
		t.Fatal(err)
	}
	merge(t, im,
		usualRows()[0], usualRows()[1],
		file{name: "fills.csv", rows: []model.Row{edit(usualFill("F1"), func(f *model.Fill) { f.PredictedShotG = nan })}},
		file{name: "checks.csv", rows: []model.Row{edit(usualCheck("K1"), func(c *model.Check) { c.PredictedMassG = nan })}},
		file{name: "builds.csv", rows: []model.Row{edit(usualBuild("B1"), func(b *model.Build) {
			b.PredictedWeightG, b.PredictedShotG, b.ShotFactor, b.BodyFactor = nan, nan, 0.9, 0.9
		})}},
	)
	if _, err := im.Settle(t.Context(), SettleOptions{ShotGMM: 0.25, StrandGMM: 0.007}); err != nil {
		t.Fatal(err)
	}
	lists, err := im.Lists(t.Context())
	if err != nil || len(lists) != 1 {
		t.Fatalf("%d lists, %v", len(lists), err)
	}
	if n, err := im.Plan(t.Context(), lists[0], Base{390, 1700, 70, 2500}); err != nil || n != 1 {
		t.Fatalf("planned %d, %v", n, err)
	}
	if err := im.Commit(t.Context()); err != nil {
		t.Fatal(err)
	}
	return l, path
}

// ids are one id of every kind that has ids.
var ids = map[model.Kind]string{model.Products: "6 ft", model.Fills: "F1", model.Checks: "K1", model.Builds: "B1"}

func TestRowIsAsStatedFullAsListed(t *testing.T) {
	nan := model.Unknown
	rw, path := unstatedLog(t)
	if err := rw.Close(); err != nil {
		t.Fatal(err)
	}
	l, err := Open(t.Context(), path, ReadOnly)
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	for kind, id := range ids {
		listed := all(t, l, kind)[0]
		full, ok, err := l.Full(t.Context(), kind, id)
		if d := diff(listed, full); err != nil || !ok || d != "" {
			t.Errorf("Full(%s, %s): %v, %v (-want +got):\n%s", kind, id, ok, err, d)
		}
		want := listed
		switch r := listed.(type) {
		case *model.Build:
			if diff([]float64{390 * 0.9, 70 * 0.9, 2500}, []float64{r.PredictedWeightG, r.PredictedShotG, r.PredictedStrandMM}) != "" {
				t.Errorf("listed %+v", r)
			}
			want = edit(r, func(b *model.Build) { b.PredictedWeightG, b.PredictedShotG, b.PredictedStrandMM = nan, nan, nan })
		case *model.Fill:
			if r.PredictedShotG != 50 {
				t.Errorf("listed %+v", r)
			}
			want = edit(r, func(f *model.Fill) { f.PredictedShotG = nan })
		case *model.Check:
			if r.PredictedMassG != 21 {
				t.Errorf("listed %+v", r)
			}
			want = edit(r, func(c *model.Check) { c.PredictedMassG = nan })
		}
		row, ok, err := l.Row(t.Context(), kind, id)
		if d := diff(want, row); err != nil || !ok || d != "" {
			t.Errorf("Row(%s, %s): %v, %v (-want +got):\n%s", kind, id, ok, err, d)
		}
		for _, id := range []string{"", "none", "b1"} {
			if row, ok, err := l.Row(t.Context(), kind, id); row != nil || ok || err != nil {
				t.Errorf("Row(%s, %q) = %v, %v, %v", kind, id, row, ok, err)
			}
			if row, ok, err := l.Full(t.Context(), kind, id); row != nil || ok || err != nil {
				t.Errorf("Full(%s, %q) = %v, %v, %v", kind, id, row, ok, err)
			}
		}
	}
}

// What Row gives can be saved again: it is the same row. So can a corrected
// one, which keeps what was worked out and the factors its figures contain.
func TestRowSavedAgain(t *testing.T) {
	l, _ := unstatedLog(t)
	for kind, id := range ids {
		row, _, err := l.Row(t.Context(), kind, id)
		if err != nil {
			t.Fatal(err)
		}
		if o, _ := add(t, l, file{name: "bench", rows: []model.Row{row}}); o[0].Same != 1 {
			t.Errorf("%s as it was: %+v, want the same", kind, o[0])
		}
	}
	number, err := l.SaveCalibration(t.Context(), Calibration{Fingerprint: "f", NewestSource: newestOf(t, l), Made: noon}, found("{}", []SavedFactor{
		{model.Shot, model.Labels{Maker: "ann", CoreBatch: "C1", ShotBatch: "S1"}, 0.95},
		{model.Body, model.Labels{Maker: "ann", StrandBatch: "N1", Product: "6 ft"}, 1.04},
		{model.Length, model.Labels{Maker: "ann", StrandBatch: "N1", Product: "6 ft"}, 1.02},
		{model.Shot, model.Labels{Maker: "ann", CoreBatch: "C2", ShotBatch: "S1"}, 0.8},
	}...))
	if err != nil {
		t.Fatal(err)
	}
	add(t, l, file{name: "b.csv", rows: []model.Row{edit(usualBuild("B2"), func(b *model.Build) { b.Calibration = number })}})
	row, _, err := l.Row(t.Context(), model.Builds, "B2")
	if err != nil {
		t.Fatal(err)
	}
	corrected := edit(row.(*model.Build), func(b *model.Build) { b.CoreBatch = "C2" })
	add(t, l, file{name: "bench", opt: FinishOptions{Amend: true}, rows: []model.Row{corrected}})
	if row, _, err = l.Row(t.Context(), model.Builds, "B2"); err != nil || row.(*model.Build).ShotFactor != 0.95 {
		t.Errorf("after its batch was corrected: %+v, %v; want the factor its plan contains, 0.95", row, err)
	}
}

func TestHistory(t *testing.T) {
	l, _ := openLog(t)
	heavier := func(g float64) model.Row {
		return edit(usualBuild("B1"), func(b *model.Build) { b.WeightG += g })
	}
	later := noon.Add(time.Hour)
	for i, step := range []file{
		{name: "a.csv", rows: []model.Row{heavier(0), edit(usualBuild("B2"), func(b *model.Build) { b.PredictedWeightG = model.Unknown })}},
		{name: "b.csv", rows: []model.Row{heavier(1)}},
		{name: "c.csv", rows: []model.Row{usualBuild("B3"), heavier(2)}},
	} {
		step.opt.Amend = true
		im, err := l.Begin(t.Context(), noon.Add(time.Duration(i)*time.Hour))
		if err != nil {
			t.Fatal(err)
		}
		merge(t, im, step)
		if err := im.Commit(t.Context()); err != nil {
			t.Fatal(err)
		}
	}
	want := []Amendment{
		{Row: at(heavier(0), "a.csv", 2), When: later, By: "b.csv"},
		{Row: at(heavier(1), "b.csv", 2), When: later.Add(time.Hour), By: "c.csv"},
	}
	got, err := l.History(t.Context(), model.Builds, "B1")
	if d := diff(want, got); err != nil || d != "" {
		t.Errorf("history, %v (-want +got):\n%s", err, d)
	}
	for _, id := range []string{"", "B2", "B3", "none"} {
		if got, err := l.History(t.Context(), model.Builds, id); err != nil || len(got) > 0 {
			t.Errorf("history of %q: %v, %v", id, got, err)
		}
	}
	if _, err := l.History(t.Context(), "whips", "B1"); err == nil {
		t.Error("a history of whips")
	}

	s, ok, err := l.SourceOf(t.Context(), model.Builds, "B1")
	if err != nil || !ok || s.Name != "c.csv" || !s.Imported.Equal(later.Add(time.Hour)) || s.Kind != model.Builds || len(s.SHA256) != 64 {
		t.Errorf("B1 came from %+v, %v, %v; want c.csv two hours after noon", s, ok, err)
	}
	if s, ok, err := l.SourceOf(t.Context(), model.Builds, "B2"); err != nil || !ok || s.Name != "a.csv" || !s.Imported.Equal(noon) {
		t.Errorf("B2 came from %+v, %v, %v; want a.csv at noon", s, ok, err)
	}
	if s, ok, err := l.SourceOf(t.Context(), model.Fills, "B1"); err != nil || ok || s != (SourceFile{}) {
		t.Errorf("fill B1 came from %+v, %v, %v", s, ok, err)
	}
}

// The history of a parts list is that of its product.
func TestHistoryOfParts(t *testing.T) {
	l := newLog(t)
	list := usualRows()[0]
	add(t, l, list)
	add(t, l, file{name: "short.csv", opt: FinishOptions{Amend: true}, rows: list.rows[:1]})
	got, err := l.History(t.Context(), model.Parts, "6 ft")
	if err != nil || len(got) != 2 || got[0].Row.(*model.Part).Name != "handle" || got[1].By != "short.csv" {
		t.Errorf("history %+v, %v; want both parts of the first list", got, err)
	}
}

func TestNewestIDAndHas(t *testing.T) {
	l := newLog(t)
	newest := func() map[model.Kind]string {
		t.Helper()
		out := map[model.Kind]string{}
		for kind := range ids {
			id, err := l.NewestID(t.Context(), kind)
			if err != nil {
				t.Fatal(err)
			}
			out[kind] = id
		}
		return out
	}
	want := map[model.Kind]string{model.Products: "", model.Fills: "", model.Checks: "", model.Builds: ""}
	if d := diff(want, newest()); d != "" {
		t.Errorf("newest of an empty log (-want +got):\n%s", d)
	}
	add(t, l, usualRows()...)
	want = map[model.Kind]string{model.Products: "6 ft", model.Fills: "F2", model.Checks: "K1", model.Builds: "B2"} // the last lines
	if d := diff(want, newest()); d != "" {
		t.Errorf("newest (-want +got):\n%s", d)
	}
	add(t, l, file{name: "again.csv", opt: FinishOptions{Amend: true}, rows: []model.Row{
		edit(usualFill("F1"), func(f *model.Fill) { f.ShotMassG++ })}})
	want[model.Fills] = "F1"
	if d := diff(want, newest()); d != "" {
		t.Errorf("newest after an amendment (-want +got):\n%s", d)
	}

	save(t, l, usualPlan("B7"), usualPlan("B8"))
	if err := l.DropPlan(t.Context(), "B8", noon); err != nil {
		t.Fatal(err)
	}
	tests := []struct {
		kind model.Kind
		id   string
		want bool
	}{
		{model.Builds, "B1", true}, {model.Builds, "b1", false}, {model.Builds, "F1", false}, {model.Builds, "", false},
		{model.Builds, "B7", true}, {model.Builds, "B8", false}, {model.Fills, "B7", false},
		{model.Fills, "F1", true}, {model.Checks, "K1", true}, {model.Products, "6 ft", true}, {model.Products, "8 ft", false},
	}
	for _, tt := range tests {
		if got, err := l.Has(t.Context(), tt.kind, tt.id); got != tt.want || err != nil {
			t.Errorf("Has(%s, %q) = %v, %v; want %v", tt.kind, tt.id, got, err, tt.want)
		}
	}
	if want[model.Builds] != newest()[model.Builds] {
		t.Error("a plan counts as the newest build")
	}
}

// Parts have no id each, and there are no other kinds.
func TestKindsWithoutIDs(t *testing.T) {
	l := newLog(t)
	add(t, l, usualRows()...)
	for _, kind := range []model.Kind{model.Parts, "whips"} {
		_, _, row := l.Row(t.Context(), kind, "6 ft")
		_, _, full := l.Full(t.Context(), kind, "6 ft")
		_, _, source := l.SourceOf(t.Context(), kind, "6 ft")
		_, newest := l.NewestID(t.Context(), kind)
		_, has := l.Has(t.Context(), kind, "6 ft")
		for name, err := range map[string]error{"Row": row, "Full": full, "SourceOf": source, "NewestID": newest, "Has": has} {
			if err == nil {
				t.Errorf("%s(%s): no error", name, kind)
			}
		}
	}
}
