package data

import (
	"bytes"
	"compress/gzip"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"trueplait/model"
)

// same compares rows and outcomes: NaN equals NaN.
var same = cmp.Options{cmpopts.EquateNaNs(), cmpopts.EquateEmpty()}

func usualRows() []file {
	nan := model.Unknown
	part := func(n int, name string, mass float64) *model.Part {
		return &model.Part{Product: "6 ft", Position: n, Name: name, Role: model.Other, MassG: mass, Count: 2,
			DiameterMM: nan, TipDiameterMM: nan, LengthMM: nan, StartMM: nan, LoadLengthMM: nan, BoreMM: nan,
			ShotDiameterMM: nan, DensityGCM3: nan, StrandWidthMM: nan, StrandThicknessMM: nan, DropAngleDeg: nan, TailMM: nan,
			UnloadedDiameterMM: nan, SheathAngleDeg: nan, SheathThicknessMM: nan, MassPerLengthGM: nan, Fraction: nan}
	}
	return []file{
		{name: "parts.csv", rows: []model.Row{part(1, "handle", 100), part(2, "knot", 20)}},
		{name: "products.csv", rows: []model.Row{&model.ProductLine{Product: "6 ft", Description: "bull", WeightLowG: 400, WeightHighG: 430, LengthLowMM: nan, LengthHighMM: nan}}},
		{name: "fills.csv", rows: []model.Row{usualFill("F1"), edit(usualFill("F2"), func(f *model.Fill) { f.PredictedShotG = nan })}},
		{name: "checks.csv", rows: []model.Row{usualCheck("K1")}},
		{name: "builds.csv", rows: []model.Row{
			edit(usualBuild("B1"), func(b *model.Build) { b.Date, b.Note = day(3), "first, \"quoted\"\nand more ⅛" }),
			edit(usualBuild("B2"), func(b *model.Build) { b.Started, b.CoreBatch, b.Humidity = day(-9), "", 40 }),
		}},
	}
}

func TestImportGivesBackWhatWentIn(t *testing.T) {
	l := newLog(t)
	files := usualRows()
	outcomes, _ := add(t, l, files...)
	for i, in := range files {
		if o := outcomes[i]; o.New != len(in.rows) || o.Same+o.Amended+len(o.Conflicts) > 0 {
			t.Errorf("%s: %+v, want %d new", in.name, o, len(in.rows))
		}
	}
	for _, in := range files {
		var want []model.Row
		for i, row := range in.rows {
			want = append(want, at(row, in.name, i+2))
		}
		switch in.name {
		case "builds.csv": // listed by date
			want[0], want[1] = want[1], want[0]
		case "fills.csv": // what was worked out is given back too: 200 mm at 80 g per 400 mm
			want[1].(*model.Fill).PredictedShotG = 40
		}
		if d := cmp.Diff(want, all(t, l, in.rows[0].Kind()), same); d != "" {
			t.Errorf("%s (-in +out):\n%s", in.name, d)
		}
	}
}

func TestImportTwiceIsOnce(t *testing.T) {
	l := newLog(t)
	add(t, l, usualRows()...)
	before := dump(t, l)
	outcomes, _ := add(t, l, usualRows()...)
	for i, in := range usualRows() {
		if o := outcomes[i]; o.Same != len(in.rows) || o.New+o.Amended+len(o.Conflicts)+len(o.Repeats) > 0 {
			t.Errorf("%s again: %+v, want %d the same", in.name, o, len(in.rows))
		}
	}
	if after := dump(t, l); after != before {
		t.Errorf("the log changed:\n%s\nwas\n%s", after, before)
	}
}

// dump is everything a log holds, as text.
func dump(t *testing.T, l *Log, names ...string) string {
	t.Helper()
	if len(names) == 0 {
		names = []string{
			"source", "source_piece", "build", "build_history", "fill", "fill_history", "cord_check", "cord_check_history",
			"product", "product_history", "part", "part_history", "calibration", "calibration_factor",
			"calibration_piece", "open_build",
			"open_build_history", "form_entry", "maker_units", "split",
		}
	}
	var out bytes.Buffer
	for _, table := range names {
		out.WriteString(table + "\n" + strings.Join(tableText(t, l, table), "\n") + "\n")
	}
	return out.String()
}

