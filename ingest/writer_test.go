package ingest

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"trueplait/model"
)

// write returns rows as a file of kind.
func write(t fataler, kind model.Kind, rows []model.Row) string {
	var b strings.Builder
	w, err := NewWriter(&b, kind)
	if err != nil {
		t.Fatalf("NewWriter(%s): %v", kind, err)
	}
	for _, row := range rows {
		if err := w.Write(row); err != nil {
			t.Fatalf("Write(%v): %v", row, err)
		}
	}
	if err := w.Flush(); err != nil {
		t.Fatalf("Flush: %v", err)
	}
	return b.String()
}

// read returns the good rows of a file and the problems of the others.
func read(t fataler, file string, opt Options) (rows []model.Row, problems []*RowError) {
	r, err := NewReader(strings.NewReader(file), "x.csv", opt)
	if err != nil {
		t.Fatalf("NewReader: %v\n%q", err, file)
	}
	for {
		row, wrong, err := r.Read()
		if err == io.EOF {
			return rows, problems
		}
		if err != nil {
			t.Fatalf("Read: %v", err)
		}
		if row != nil {
			rows = append(rows, row)
		}
		problems = append(problems, wrong...)
	}
}

// fataler is what *testing.T and *rapid.T share.
type fataler interface {
	Helper()
	Fatalf(format string, args ...any)
}

// content is what a row says, wherever it was read.
func content(row model.Row) string {
	switch r := row.(type) {
	case *model.Build:
		r.Origin = model.Origin{}
	case *model.Fill:
		r.Origin = model.Origin{}
	case *model.Check:
		r.Origin = model.Origin{}
	case *model.ProductLine:
		r.Origin = model.Origin{}
	case *model.Part:
		r.Origin = model.Origin{}
	}
	return fmt.Sprintf("%+v", row)
}

// checkRoundTrip: rows written and read again say the same, and written once
// more are the same bytes.
func checkRoundTrip(t fataler, kind model.Kind, rows []model.Row) {
	first := write(t, kind, rows)
	again, problems := read(t, first, Options{})
	if len(problems) > 0 {
		t.Fatalf("own export refused: %v\n%s", problems[0], first)
	}
	if second := write(t, kind, again); second != first {
		t.Fatalf("exports differ:\n%q\n%q", first, second)
	}
	if len(again) != len(rows) {
		t.Fatalf("wrote %d rows, read %d", len(rows), len(again))
	}
	for i := range rows {
		if got, want := content(again[i]), content(rows[i]); got != want {
			t.Fatalf("row %d:\n got %s\nwant %s", i, got, want)
		}
	}
}

