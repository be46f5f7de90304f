package data

import (
	"fmt"
	"slices"
	"testing"

	"trueplait/model"
)

// rising are builds with ids that rise, for some batches and a piece of one.
func rising(first int) []model.Row {
	var out []model.Row
	for i := range 3*batchRows + batchRows/3 {
		out = append(out, edit(usualBuild(fmt.Sprintf("B%05d", first+i)), func(b *model.Build) {
			b.WeightG += float64(i % 50)
			b.Calibration, b.CoreBatch = 0, fmt.Sprint("C", i/100)
		}))
	}
	return out
}

// What goes into the log as it is read and what is staged first comes to the
// same: a plan for another build is enough to have all of a file staged.
func TestAscent(t *testing.T) {
	heavier := func(row model.Row) model.Row {
		return edit(row.(*model.Build), func(b *model.Build) { b.WeightG += 1000 })
	}
	const early, late = 7, 2*batchRows + 9
	for _, tt := range []struct {
		name   string
		change func(rows []model.Row) []model.Row
		opt    FinishOptions
		added  bool // some go into the log as they are read
	}{
		{"rising", func(rows []model.Row) []model.Row { return rows }, FinishOptions{}, true},
		{"falling", func(rows []model.Row) []model.Row { slices.Reverse(rows); return rows }, FinishOptions{}, false},
		{"ends on a batch", func(rows []model.Row) []model.Row { return rows[:2*batchRows] }, FinishOptions{}, true},
		{"less than a batch", func(rows []model.Row) []model.Row { return rows[:batchRows-1] }, FinishOptions{}, false},
		{"said again", func(rows []model.Row) []model.Row { return append(rows, rows[early], rows[early], rows[late]) }, FinishOptions{}, true},
		{"said again at once", func(rows []model.Row) []model.Row { return slices.Insert(rows, late, rows[late]) }, FinishOptions{}, true},
		{"new ones said twice after the rise", func(rows []model.Row) []model.Row {
			return append(rows, usualBuild("A1"), usualBuild("A1"), heavier(usualBuild("A1")))
		}, FinishOptions{}, true},
		{"contradicted", func(rows []model.Row) []model.Row { return append(rows, heavier(rows[early]), rows[early]) }, FinishOptions{}, true},
		{"contradicted, amending", func(rows []model.Row) []model.Row { return append(rows, heavier(rows[early])) }, FinishOptions{Amend: true}, true},
		{"the log's again", func(rows []model.Row) []model.Row { return append(rows, usualBuild("A0")) }, FinishOptions{}, true},
		{"the log's changed", func(rows []model.Row) []model.Row { return append(rows, heavier(usualBuild("A0"))) }, FinishOptions{}, true},
		{"the log's amended", func(rows []model.Row) []model.Row { return append(rows, heavier(usualBuild("A0"))) }, FinishOptions{Amend: true}, true},
		{"the log's first", func(rows []model.Row) []model.Row { return append([]model.Row{usualBuild("A0")}, rows...) }, FinishOptions{}, false},
		{"a calibration", func(rows []model.Row) []model.Row {
			rows[late] = edit(usualBuild(rows[late].Key()), func(b *model.Build) { b.Calibration, b.ShotFactor, b.BodyFactor = 3, model.Unknown, model.Unknown })
			return rows
		}, FinishOptions{}, true},
	} {
		t.Run(tt.name, func(t *testing.T) {
			do := func(staged bool) (out Outcome, settled Settled, rows []model.Row, added int) {
				l := newLog(t)
				add(t, l, file{name: "earlier.csv", rows: []model.Row{edit(usualBuild("A0"), func(b *model.Build) { b.Calibration = 0 })}})
				if staged {
					save(t, l, usualPlan("another"))
				}
				im, err := l.Begin(t.Context(), noon)
				if err != nil {
					t.Fatal(err)
				}
				f, err := im.File("long.csv", model.Builds)
				if err != nil {
					t.Fatal(err)
				}
				for i, row := range tt.change(rising(1)) {
					if err := f.Add(at(row, "long.csv", i+2)); err != nil {
						t.Fatal(err)
					}
				}
				if out, err = f.Finish(t.Context(), tt.opt); err != nil {
					t.Fatal(err)
				}
				if settled, err = im.Settle(t.Context(), SettleOptions{}); err != nil {
					t.Fatal(err)
				}
				if err := im.Commit(t.Context()); err != nil {
					t.Fatal(err)
				}
				return out, settled, all(t, l, model.Builds), f.added
			}
			out, settled, rows, added := do(false)
			wantOut, wantSettled, wantRows, none := do(true)
			if (added > 0) != tt.added || none != 0 {
				t.Errorf("%d rows were added as they were read, %d beside a plan; some: want %t", added, none, tt.added)
			}
			if d := diff(wantOut, out); d != "" {
				t.Errorf("outcome (-staged +read):\n%s", d)
			}
			if d := diff(wantSettled, settled); d != "" {
				t.Errorf("settled (-staged +read):\n%s", d)
			}
			if d := diff(wantRows, rows); d != "" {
				t.Errorf("rows (-staged +read):\n%s", d)
			}
		})
	}
}
