package data

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"trueplait/model"
)

func TestSettle(t *testing.T) {
	l := newLog(t)
	nan := model.Unknown
	add(t, l, file{name: "a.csv", rows: []model.Row{usualFill("F0"), edit(usualFill("F1"), func(f *model.Fill) { f.PredictedShotG = nan })}})
	if s := summary(t, l); s.UnpredictedFills != 1 {
		t.Fatalf("%d test fills without prediction before there are builds, want 1", s.UnpredictedFills)
	}
	_, s := add(t, l, file{name: "b.csv", rows: []model.Row{
		usualBuild("B1"), // 80 g over 400 mm: 0.2 g/mm
		edit(usualBuild("B2"), func(b *model.Build) { b.PredictedShotG, b.ShotFactor = 100, 0.8 }), // 125 g: 0.3125
		edit(usualBuild("B3"), func(b *model.Build) { b.LoadLengthMM = 300 }),                      // 0.2667, the median
		edit(usualBuild("B4"), func(b *model.Build) { b.WeightG /= 28.35; b.LoadLengthMM = nan }),
		edit(usualBuild("B5"), func(b *model.Build) { b.LengthMM /= 25.4; b.LoadLengthMM = nan }),
		edit(blankBuild("B6"), func(b *model.Build) { b.WeightG = 400 }),
	}})
	if s.FillsComputed != 1 || s.Unpredicted[model.Builds] != 1 || s.Unpredicted[model.Fills] != 0 {
		t.Errorf("%+v, want one fill worked out and one build unpredicted", s)
	}
	obs := observations(t, l, model.Shot)
	for _, o := range obs {
		if o.Key.ID == "F1" && !near(o.Base, 200*80/300.0, 1e-12) {
			t.Errorf("F1: base %v, want 200 mm at the median load, %v", o.Base, 200*80/300.0)
		}
	}
	want := []UnitSlip{
		{model.RowKey{Kind: model.Builds, ID: "B4"}, model.Origin{File: "b.csv", Line: 5}, "weight", 410 / 28.35 / 400, 1.025},
		{model.RowKey{Kind: model.Builds, ID: "B5"}, model.Origin{File: "b.csv", Line: 6}, "length", 1830 / 25.4 / 1800, 1830.0 / 1800},
	}
	// B2's base weight is 445 g, so that the middle of 1.025, 1.025, 0.921, 1.025 is the usual build's.
	if d := cmp.Diff(want, s.Slips, cmpopts.EquateApprox(1e-9, 0)); d != "" {
		t.Errorf("slips (-want +got):\n%s", d)
	}

	// Settling again leaves what was worked out as it is.
	_, s = add(t, l, file{name: "c.csv", rows: []model.Row{edit(usualBuild("B7"), func(b *model.Build) { b.PredictedShotG = 8 })}})
	if s.FillsComputed != 0 {
		t.Errorf("%d fills worked out again", s.FillsComputed)
	}
}

