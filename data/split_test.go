package data

import (
	"errors"
	"testing"
	"time"

	"trueplait/model"
)

// A split gives the rows of a label from a day on a level of their own, in
// cells, combinations and the latest build; undone, everything is as before.
func TestSplit(t *testing.T) {
	l := newLog(t)
	add(t, l, file{name: "b.csv", rows: []model.Row{
		edit(usualBuild("B1"), func(b *model.Build) { b.Date, b.CoreBatch = day(1), "C1" }),
		edit(usualBuild("B2"), func(b *model.Build) { b.Date, b.CoreBatch = day(2), "C1" }),
		edit(usualBuild("B3"), func(b *model.Build) { b.Date, b.CoreBatch = day(3), "C1" }),
		edit(usualBuild("B4"), func(b *model.Build) { b.Date, b.CoreBatch = day(4), "C2" }),
	}})
	levels := func() map[string]int {
		t.Helper()
		o, err := l.Observations(t.Context(), time.Time{}, false)
		if err != nil {
			t.Fatal(err)
		}
		cells, err := o.Cells(t.Context(), model.Shot, nil)
		if err != nil {
			t.Fatal(err)
		}
		got := map[string]int{}
		for _, c := range cells {
			got[c.Labels.CoreBatch] += c.N
		}
		combinations, err := o.Combinations(t.Context(), model.Shot, []model.Effect{model.CoreBatch})
		if err != nil {
			t.Fatal(err)
		}
		if len(combinations) != len(got) {
			t.Errorf("combinations %v, cells %v", combinations, got)
		}
		return got
	}
	equal := func(got, want map[string]int) {
		t.Helper()
		if len(got) != len(want) {
			t.Errorf("levels %v, want %v", got, want)
		}
		for k, n := range want {
			if got[k] != n {
				t.Errorf("levels %v, want %v", got, want)
			}
		}
	}
	before := levels()
	equal(before, map[string]int{"C1": 3, "C2": 1})
	whole, err := l.Fingerprint(t.Context(), time.Time{})
	if err != nil {
		t.Fatal(err)
	}

	s := model.Split{Effect: model.CoreBatch, Label: "C1", Since: day(2)}
	later := model.Split{Effect: model.CoreBatch, Label: "C1", Since: day(3)}
	for _, s := range []model.Split{s, s, later} { // saying it twice changes nothing
		if err := l.Split(t.Context(), s, noon); err != nil {
			t.Fatal(err)
		}
	}
	equal(levels(), map[string]int{"C1": 1, s.Level(): 1, later.Level(): 1, "C2": 1})
	split, err := l.Fingerprint(t.Context(), time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	if split == whole {
		t.Error("the fingerprint does not know of the split")
	}
	if list, err := l.Splits(t.Context()); err != nil || len(list) != 2 || list[0] != s || list[1] != later {
		t.Errorf("splits %v, %v", list, err)
	}
	o, err := l.Observations(t.Context(), day(3), false)
	if err != nil {
		t.Fatal(err)
	}
	if id, labels, ok, err := o.Latest(t.Context(), ""); err != nil || !ok || id != "B3" || labels.CoreBatch != later.Level() {
		t.Errorf("latest %s %+v, %v, %v", id, labels, ok, err)
	}
	newest, err := o.Newest(t.Context(), model.Shot, 2)
	if err != nil || len(newest) != 2 || newest[0].Key.ID != "B2" || newest[1].Labels.CoreBatch != later.Level() {
		t.Errorf("newest %+v, %v", newest, err)
	}

	for _, s := range []model.Split{later, s} {
		if err := l.Unsplit(t.Context(), s, noon); err != nil {
			t.Fatal(err)
		}
	}
	equal(levels(), before)
	if err := l.Unsplit(t.Context(), s, noon); !errors.Is(err, ErrNoSplit) {
		t.Errorf("undone twice: %v", err)
	}
	if again, err := l.Fingerprint(t.Context(), time.Time{}); err != nil || again != whole {
		t.Errorf("fingerprint %s, %v; want %s", again, err, whole)
	}
}
