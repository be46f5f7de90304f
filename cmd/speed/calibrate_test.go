package main

import (
	"database/sql"
	"encoding/json"
	"fmt"
	"math"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"trueplait/calibrate"
	"trueplait/data"
	"trueplait/model"
	"trueplait/model/trade"
)

// trades are the logs that are calibrated: batches used in turn, as shops do,
// and every batch met by every maker, as many cells as rows.
func trades() []trade.Trade {
	out := []trade.Trade{trade.Large(1_000_000, false), trade.Large(1_000_000, true)}
	if *size > 0 {
		out = append(out, trade.Large(*size, false))
	}
	return out
}

// BenchmarkCalibrate times the program while it fits everything, set-aside
// included, saves the calibration, which takes a fingerprint of all rows, and
// prints it. bare is what summing up the rows of the five quantities takes in
// DuckDB alone, in the same run.
func BenchmarkCalibrate(b *testing.B) {
	program := buildProgram(b)
	for _, t := range trades() {
		log, _ := logOf(b, program, t)
		b.Run("bare/"+t.String(), func(b *testing.B) {
			for b.Loop() {
				bareSums(b, log, t.Rows)
			}
		})
		b.Run(t.String(), func(b *testing.B) {
			var all effort
			var out []byte
			for b.Loop() {
				var e effort
				e, out = runProgram(b, program, "calibrate", "--json", "--log", log)
				all.add(e)
			}
			if want := fmt.Sprintf(`"builds": %d`, t.Rows); !strings.Contains(string(out), want) {
				b.Fatalf("no %s in %.300s", want, out)
			}
			b.ReportMetric(all.cpu.Seconds()/float64(b.N), "cpu-s/op")
			b.ReportMetric(float64(all.peak)/1e6, "peak-MB")
		})
	}
}

// BenchmarkFitLog fits everything in this process from a log that is open, and
// checks what it finds against what the trade was made with.
func BenchmarkFitLog(b *testing.B) {
	program := buildProgram(b)
	for _, t := range trades() {
		path, _ := logOf(b, program, t)
		log := openReading(b, path)
		b.Run(t.String(), func(b *testing.B) {
			var c *calibrate.Calibration
			for b.Loop() {
				c = fitLog(b, log, calibrate.Options{})
			}
			for q, sigma := range map[model.Quantity]float64{
				model.Shot: trade.ShotScatter, model.Body: trade.BodyScatter, model.Length: trade.LengthScatter, model.Strand: trade.StrandScatter,
			} {
				if f := c.Quantity(q); f.REML == nil || math.Abs(f.REML.Residual-sigma) > 0.02*sigma {
					b.Errorf("%s: %+v, want scatter %g", q, f.REML, sigma)
				}
			}
		})
		log.Close()
	}
}

// logOf writes a trade to a file and imports it into a new log.
func logOf(b *testing.B, program string, t trade.Trade) (log, file string) {
	b.Helper()
	dir := b.TempDir()
	log, file = filepath.Join(dir, "workshop.duckdb"), filepath.Join(dir, "builds.csv")
	writeTrade(b, file, t)
	runProgram(b, program, "import", "--log", log, file)
	return log, file
}

func openReading(b *testing.B, path string) *data.Log {
	b.Helper()
	log, err := data.Open(b.Context(), path, data.ReadOnly)
	if err != nil {
		b.Fatal(err)
	}
	return log
}

func fitLog(b *testing.B, log *data.Log, opt calibrate.Options) *calibrate.Calibration {
	b.Helper()
	src, err := log.Observations(b.Context(), time.Time{}, opt.KeepAll)
	if err != nil {
		b.Fatal(err)
	}
	c, err := calibrate.Fit(b.Context(), src, opt)
	if err != nil {
		b.Fatal(err)
	}
	return c
}

// bareSums sums up the rows of each quantity by its labels, and reads the sums.
func bareSums(b *testing.B, log string, rows int) {
	b.Helper()
	db, err := sql.Open("duckdb", log+"?access_mode=READ_ONLY")
	if err != nil {
		b.Fatal(err)
	}
	defer db.Close()
	for y, labels := range map[string]string{
		"shot_used_g / predicted_shot_g":                                     "maker, core_batch, shot_batch",
		"(weight_g - shot_used_g) / (predicted_weight_g - predicted_shot_g)": "maker, strand_batch, product",
		"weight_g / predicted_weight_g":                                      "maker, strand_batch, core_batch, product",
		"length_mm / predicted_length_mm":                                    "maker, strand_batch, product",
		"(strand_cut_mm - strand_left_mm) / predicted_strand_mm":             "maker, strand_batch, product",
	} {
		found, err := db.QueryContext(b.Context(), fmt.Sprintf("select count(*), avg(ln(%s)), var_pop(ln(%s)) * count(*), %s from build group by %s", y, y, labels, labels))
		if err != nil {
			b.Fatal(err)
		}
		n, sum := 0, 0
		var mean, ss float64
		label := make([]sql.NullString, strings.Count(labels, ",")+1)
		into := []any{&n, &mean, &ss}
		for i := range label {
			into = append(into, &label[i])
		}
		for found.Next() {
			if err := found.Scan(into...); err != nil {
				b.Fatal(err)
			}
			sum += n
		}
		if err := found.Err(); err != nil || sum != rows {
			b.Fatalf("%d rows, %v", sum, err)
		}
	}
}

// BenchmarkProof times the proof of a log of 10,000 builds, with 60 cut-offs.
func BenchmarkProof(b *testing.B) {
	program := buildProgram(b)
	t := trade.Large(10_000, false)
	log, _ := logOf(b, program, t)
	b.Run(t.String(), func(b *testing.B) {
		var all effort
		var out []byte
		for b.Loop() {
			var e effort
			e, out = runProgram(b, program, "proof", "--json", "--log", log)
			all.add(e)
		}
		var proof struct {
			Cutoffs    []string
			Quantities []struct{ Builds int }
		}
		if err := json.Unmarshal(out, &proof); err != nil || len(proof.Cutoffs) != 60 || len(proof.Quantities) == 0 || proof.Quantities[0].Builds < t.Rows*99/100 {
			b.Fatalf("%v in %.300s", err, out)
		}
		b.ReportMetric(all.cpu.Seconds()/float64(b.N), "cpu-s/op")
		b.ReportMetric(float64(all.peak)/1e6, "peak-MB")
	})
}