func TestExport(t *testing.T) {
	day := time.Date(2024, 3, 31, 0, 0, 0, 0, time.UTC)
	nan := math.NaN()
	for _, c := range []struct {
		row  model.Row
		want string
	}{
		{&model.Build{ID: "B1", Date: day, Labels: model.Labels{Maker: "dita", Product: "8 ft bull, 12 plait"},
			PredictedWeightG: 412, PredictedLengthMM: nan, PredictedShotG: 0.30000000000000004, PredictedStrandMM: nan, Calibration: 7,
			ShotFactor: 1.03, BodyFactor: nan, LengthFactor: nan, WeightG: 1e-6, LengthMM: 1e9, ShotUsedG: nan,
			StrandCutMM: nan, StrandLeftMM: 0, LoadLengthMM: nan, Humidity: 45, SetAside: "-", Note: "one\ntwo \"three\""},
			"build,date,maker,product,core_batch,strand_batch,shot_batch,predicted_weight_g,predicted_length_mm,predicted_shot_g,predicted_strand_mm," +
				"calibration,shot_factor,body_factor,length_factor,weight_g,length_mm,shot_used_g,strand_cut_mm,strand_left_mm,load_length_mm,started,humidity,set_aside,note\n" +
				`B1,2024-03-31,dita,"8 ft bull, 12 plait",,,,412,,0.30000000000000004,,7,1.03,,,0.000001,1000000000,,,0,,,45,'-,"one` + "\n" + `two ""three"""` + "\n"},
		{&model.Fill{ID: "=F1", Date: day, Labels: model.Labels{CoreBatch: "'C1"}, FilledLengthMM: 254, ShotMassG: 20.5, PredictedShotG: nan},
			"fill,date,maker,core_batch,shot_batch,filled_length_mm,shot_mass_g,predicted_shot_g,note\n'=F1,2024-03-31,,''C1,,254,20.5,,\n"},
		{&model.Check{ID: "K1", Date: day, Labels: model.Labels{StrandBatch: "N1"}, CheckedLengthMM: 10000, CheckedMassG: 47, PredictedMassG: 48},
			"check,date,strand_batch,checked_length_mm,checked_mass_g,predicted_mass_g,note\nK1,2024-03-31,N1,10000,47,48,\n"},
		{&model.ProductLine{Product: "bull", WeightLowG: 400, WeightHighG: nan, LengthLowMM: nan, LengthHighMM: 1900},
			"product,description,weight_low_g,weight_high_g,length_low_mm,length_high_mm\nbull,,400,,,1900\n"},
		{&model.Part{Product: "bull", Position: 1, Name: "core", Role: model.Core, Count: 0, DiameterMM: nan, TipDiameterMM: nan, LengthMM: 600, StartMM: 0,
			LoadLengthMM: 550, BoreMM: 6, Shot: "9 lead", ShotDiameterMM: nan, DensityGCM3: 11.1, StrandWidthMM: nan, StrandThicknessMM: nan,
			DropAngleDeg: nan, TailMM: nan, UnloadedDiameterMM: nan, SheathAngleDeg: 30, SheathThicknessMM: nan, MassPerLengthGM: 4.7, MassG: nan, Fraction: nan},
			"product,part,role,material,count,diameter_mm,tip_diameter_mm,length_mm,start_mm,load_length_mm,bore_mm,shot,shot_diameter_mm,density_g_cm3,strands," +
				"strand_width_mm,strand_thickness_mm,drop_angle_deg,tail_mm,unloaded_diameter_mm,sheath_angle_deg,sheath_thickness_mm,mass_per_length_g_m,mass_g,fraction\n" +
				"bull,core,core,,,,,600,0,550,6,9 lead,,11.1,,,,,,,30,,4.7,,\n"},
	} {
		if got := write(t, c.row.Kind(), []model.Row{c.row}); got != c.want {
			t.Errorf("export of %s:\n got %s\nwant %s", c.row.Kind(), got, c.want)
		}
		checkRoundTrip(t, c.row.Kind(), []model.Row{c.row})
	}
}

// TestExportRoundTrip reads files of every kind with hostile texts and numbers
// of all sizes and exports what could be read.
func TestExportRoundTrip(t *testing.T) {
	for _, f := range forms() {
		t.Run(string(f.kind), func(t *testing.T) {
			good := 0
			rapid.Check(t, func(t *rapid.T) {
				var file bytes.Buffer
				w := csv.NewWriter(&file)
				record := make([]string, len(f.columns))
				for i, c := range f.columns {
					record[i] = c.header()
				}
				w.Write(record)
				for range rapid.IntRange(1, 4).Draw(t, "rows") {
					for i, c := range f.columns {
						record[i] = drawCell(t, c)
					}
					w.Write(record)
				}
				w.Flush()
				rows, _ := read(t, file.String(), Options{})
				good += len(rows)
				checkRoundTrip(t, f.kind, rows)
			})
			if good < 20 {
				t.Errorf("only %d rows could be read: the property says too little", good)
			}
		})
	}
}

// drawCell draws text for a column, mostly such as it accepts.
func drawCell(t *rapid.T, c column) string {
	if !c.required && rapid.Bool().Draw(t, "blank") {
		return ""
	}
	switch cell := c.cell.(type) {
	case *textCell:
		return hostile().Filter(func(text string) bool {
			text, err := cleanText(text, cell.lines)
			return err == nil && text != ""
		}).Draw(t, c.name)
	case *dateCell:
		day := rapid.IntRange(0, 60000).Draw(t, c.name)
		return time.Date(firstYear, 1, 1+day, 0, 0, 0, 0, time.UTC).Format(time.DateOnly)
	case *amountCell:
		return formatNumber(rapid.Float64Range(least, cell.in.max).Draw(t, c.name))
	case *wholeCell:
		return formatNumber(float64(rapid.IntRange(1, cell.most).Draw(t, c.name)))
	default:
		return string(rapid.SampledFrom(model.Roles).Draw(t, c.name))
	}
}

