package workshop

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"trueplait/data/demo"
	"trueplait/model"
	"trueplait/report/bench"
)

// today is the day on which the tests are at the bench: after the demo's rows.
var today = time.Date(2025, 7, 1, 9, 30, 0, 0, time.UTC)

// demoBench is the demo shop's log at the bench.
func demoBench(t *testing.T) *Bench {
	t.Helper()
	b := openBench(t, filepath.Join(t.TempDir(), "shop.duckdb"))
	for _, name := range []string{"parts.csv", "products.csv", "fills.csv", "checks.csv", "builds.csv"} {
		text, err := demo.Files.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		// one file after the other, as a browser would bring them
		if got, err := b.Import(t.Context(), bench.File{Name: name, Bytes: text}); err != nil || !got.Taken {
			t.Fatalf("import of %s: %+v, %v", name, got, err)
		}
	}
	return b
}

func openBench(t *testing.T, path string) *Bench {
	t.Helper()
	w, err := Make(t.Context(), path, Options{Seed: 1, Clock: func() (time.Time, error) { return today, nil }})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		var err error
		if w.Close(&err); err != nil {
			t.Error(err)
		}
	})
	b, err := NewBench(t.Context(), w, BenchOptions{Name: "bench page", Path: path, Save: true})
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func now(t *testing.T, b *Bench) *bench.Snapshot {
	t.Helper()
	s, err := b.Now(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// refusedAs fails unless err is a refusal that says something of the column.
func refusedAs(t *testing.T, err error, column, words string) {
	t.Helper()
	var r *model.Refused
	if !errors.As(err, &r) {
		t.Errorf("error %v, want one about %s", err, column)
		return
	}
	if !strings.Contains(r.About(column), words) {
		t.Errorf("refused with %q, want %q about %s", r, words, column)
	}
}

const product = "6 ft bull, 12 plait"

// A build is planned, opened, finished with what was measured, and found again:
// in the log, in the factors and in its history once it is corrected.
func TestBench_PlanFinishCorrect(t *testing.T) {
	b := demoBench(t)
	ctx := t.Context()
	s := now(t, b)
	id := s.NextID[model.Builds]
	plan, err := b.OpenBuild(ctx, id, map[string]string{"product": product, "maker": s.Latest.Maker, "strand_batch": "S-new", "target_weight": "16 oz"}, false)
	if err != nil {
		t.Fatal(err)
	}
	if open := now(t, b).Open; len(open) != 1 || open[0].ID != id || open[0].StrandBatch != "S-new" {
		t.Fatalf("open builds %+v", open)
	}
	key := "k1"
	entry := model.Entry{Kind: model.Builds, Key: key, Text: map[string]string{"product": product, "maker": s.Latest.Maker,
		"build": id, "weight": "1 lb 1/2 oz", "length": `6' 1 3/4"`, "shot_before": "2412 g", "shot_after": "2301.5 g"}}
	reading, err := b.Read(ctx, entry)
	if err != nil {
		t.Fatal(err)
	}
	read := reading.Row.(*model.Build)
	if read.Product != product || read.ShotUsedG != 110.5 || math.Abs(read.LengthMM-73.75*25.4) > 1e-9 || read.PredictedWeightG != plan.Calibrated.Weight.Median {
		t.Errorf("read as %+v", read)
	}
	if len(reading.Today) != 3 || !strings.Contains(reading.ShotFrom, "2412 g before") {
		t.Errorf("compared with today's prediction: %+v, shot from %q", reading.Today, reading.ShotFrom)
	}
	before := now(t, b)
	saved, err := b.Save(ctx, entry)
	if err != nil {
		t.Fatal(err)
	}
	if saved.Again || saved.Calibration <= before.Calibration.Number || len(saved.Changes) == 0 {
		t.Errorf("saved %+v", saved)
	}
	var asked []model.Kind
	for _, r := range saved.Reminders {
		asked = append(asked, r.Record)
	}
	if got := fmt.Sprint(asked); got != "[builds checks]" { // the strand left over, and the new strand batch
		t.Errorf("reminders for %s: %+v", got, saved.Reminders)
	}
	if again, err := b.Save(ctx, entry); err != nil || !again.Again {
		t.Errorf("sent twice: %+v, %v", again, err)
	}
	after := now(t, b)
	if after.Calibration.Builds != before.Calibration.Builds+1 || len(after.Open) != 0 {
		t.Errorf("%d builds after %d, open %v", after.Calibration.Builds, before.Calibration.Builds, after.Open)
	}

	// another entry of the same id is no correction, not even with the same figures
	entry.Key = "k2"
	_, err = b.Save(ctx, entry)
	refusedAs(t, err, "build", "with the same figures")
	entry.Text["weight"] = "470 g"
	_, err = b.Save(ctx, entry)
	refusedAs(t, err, "build", "correct that one")
	record, err := b.Row(ctx, model.Builds, id)
	if err != nil {
		t.Fatal(err)
	}
	text, err := Text(record.Stated)
	if err != nil {
		t.Fatal(err)
	}
	text["weight"], text["note"] = "470 g", "'=SUM(A1) is no formula here"
	if fixed, err := b.Save(ctx, model.Entry{Kind: model.Builds, Text: text, Amend: true, Key: "k3"}); err != nil || !fixed.Amended {
		t.Fatalf("corrected: %+v, %v", fixed, err)
	}
	if _, err := b.SetAside(ctx, id, "the handle was rewound"); err != nil {
		t.Fatal(err)
	}
	if got := now(t, b).Calibration.Quantity(model.Weight).Rows; got != before.Calibration.Quantity(model.Weight).Rows {
		t.Errorf("%d weights fitted with the build set aside, %d before it", got, before.Calibration.Quantity(model.Weight).Rows)
	}
	record, err = b.Row(ctx, model.Builds, id)
	if err != nil {
		t.Fatal(err)
	}
	if stated := record.Stated.(*model.Build); stated.WeightG != 470 || stated.Note != text["note"] || stated.SetAside == "" || stated.PredictedWeightG != plan.Calibrated.Weight.Median {
		t.Errorf("after two corrections: %+v", stated)
	}
	if len(record.Past) != 2 || record.Past[0].Row.(*model.Build).WeightG == 470 || record.By != "bench page" {
		t.Errorf("history %+v, by %q", record.Past, record.By)
	}
}

// What cannot be understood is refused at its column, and nothing is saved.
func TestBench_Refusals(t *testing.T) {
	b := demoBench(t)
	s := now(t, b)
	for _, tt := range []struct {
		name   string
		kind   model.Kind
		text   map[string]string
		column string
		words  string
	}{
		{"no unit", model.Builds, map[string]string{"build": "X1", "product": product, "maker": "Arlo", "weight": "14.5"}, "weight", "has no unit"},
		{"no product", model.Builds, map[string]string{"build": "X1", "maker": "Arlo", "weight": "400 g"}, "product", "is blank"},
		{"nothing at all", model.Products, map[string]string{}, "product", "is blank"},
		{"nothing measured", model.Builds, map[string]string{"build": "X1", "product": product, "maker": "Arlo"}, "", "all blank"},
		{"tub and shot", model.Builds, map[string]string{"build": "X1", "product": product, "maker": "Arlo", "shot_used": "90 g", "shot_before": "1 kg", "shot_after": "900 g"}, "shot_before", "one or the other"},
		{"half a tub", model.Builds, map[string]string{"build": "X1", "product": product, "maker": "Arlo", "shot_before": "1 kg"}, "shot_after", "is blank"},
		{"a tub that fills up", model.Builds, map[string]string{"build": "X1", "product": product, "maker": "Arlo", "shot_before": "1 kg", "shot_after": "2 lb 8 oz"}, "shot_after", "is not less"},
		{"no such column", model.Fills, map[string]string{"fill": "X1", "colour": "black"}, "colour", "is not a column"},
		{"reserved word", model.Fills, map[string]string{"fill": "X1", "core_batch": "new", "filled_length": "6 in", "shot_mass": "12 g"}, "core_batch", "reserved"},
		{"an impossible day", model.Checks, map[string]string{"check": "X1", "date": "2025-02-30", "strand_batch": "S1", "checked_length": "10 ft", "checked_mass": "20 g"}, "date", "is not a date"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			e := model.Entry{Kind: tt.kind, Text: tt.text, Key: tt.name}
			_, err := b.Read(t.Context(), e)
			refusedAs(t, err, tt.column, tt.words)
			_, err = b.Save(t.Context(), e)
			refusedAs(t, err, tt.column, tt.words)
		})
	}
	if after := now(t, b); after.Version != s.Version {
		t.Errorf("refused entries changed something: version %d, then %d", s.Version, after.Version)
	}
}

// Everybody at once: each row is there once, and each form that was sent twice.
func TestBench_ParallelSaves(t *testing.T) {
	b := openBench(t, filepath.Join(t.TempDir(), "shop.duckdb"))
	const hands, each = 4, 5
	var all sync.WaitGroup
	for h := range hands {
		for i := range each {
			for range 2 { // a double click
				all.Go(func() {
					id := fmt.Sprintf("F%d-%d", h, i)
					_, err := b.Save(t.Context(), model.Entry{Kind: model.Fills, Key: id, Text: map[string]string{
						"fill": id, "core_batch": "C1", "filled_length": "152.4 mm", "shot_mass": "12.1 g", "predicted_shot": "12 g"}})
					if err != nil {
						t.Errorf("fill %s: %v", id, err)
					}
				})
			}
		}
	}
	all.Wait()
	if got := now(t, b).Calibration.Fills; got != hands*each {
		t.Errorf("%d fills in the log, want %d", got, hands*each)
	}
}

// A file with errors is shown row by row and changes nothing; its good rows go
// in where that is asked for, and the others come back.
func TestBench_Files(t *testing.T) {
	b := openBench(t, filepath.Join(t.TempDir(), "shop.duckdb"))
	file := bench.File{Name: "fills.csv", Bytes: []byte("fill,date,core_batch,filled_length_in,shot_mass_g\nF1,2025-06-01,C1,6,12.1\nF2,2025-06-01,C1,six,12\n")}
	for name, do := range map[string]func() (*bench.FileReport, error){
		"check":  func() (*bench.FileReport, error) { return b.Check(t.Context(), file) },
		"import": func() (*bench.FileReport, error) { return b.Import(t.Context(), file) },
	} {
		got, err := do()
		if err != nil || got.Taken || len(got.Problems) != 1 || got.Problems[0].Line != 3 || got.Problems[0].Column != "filled_length" || got.Problems[0].Text != "six" {
			t.Errorf("%s: %+v, %v", name, got, err)
		}
	}
	if n := now(t, b).Calibration.Fills; n != 0 {
		t.Errorf("%d fills of a file that was refused", n)
	}
	file.Good = true
	got, err := b.Import(t.Context(), file)
	if err != nil || !got.Taken || !strings.Contains(string(got.Rejects), "F2") || strings.Contains(string(got.Rejects), "F1") {
		t.Errorf("good rows: %+v, rejects %q, %v", got, got.Rejects, err)
	}
	if n := now(t, b).Calibration.Fills; n != 1 {
		t.Errorf("%d fills, want the good one", n)
	}
	got, err = b.Check(t.Context(), bench.File{Name: "notes.csv", Bytes: []byte("colour,mood\nblack,good\n")})
	if err != nil || len(got.Problems) == 0 {
		t.Errorf("a file of no kind: %+v, %v", got, err)
	}
}

// An export from the page holds the files that the export command writes.
func TestBench_Export(t *testing.T) {
	b := demoBench(t)
	var buf bytes.Buffer
	if err := b.Export(t.Context(), &buf); err != nil {
		t.Fatal(err)
	}
	archive, err := zip.NewReader(bytes.NewReader(buf.Bytes()), int64(buf.Len()))
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, f := range archive.File {
		names = append(names, f.Name)
		if f.Name != "products.csv" {
			continue
		}
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(r)
		if err != nil || !bytes.Contains(text, []byte(product)) {
			t.Errorf("products.csv is %q, %v", text, err)
		}
	}
	if got := strings.Join(names, " "); got != "parts.csv products.csv fills.csv checks.csv builds.csv calibrations.jsonl" {
		t.Errorf("the archive holds %s", got)
	}
}

// A batch that changed under its label is split from the page, and joined again.
func TestBench_Split(t *testing.T) {
	b := demoBench(t)
	batch := now(t, b).Labels[model.CoreBatch][0]
	split := model.Split{Effect: model.CoreBatch, Label: batch, Since: today.AddDate(0, -2, 0)}
	if err := b.Split(t.Context(), split); err != nil {
		t.Fatal(err)
	}
	s := now(t, b)
	if len(s.Splits) != 1 || s.Labels[model.CoreBatch][0] != batch {
		t.Errorf("splits %v, batches %v", s.Splits, s.Labels[model.CoreBatch])
	}
	plan, err := b.Plan(t.Context(), map[string]string{"product": product, "core_batch": batch})
	if err != nil || plan.Labels.CoreBatch != split.Level() {
		t.Errorf("planned for core batch %q, %v: want the new level", plan.Labels.CoreBatch, err)
	}
	if err := b.Unsplit(t.Context(), split); err != nil {
		t.Fatal(err)
	}
	if got := now(t, b).Splits; len(got) != 0 {
		t.Errorf("splits after undoing: %v", got)
	}
	if err := b.Split(t.Context(), model.Split{Effect: model.CoreBatch, Label: "nowhere", Since: today}); err == nil {
		t.Error("a batch that no row has was split")
	}
}

// Ids are counted up from the newest one, keeping their form.
func TestCountUp(t *testing.T) {
	for id, want := range map[string]string{"W264": "W265", "007": "008", "B-99": "B-100", "no number": "", "": "", "2025-09": "2025-10", "9999999999999999999999": ""} {
		if got := countUp(id); got != want {
			t.Errorf("countUp(%q) = %q, want %q", id, got, want)
		}
	}
}
