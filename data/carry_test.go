package data

import (
	"testing"

	"trueplait/model"
)

// addPlanned imports files, fills in what builds leave blank with base, and
// returns how many builds that were.
func addPlanned(t *testing.T, l *Log, base Base, files ...file) int {
	t.Helper()
	im, err := l.Begin(t.Context(), noon)
	if err != nil {
		t.Fatal(err)
	}
	into(t, im, files...)
	lists, err := im.Unplanned(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	planned := 0
	for _, list := range lists {
		n, err := im.Plan(t.Context(), list, base)
		if err != nil {
			t.Fatal(err)
		}
		planned += n
	}
	if err := im.Commit(t.Context()); err != nil {
		t.Fatal(err)
	}
	return planned
}

// An amendment never works out again what was worked out for the row it
// replaces.
func TestAmendedBuildKeepsWhatWasWorkedOut(t *testing.T) {
	nan := model.Unknown
	first, later := Base{390, 1700, 70, 2500}, Base{500, 2000, 90, 3000}
	kept := [5]float64{390, nan, 70, 2500, 1}
	tests := []struct {
		name     string
		change   func(*model.Build)
		want     [5]float64 // computed weight, length, shot, strand; version. NaN: none
		relisted [5]float64 // the same if the product has another list by now
	}{
		{"still blank", func(b *model.Build) { b.WeightG++ }, kept, kept},
		{"other maker", func(b *model.Build) { b.Maker, b.ShotFactor = "bob", 0.9 }, kept, kept},
		{"as exported", func(b *model.Build) {
			b.WeightG, b.PredictedWeightG, b.PredictedShotG, b.PredictedStrandMM = 500, 390, 70, 2500
		}, kept, kept},
		{"one is stated now", func(b *model.Build) { b.PredictedWeightG = 400 },
			[5]float64{nan, nan, 70, 2500, 1}, [5]float64{nan, nan, 70, 2500, 1}},
		{"all are stated now", func(b *model.Build) { b.PredictedWeightG, b.PredictedShotG, b.PredictedStrandMM = 400, 80, 2400 },
			[5]float64{nan, nan, nan, nan, nan}, [5]float64{nan, nan, nan, nan, nan}},
		{"product without a list", func(b *model.Build) { b.Product = "unlisted" },
			[5]float64{nan, nan, nan, nan, nan}, [5]float64{nan, nan, nan, nan, nan}},
		// Figures of two lists do not mix.
		{"one more is blank", func(b *model.Build) { b.PredictedLengthMM = nan }, [5]float64{390, 2000, 70, 2500, 1}, kept},
	}
	list := usualRows()[0]
	before := file{name: "b.csv"}
	after := file{name: "amend.csv", opt: FinishOptions{Amend: true}}
	for _, tt := range tests {
		old := edit(usualBuild(tt.name), func(b *model.Build) { b.PredictedWeightG, b.PredictedShotG = nan, nan })
		before.rows = append(before.rows, old)
		after.rows = append(after.rows, edit(old, tt.change))
	}
	for _, relisted := range []bool{false, true} {
		l := newLog(t)
		if n := addPlanned(t, l, first, list, before); n != len(tests) {
			t.Fatalf("%d builds filled in, want %d", n, len(tests))
		}
		planned := 1 // of the one more that is blank
		if relisted {
			add(t, l, file{name: "shorter.csv", opt: FinishOptions{Amend: true}, rows: list.rows[:1]})
			planned = 0
		}
		for _, planned := range []int{planned, 0} { // again, it brings nothing
			if n := addPlanned(t, l, later, after); n != planned {
				t.Errorf("relisted %v: %d builds filled in, want %d", relisted, n, planned)
			}
			for _, tt := range tests {
				want := tt.want
				if relisted {
					want = tt.relisted
				}
				if d := diff(want, workedOut(t, l, tt.name)); d != "" {
					t.Errorf("%s, relisted %v (-want +got):\n%s", tt.name, relisted, d)
				}
			}
		}
	}
}

// workedOut is the computed weight, length, shot and strand of a build, and the
// version of the list they are from; NaN: none.
func workedOut(t *testing.T, l *Log, id string) (out [5]float64) {
	t.Helper()
	var targets []any
	for i := range out {
		targets = append(targets, &field{"computed", &out[i]})
	}
	err := l.db.QueryRow("select computed_weight_g, computed_length_mm, computed_shot_g, computed_strand_mm, "+
		"cast(parts_version as double precision) from build where id = $1", id).Scan(targets...)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func TestAmendedFillAndCheckKeepWhatWasWorkedOut(t *testing.T) {
	fill := edit(usualFill("F1"), func(f *model.Fill) { f.PredictedShotG = model.Unknown })
	check := edit(usualCheck("K1"), func(c *model.Check) { c.PredictedMassG = model.Unknown })
	first, later := SettleOptions{ShotGMM: 0.19, StrandGMM: 0.007}, SettleOptions{ShotGMM: 0.3, StrandGMM: 0.01}
	tests := []struct {
		name  string
		fill  func(*model.Fill)
		check func(*model.Check)
		base  [2]float64 // of the fill and of the check
		anew  int        // how many of each are worked out anew
	}{
		{"same length", func(f *model.Fill) { f.ShotMassG++ }, func(c *model.Check) { c.CheckedMassG++ }, [2]float64{38, 21}, 0},
		{"other length", func(f *model.Fill) { f.FilledLengthMM = 100 }, func(c *model.Check) { c.CheckedLengthMM = 1000 }, [2]float64{30, 10}, 1},
		{"stated now", func(f *model.Fill) { f.PredictedShotG = 35 }, func(c *model.Check) { c.PredictedMassG = 19 }, [2]float64{35, 19}, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			l := newLog(t)
			settle(t, l, first, file{name: "f.csv", rows: []model.Row{fill}}, file{name: "c.csv", rows: []model.Row{check}})
			amend := FinishOptions{Amend: true}
			for _, anew := range []int{tt.anew, 0} { // again, it brings nothing
				s := settle(t, l, later,
					file{name: "f2.csv", opt: amend, rows: []model.Row{edit(fill, tt.fill)}},
					file{name: "c2.csv", opt: amend, rows: []model.Row{edit(check, tt.check)}})
				if s.FillsFromParts != anew || s.ChecksFromParts != anew {
					t.Errorf("%d fills and %d checks worked out anew, want %d", s.FillsFromParts, s.ChecksFromParts, anew)
				}
				got := [2]float64{all(t, l, model.Fills)[0].(*model.Fill).PredictedShotG, all(t, l, model.Checks)[0].(*model.Check).PredictedMassG}
				if !near(got[0], tt.base[0], 1e-12) || !near(got[1], tt.base[1], 1e-12) {
					t.Errorf("base %v, want %v", got, tt.base)
				}
			}
		})
	}
}