func TestWriterRefuses(t *testing.T) {
	if _, err := NewWriter(io.Discard, "whips"); err == nil {
		t.Error("NewWriter took a kind that there is not")
	}
	w, err := NewWriter(io.Discard, model.Builds)
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Write(&model.Fill{}); err == nil || err.Error() != "ingest: *model.Fill in a file of builds" {
		t.Errorf("a fill among builds: got %v", err)
	}
}

// FuzzReader reads whole files. Every row and every problem is on a line of
// the file, the records with problems can be copied out, and good rows survive
// an export.
func FuzzReader(f *testing.F) {
	for _, seed := range []string{
		buildHeader + goodBuild,
		"\ufeff" + strings.ReplaceAll(buildHeader+"\n\n"+goodBuild, "\n", "\r\n"),
		buildHeader + `B1,2024-03-31,dita,bull,450 g,100 g,412 g,6' 2",98 g,` + "\n" + goodBuild,
		buildHeader + "B1,2024-03-31,dita,bull,,,412 g,,,\"one\n\ntwo\"\n,,\n\"x\n" + goodBuild,
		"build;date;maker;product;weight_oz\nB1;2024-03-31;'=x;bull;14,5\nB2;2024-03-31;x;bull;1.234\n",
		"fill\tdate\tcore_batch\tfilled_length\tshot_mass\nF1\t2024-03-31\tC1\t10 in\t\"20 g\"\n",
		"check,date,strand_batch,checked_length_m,checked_mass_g\nK1,2024-03-31,N1,10,47\n",
		"product,description,weight_low\nbull,\"a, b\",1 lb 3 oz\n",
		"product,part,role,mass_per_length_g_m,density_g_cm3\nbull,core,core,4.7,\nbull,rod,rod,,7.85\n",
		"part,role\n", "build\rdate\r", "\xff\xfeb\x00", "",
	} {
		f.Add([]byte(seed), false)
		f.Add([]byte(seed), true)
	}
	f.Fuzz(func(t *testing.T, file []byte, ignoreUnknown bool) {
		last := bytes.Count(file, []byte("\n")) + 1
		r, err := NewReader(bytes.NewReader(file), "x.csv", Options{IgnoreUnknown: ignoreUnknown})
		if err != nil {
			problems, ok := err.(Problems)
			if !ok {
				t.Fatalf("NewReader: %v (%T), want Problems", err, err)
			}
			for _, p := range problems {
				mustBeVisible(t, p)
			}
			return
		}
		var rows []model.Row
		reasons := map[int][]string{}
		before := 0 // line on which the last record started
		for {
			row, problems, err := r.Read()
			if err == io.EOF {
				break
			}
			if err != nil || (row == nil) != (len(problems) > 0) {
				t.Fatalf("Read() = %v, %v, %v", row, problems, err)
			}
			start := 0
			if row != nil {
				rows = append(rows, row)
				start = row.From().Line
			}
			for _, p := range slices.Concat(problems, r.Warnings()) {
				if p.Start < 1 || p.Line < p.Start || p.Line > last || start > 0 && p.Start != start {
					t.Fatalf("%v: starts on line %d, file has %d", p, p.Start, last)
				}
				start = p.Start
				if row == nil {
					reasons[p.Start] = append(reasons[p.Start], p.Error())
				}
				mustBeVisible(t, p)
			}
			if start <= before || start > last {
				t.Fatalf("record on line %d after one on line %d of %d", start, before, last)
			}
			before = start
		}
		if err := copyRejects(io.Discard, bytes.NewReader(file), reasons); err != nil {
			t.Fatalf("CopyRejects: %v, %v", err, reasons)
		}
		checkRoundTrip(t, r.Kind(), rows)
	})
}
