package ingest

import (
	"io"
	"os"
	"path/filepath"
	"testing"
	"time"

	"trueplait/model"
)

// readAll reads a whole file and fails the test on anything that is wrong with
// it.
func readAll(t *testing.T, name string, opt Options) []model.Row {
	t.Helper()
	f, err := os.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r, err := NewReader(f, filepath.Base(name), opt)
	if err != nil {
		t.Fatal(err)
	}
	var rows []model.Row
	for {
		row, problems, err := r.Read()
		if err == io.EOF {
			return rows
		}
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range problems {
			t.Error(p)
		}
		rows = append(rows, row)
	}
}

// TestWorkshop reads files as makers write them. The rows below were worked
// out by hand with the factors of NIST SP 811.
func TestWorkshop(t *testing.T) {
	const dir = "../testdata/workshop/"
	builds := readAll(t, dir+"builds.csv", Options{})
	fills := readAll(t, dir+"fills.csv", Options{})
	products := readAll(t, dir+"products.csv", Options{})
	if len(builds) != 214 || len(fills) != 29 || len(products) != 6 {
		t.Fatalf("read %d builds, %d fills, %d products, want 214, 29, 6", len(builds), len(fills), len(products))
	}
	for _, c := range []struct {
		line                                            int
		id, maker, core                                 string
		predictedWeight, predictedLength, predictedShot float64
		weight, length, shotUsed                        float64
		note                                            string
	}{
		{2, "D-001", "dita", "C01", 303, 1305, 81.7, 303, 1268, 75, ""},                                           // 126.8 cm
		{3, "C-002", "colm", "C02", 435, 1835, 56.8, 15.5 * nistOunce, 71.25 * nistInch, 51.4, ""},                // 15 1/2 oz, 71-1/4"
		{10, "F-009", "fen", "C03", 280, 1178, 80.4, 283, 1196.975, 72.4, ""},                                     // 3' 11 1/8"
		{16, "F-015", "fen", "C03", 394, 2133, 43.7, 14 * nistOunce, 84.375 * nistInch, 40.8, ""},                 // 7' 3/8"
		{43, "F-042", "fen", "C05", 474, 2008, 60.1, 492, 78.5 * nistInch, model.Unknown, ""},                     // 6' 6 1/2", shot not recorded
		{66, "D-065", "dita", "C04", 427, 1789, 58, 14.9, 66.75 * nistInch, 52.4, ""},                             // a slip, read as written
		{86, "C-085", "colm", "C06", 737, 2998, 100.3, 24.75 * nistOunce, 2964, 94.7, "new vice, better tension"}, // 1 lb 8 3/4 oz
	} {
		b := builds[c.line-2].(*model.Build)
		if b.Line != c.line || b.File != "builds.csv" || b.ID != c.id || b.Maker != c.maker || b.CoreBatch != c.core || b.Note != c.note {
			t.Errorf("line %d: got %+v", c.line, b)
		}
		for _, v := range []struct {
			name      string
			got, want float64
		}{
			{"predicted_weight", b.PredictedWeightG, c.predictedWeight}, {"predicted_length", b.PredictedLengthMM, c.predictedLength},
			{"predicted_shot", b.PredictedShotG, c.predictedShot},
			{"weight", b.WeightG, c.weight}, {"length", b.LengthMM, c.length}, {"shot_used", b.ShotUsedG, c.shotUsed},
		} {
			if !near(v.got, v.want) && (model.Known(v.got) || model.Known(v.want)) {
				t.Errorf("line %d: %s = %v, want %v", c.line, v.name, v.got, v.want)
			}
		}
	}
	f := fills[0].(*model.Fill) // 0' 6"
	if f.ID != "F001" || !f.Date.Equal(time.Date(2023, 2, 8, 0, 0, 0, 0, time.UTC)) || f.ShotBatch != "S1" ||
		f.FilledLengthMM != 152.4 || f.PredictedShotG != 13.2 || f.ShotMassG != 12.6 {
		t.Errorf("got %+v", f)
	}
	p := products[0].(*model.ProductLine)
	if p.Product != "6 ft bull 12pl" || p.WeightLowG != 410 || p.WeightHighG != 523 || p.LengthLowMM != 1848 || p.LengthHighMM != 2019 {
		t.Errorf("got %+v", p)
	}
}