// Where builds give no load, test fills and cord checks get what parts lists
// say per length, with the lists' version.
func TestSettleFromPartsLists(t *testing.T) {
	nan := model.Unknown
	blankFill := edit(usualFill("F1"), func(f *model.Fill) { f.PredictedShotG = nan })
	blankCheck := edit(usualCheck("K1"), func(c *model.Check) { c.PredictedMassG = nan })
	rows := []file{
		usualRows()[0],
		{name: "f.csv", rows: []model.Row{blankFill, usualFill("F2")}},
		{name: "c.csv", rows: []model.Row{blankCheck, usualCheck("K2")}},
	}
	loaded := file{name: "b.csv", rows: []model.Row{usualBuild("B1")}} // 0.2 g/mm
	unloaded := file{name: "b.csv", rows: []model.Row{edit(usualBuild("B1"), func(b *model.Build) { b.LoadLengthMM = nan })}}
	tests := []struct {
		name        string
		files       []file
		opt         SettleOptions
		fill, check float64 // what is worked out; NaN: nothing
		version     int     // of the fill's; 0: none
		want        Settled // counts only
	}{
		{"no value", rows, SettleOptions{nan, nan}, nan, nan, 0, Settled{}},
		{"zero value", rows, SettleOptions{}, nan, nan, 0, Settled{}},
		{"core", rows, SettleOptions{0.19, nan}, 38, nan, 1, Settled{FillsFromParts: 1}},
		{"strand cord", rows, SettleOptions{nan, 0.0068}, nan, 20.4, 0, Settled{ChecksFromParts: 1}},
		{"builds come first", append([]file{loaded}, rows...), SettleOptions{0.19, 0.0068}, 40, 20.4, 0, Settled{FillsComputed: 1, ChecksFromParts: 1}},
		{"builds without a load", append([]file{unloaded}, rows...), SettleOptions{0.19, 0.0068}, 38, 20.4, 1, Settled{FillsFromParts: 1, ChecksFromParts: 1}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			l := newLog(t)
			got := settle(t, l, tt.opt, tt.files...)
			counts := Settled{FillsComputed: got.FillsComputed, FillsFromParts: got.FillsFromParts, ChecksFromParts: got.ChecksFromParts}
			if d := diff(tt.want, counts); d != "" {
				t.Errorf("settled (-want +got):\n%s", d)
			}
			blanks := map[bool]int{true: 1}
			if f, c := got.Unpredicted[model.Fills], got.Unpredicted[model.Checks]; f != blanks[!model.Known(tt.fill)] || c != blanks[!model.Known(tt.check)] {
				t.Errorf("%d fills and %d checks without a prediction", f, c)
			}
			fill, check := all(t, l, model.Fills)[0].(*model.Fill), all(t, l, model.Checks)[0].(*model.Check)
			if d := cmp.Diff([]float64{tt.fill, tt.check}, []float64{fill.PredictedShotG, check.PredictedMassG}, cmpopts.EquateNaNs(), cmpopts.EquateApprox(1e-12, 0)); d != "" {
				t.Errorf("worked out (-want +got):\n%s", d)
			}
			var version int
			if err := l.db.QueryRow("select coalesce(parts_version, 0) from fill where id = 'F1'").Scan(&version); err != nil || version != tt.version {
				t.Errorf("version %d, %v; want %d", version, err, tt.version)
			}

			// What was worked out stays, whatever is known later, and the same
			// rows and their export are nothing new.
			if !model.Known(tt.fill) || !model.Known(tt.check) {
				return
			}
			before := dump(t, l)
			settle(t, l, SettleOptions{ShotGMM: 0.3, StrandGMM: 0.3}, rows...)
			if after := dump(t, l); after != before {
				t.Errorf("a second import changed the log:\n%s\nwas\n%s", after, before)
			}
			for _, kind := range []model.Kind{model.Fills, model.Checks} {
				if o, _ := add(t, l, file{name: "export.csv", rows: all(t, l, kind)}); o[0].Same != 2 {
					t.Errorf("export of %s: %+v, want 2 the same", kind, o[0])
				}
			}
		})
	}
}

// An import lists the slips of its own rows, of each measured column.
func TestSlipsOfTheImport(t *testing.T) {
	l := newLog(t)
	rows := func(n string, slip float64) []file {
		return []file{
			{name: "f" + n, rows: []model.Row{edit(usualFill("F"+n), func(f *model.Fill) { f.ShotMassG *= slip })}},
			{name: "c" + n, rows: []model.Row{edit(usualCheck("K"+n), func(c *model.Check) { c.CheckedMassG *= slip })}},
			{name: "b" + n, rows: []model.Row{edit(usualBuild("B"+n), func(b *model.Build) {
				b.PredictedStrandMM, b.StrandCutMM, b.StrandLeftMM = 2500, 2500*slip, 0
				b.WeightG, b.ShotUsedG, b.LengthMM = b.WeightG*slip, b.ShotUsedG*slip, b.LengthMM*slip
			})}},
		}
	}
	for _, n := range []string{"1", "2"} {
		_, settled := add(t, l, rows(n, 10)...)
		var got []string
		for _, s := range settled.Slips {
			got = append(got, s.Origin.String()+" "+s.Key.ID+" "+s.Column)
		}
		want := []string{
			"f" + n + ":2 F" + n + " shot_mass", "c" + n + ":2 K" + n + " checked_mass", "b" + n + ":2 B" + n + " length",
			"b" + n + ":2 B" + n + " shot_used", "b" + n + ":2 B" + n + " strand_cut", "b" + n + ":2 B" + n + " weight",
		}
		if d := diff(want, got); d != "" {
			t.Errorf("slips (-want +got):\n%s", d)
		}
	}
	if _, settled := add(t, l, rows("3", 1)...); len(settled.Slips) > 0 {
		t.Errorf("slips of an import without any: %+v", settled.Slips)
	}
}

// settle imports files and settles them with opt.
func settle(t *testing.T, l *Log, opt SettleOptions, files ...file) Settled {
	t.Helper()
	im, err := l.Begin(t.Context(), noon)
	if err != nil {
		t.Fatal(err)
	}
	merge(t, im, files...)
	settled, err := im.Settle(t.Context(), opt)
	if err != nil {
		t.Fatal(err)
	}
	if err := im.Commit(t.Context()); err != nil {
		t.Fatal(err)
	}
	return settled
}