// tableText is each row of a table, by the names of its columns, in the order of
// that text. Whose workshop they are is not part of it.
func tableText(t *testing.T, l *Log, table string) []string {
	t.Helper()
	rows, err := l.db.QueryContext(t.Context(), "select * from "+table)
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	columns, err := rows.Columns()
	if err != nil {
		t.Fatal(err)
	}
	values, targets := make([]any, len(columns)), make([]any, len(columns))
	for i := range values {
		targets[i] = &values[i]
	}
	var out []string
	for rows.Next() {
		if err := rows.Scan(targets...); err != nil {
			t.Fatal(err)
		}
		var cells []string
		for i, c := range columns {
			if at, ok := values[i].(time.Time); ok {
				values[i] = at.UTC()
			}
			if c != "workshop" {
				cells = append(cells, fmt.Sprintf("%s=%v", c, values[i]))
			}
		}
		out = append(out, strings.Join(cells, " "))
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	slices.Sort(out)
	return out
}

func TestConflict(t *testing.T) {
	l := newLog(t)
	add(t, l, file{name: "a.csv", rows: []model.Row{usualBuild("B1"), usualBuild("B2")}})
	outcomes, _ := add(t, l, file{name: "b.csv", rows: []model.Row{
		usualBuild("B3"),
		edit(usualBuild("B2"), func(b *model.Build) { b.WeightG, b.Maker, b.Started = 411.5, "bob", day(-3) }),
		edit(usualBuild("B3"), func(b *model.Build) { b.Note = "no" }),
		usualBuild("B3"),
		usualBuild("B1"),
	}})
	want := Outcome{
		New: 1, Same: 2,
		Conflicts: []Conflict{
			{ID: "B2", Line: 3, Other: 3, Columns: []Difference{
				{"maker", "bob", "ann"}, {"weight_g", "411.5", "410"}, {"started", "2024-12-29", ""}}},
			{ID: "B3", Line: 4, InFile: true, Other: 2, Columns: []Difference{{"note", "no", ""}}},
		},
		Repeats: []Repeat{{ID: "B3", Line: 5, First: 2}},
	}
	if d := cmp.Diff(want, outcomes[0], same); d != "" {
		t.Errorf("outcome (-want +got):\n%s", d)
	}
	if rows := all(t, l, model.Builds); len(rows) != 3 || rows[1].(*model.Build).WeightG != 410 {
		t.Errorf("the log has %d builds, B2 weighs %v; want 3 and the 410 it had", len(rows), rows[1].(*model.Build).WeightG)
	}
}

func TestAmend(t *testing.T) {
	heavier := func(r model.Row) model.Row {
		switch r := r.(type) {
		case *model.Build:
			return edit(r, func(b *model.Build) { b.WeightG++ })
		case *model.Fill:
			return edit(r, func(f *model.Fill) { f.ShotMassG++ })
		case *model.Check:
			return edit(r, func(c *model.Check) { c.CheckedMassG++ })
		case *model.ProductLine:
			return edit(r, func(p *model.ProductLine) { p.WeightLowG++ })
		case *model.Part:
			return edit(r, func(p *model.Part) { p.MassG++ })
		}
		return r
	}
	for i, in := range usualRows() {
		kind := in.rows[0].Kind()
		t.Run(string(kind), func(t *testing.T) {
			l := newLog(t)
			add(t, l, usualRows()...)
			changed := file{name: "second.csv", opt: FinishOptions{Amend: true}, rows: []model.Row{heavier(in.rows[0])}}
			if kind == model.Parts { // a file states the whole list
				changed.rows = append(changed.rows, in.rows[1])
			}
			outcomes, _ := add(t, l, changed)
			if o := outcomes[0]; o.Amended != len(changed.rows) || o.New+o.Same > 0 {
				t.Fatalf("%+v, want %d amended", o, len(changed.rows))
			}
			history, err := l.Amendments(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			if len(history) != len(changed.rows) {
				t.Fatalf("%d rows in the history, want %d", len(history), len(changed.rows))
			}
			for id, want := range map[string]int{in.rows[0].Key(): len(history), "none": 0} {
				if of, err := l.History(t.Context(), kind, id); err != nil || len(of) != want {
					t.Errorf("history of %q: %d rows, %v; want %d", id, len(of), err, want)
				}
			}
			want := Amendment{Row: at(usualRows()[i].rows[0], in.name, 2), When: noon, By: "second.csv"}
			if d := cmp.Diff(want, history[0], same); d != "" {
				t.Errorf("history (-want +got):\n%s", d)
			}
			for _, row := range all(t, l, kind) {
				if row.Key() == in.rows[0].Key() {
					if d := cmp.Diff(at(heavier(in.rows[0]), "second.csv", 2), row, same); d != "" {
						t.Errorf("row in the log (-want +got):\n%s", d)
					}
					break
				}
			}
		})
	}
}

// A file that contradicts itself stays a conflict: nobody said which line is
// right.
func TestAmendDoesNotChooseBetweenLines(t *testing.T) {
	l := newLog(t)
	outcomes, _ := add(t, l, file{name: "a.csv", opt: FinishOptions{Amend: true}, rows: []model.Row{
		usualBuild("B1"), edit(usualBuild("B1"), func(b *model.Build) { b.WeightG = 1 }),
	}})
	if o := outcomes[0]; o.New != 1 || o.Amended != 0 || len(o.Conflicts) != 1 || !o.Conflicts[0].InFile {
		t.Errorf("%+v, want one new and one conflict within the file", o)
	}
}

func TestPartsListIsOneThing(t *testing.T) {
	l := newLog(t)
	list := usualRows()[0]
	add(t, l, list)
	shorter := file{name: "short.csv", rows: list.rows[:1]}
	outcomes, _ := add(t, l, shorter)
	if o := outcomes[0]; len(o.Conflicts) != 1 || o.New+o.Same > 0 || len(all(t, l, model.Parts)) != 2 {
		t.Errorf("shorter list: %+v, want a conflict and the log unchanged", o)
	}
	shorter.opt.Amend = true
	add(t, l, shorter)
	if n := len(all(t, l, model.Parts)); n != 1 {
		t.Errorf("%d parts after the list was replaced, want 1", n)
	}
	var version, old int
	l.db.QueryRow("select version from part").Scan(&version)
	l.db.QueryRow("select count(*) from part_history where version = 1").Scan(&old)
	if version != 2 || old != 2 {
		t.Errorf("version %d and %d parts of version 1 in the history, want 2 and 2", version, old)
	}
}

func TestAlikeLabels(t *testing.T) {
	l := newLog(t)
	add(t, l, file{name: "a.csv", rows: []model.Row{usualBuild("B1")}})
	// Of two labels that are both in the file, the pair is listed once.
	outcomes, _ := add(t, l, file{name: "b.csv", rows: []model.Row{
		edit(usualBuild("B2"), func(b *model.Build) { b.Maker, b.CoreBatch, b.Product, b.ShotBatch = "Ann", "c 1", "6ft", "Tin" }),
		edit(usualBuild("B3"), func(b *model.Build) { b.Maker, b.CoreBatch, b.Product, b.ShotBatch = "Ann", "c 1", "6ft", "tin" }),
	}})
	want := map[model.Effect][][2]string{
		model.Maker: {{"Ann", "ann"}}, model.CoreBatch: {{"c 1", "C1"}}, model.Product: {{"6ft", "6 ft"}},
		model.ShotBatch: {{"Tin", "tin"}},
	}
	if d := cmp.Diff(want, outcomes[0].Alike); d != "" {
		t.Errorf("alike (-want +got):\n%s", d)
	}
}

func TestCalibrationInsidePlan(t *testing.T) {
	l := newLog(t)
	number, err := l.SaveCalibration(t.Context(), Calibration{Fingerprint: "f", Made: noon}, found("{}", []SavedFactor{
		{model.Shot, model.Labels{Maker: "ann", CoreBatch: "C1", ShotBatch: "S1"}, 0.95},
		{model.Body, model.Labels{Maker: "ann", StrandBatch: "N1", Product: "6 ft"}, 1.04},
		{model.Length, model.Labels{Maker: "ann", StrandBatch: "N1", Product: "6 ft"}, 1.02},
	}...))
	if err != nil || number != 1 {
		t.Fatalf("saved as %d, %v; want 1", number, err)
	}
	with := func(id string, change func(*model.Build)) model.Row {
		return edit(usualBuild(id), func(b *model.Build) { b.Calibration = 1; change(b) })
	}
	in := file{name: "a.csv", rows: []model.Row{
		with("resolved", func(b *model.Build) {}),
		with("given wins", func(b *model.Build) { b.ShotFactor = 0.9 }),
		with("other batch", func(b *model.Build) { b.CoreBatch = "C9" }),
		with("no such calibration", func(b *model.Build) { b.Calibration = 7 }),
		with("no such calibration, one factor", func(b *model.Build) { b.Calibration, b.BodyFactor = 7, 1.1 }),
		with("nothing predicted that needs it", func(b *model.Build) {
			b.CoreBatch, b.PredictedShotG, b.PredictedWeightG = "C9", model.Unknown, model.Unknown
		}),
	}}
	outcomes, _ := add(t, l, in)
	want := []Unresolved{
		{ID: "other batch", Line: 4, Calibration: 1, Known: true, Missing: []model.Quantity{model.Shot}},
		{ID: "no such calibration", Line: 5, Calibration: 7, Missing: []model.Quantity{model.Shot, model.Body, model.Length}},
	}
	if d := cmp.Diff(want, outcomes[0].Unresolved); d != "" {
		t.Errorf("unresolved (-want +got):\n%s", d)
	}
	nan := model.Unknown
	factors := map[string][3]float64{
		"resolved": {0.95, 1.04, 1.02}, "given wins": {0.9, 1.04, 1.02},
		"no such calibration, one factor": {nan, 1.1, nan}, "nothing predicted that needs it": {nan, 1.04, 1.02},
	}
	got := map[string][3]float64{}
	for _, row := range all(t, l, model.Builds) {
		b := row.(*model.Build)
		got[b.ID] = [3]float64{b.ShotFactor, b.BodyFactor, b.LengthFactor}
	}
	if d := cmp.Diff(factors, got, same); d != "" {
		t.Errorf("factors in the log (-want +got):\n%s", d)
	}

	// Stated outright, the factors that were looked up are the same build.
	again := []model.Row{with("resolved", func(b *model.Build) { b.ShotFactor, b.BodyFactor, b.LengthFactor = 0.95, 1.04, 1.02 }), in.rows[0]}
	for _, row := range again {
		outcomes, _ = add(t, l, file{name: "b.csv", rows: []model.Row{row}})
		if outcomes[0].Same != 1 {
			t.Errorf("again: %+v, want the same", outcomes[0])
		}
	}
}

func TestSourceBytes(t *testing.T) {
	l := newLog(t)
	im, err := l.Begin(t.Context(), noon)
	if err != nil {
		t.Fatal(err)
	}
	f, err := im.File("big.csv", model.Builds)
	if err != nil {
		t.Fatal(err)
	}
	want := make([]byte, 2*pieceSize+12345)
	rand.NewChaCha8([32]byte{1}).Read(want)
	for rest := want; len(rest) > 0; {
		n, err := f.Write(rest[:min(len(rest), 99_991)])
		if err != nil {
			t.Fatal(err)
		}
		rest = rest[n:]
	}
	if _, err := f.Finish(t.Context(), FinishOptions{}); err != nil {
		t.Fatal(err)
	}
	if err := im.Commit(t.Context()); err != nil {
		t.Fatal(err)
	}
	sources, err := l.Sources(t.Context())
	if err != nil || len(sources) != 1 {
		t.Fatalf("%d sources, %v", len(sources), err)
	}
	if s := sources[0]; s.Name != "big.csv" || s.SizeBytes != int64(len(want)) || len(s.SHA256) != 64 || !s.Imported.Equal(noon) {
		t.Errorf("source %+v", s)
	}
	var got bytes.Buffer
	if err := l.WriteSource(t.Context(), sources[0].Number, &got); err != nil || !bytes.Equal(got.Bytes(), want) {
		t.Errorf("got %d bytes back, %v; want the %d that went in", got.Len(), err, len(want))
	}
}

func TestNothingIsKeptAfterAnError(t *testing.T) {
	l := newLog(t)
	im, err := l.Begin(t.Context(), noon)
	if err != nil {
		t.Fatal(err)
	}
	into(t, im, file{name: "good.csv", rows: []model.Row{usualBuild("B1")}})
	f, err := im.File("bad.csv", model.Builds)
	if err != nil {
		t.Fatal(err)
	}
	if err := f.Add(edit(usualBuild("B2"), func(b *model.Build) { b.Note = "\xff" })); err == nil {
		t.Error("text that is not UTF-8 was taken")
	}
	if err := im.Commit(t.Context()); err == nil {
		t.Error("Commit after an error reports success")
	}
	if rows := all(t, l, model.Builds); len(rows) != 0 {
		t.Errorf("%d builds were kept", len(rows))
	}
}

func TestCancelledImportLeavesNothing(t *testing.T) {
	l := newLog(t)
	ctx, cancel := context.WithCancel(t.Context())
	im, err := l.Begin(ctx, noon)
	if err != nil {
		t.Fatal(err)
	}
	into(t, im, file{name: "a.csv", rows: []model.Row{usualBuild("B1")}})
	cancel()
	if err := im.Commit(ctx); !errors.Is(err, context.Canceled) {
		t.Errorf("Commit: %v, want cancelled", err)
	}
	if rows := all(t, l, model.Builds); len(rows) != 0 {
		t.Errorf("%d builds were kept", len(rows))
	}
}

func TestCheckWritesNothing(t *testing.T) {
	for _, mode := range []Mode{ReadOnly, ReadWrite} {
		l, path := openLog(t)
		add(t, l, usualRows()...)
		if mode == ReadOnly {
			if err := l.Close(); err != nil {
				t.Fatal(err)
			}
			var err error
			if l, err = Open(t.Context(), path, ReadOnly); err != nil {
				t.Fatal(err)
			}
			defer l.Close()
		}
		before := dump(t, l)
		im, err := l.Check(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		outcomes, settled := into(t, im,
			usualRows()[4],
			file{name: "b.csv", opt: FinishOptions{Amend: true}, rows: []model.Row{
				edit(usualBuild("B1"), func(b *model.Build) { b.WeightG = 500 }),
				edit(usualBuild("B9"), func(b *model.Build) { b.WeightG /= 28.35 }),
			}})
		if o := outcomes[0]; o.Same != 2 {
			t.Errorf("mode %d: same file: %+v, want 2 the same", mode, o)
		}
		if o := outcomes[1]; o.Amended != 1 || o.New != 1 || len(settled.Slips) != 1 {
			t.Errorf("mode %d: other file: %+v, %+v; want 1 amended, 1 new, 1 slip", mode, o, settled)
		}
		if err := im.Commit(t.Context()); !errors.Is(err, ErrCheckOnly) {
			t.Errorf("mode %d: Commit of a check: %v", mode, err)
		}
		if after := dump(t, l); after != before {
			t.Errorf("mode %d: the log changed", mode)
		}
	}
}

func TestRowsStopsEarly(t *testing.T) {
	l := newLog(t)
	add(t, l, usualRows()...)
	for range l.Rows(t.Context(), model.Builds, time.Time{}) {
		break
	}
	var got []string
	for row, err := range l.Rows(t.Context(), model.Builds, day(1)) {
		if err != nil {
			t.Fatal(err)
		}
		got = append(got, row.Key())
	}
	if !reflect.DeepEqual(got, []string{"B2"}) {
		t.Errorf("builds up to day 1: %v, want B2", got)
	}
}

func TestPiecesAreGzip(t *testing.T) {
	l := newLog(t)
	add(t, l, usualRows()[4])
	var piece []byte
	if err := l.db.QueryRow("select content_gzip from source_piece").Scan(&piece); err != nil {
		t.Fatal(err)
	}
	if _, err := gzip.NewReader(bytes.NewReader(piece)); err != nil {
		t.Errorf("a piece is no gzip stream: %v", err)
	}
}
