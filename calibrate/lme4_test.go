package calibrate

import (
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"trueplait/data"
	"trueplait/model"
	"trueplait/model/trade"
)

// BenchmarkShot sums up and fits the shot of all builds of a log by REML,
// beside lme4's fit of the same rows in the same run (lme4.R), which has read
// its file already: as the log has here. x-lme4 is how many times as long lme4
// took. It wants R with lme4 and data.table.
func BenchmarkShot(b *testing.B) {
	if _, err := exec.LookPath("Rscript"); err != nil {
		b.Skip("wants Rscript, with lme4 and data.table")
	}
	for _, t := range []trade.Trade{
		trade.Large(100_000, false), trade.Large(100_000, true), trade.Large(1_000_000, false), trade.Large(1_000_000, true),
	} {
		b.Run(t.String(), func(b *testing.B) {
			theirs := lme4(b, t)
			src := tradeLog(b, t)
			if _, err := src.Cells(b.Context(), model.Shot, nil); err != nil {
				b.Fatal(err)
			}
			start := time.Now()
			var fit *remlFit
			for b.Loop() {
				cells, err := src.Cells(b.Context(), model.Shot, nil)
				if err != nil {
					b.Fatal(err)
				}
				fit = newSystem(model.Shot.Effects(), cells, nil).fitREML(nil)
			}
			b.ReportMetric(theirs.seconds/(time.Since(start).Seconds()/float64(b.N)), "x-lme4")
			b.ReportMetric(theirs.seconds, "lme4-s")
			reml := fit.report()
			for _, v := range []struct {
				what         string
				ours, theirs float64
			}{
				{"criterion", reml.Criterion, theirs.criterion}, {"maker", reml.SD[model.Maker], theirs.maker},
				{"core batch", reml.SD[model.CoreBatch], theirs.core}, {"shot batch", reml.SD[model.ShotBatch], theirs.shot},
				{"scatter", reml.Residual, theirs.residual},
			} {
				if math.Abs(v.ours-v.theirs) > 1e-4*math.Abs(v.theirs) {
					b.Errorf("%s %.8g, lme4 %.8g", v.what, v.ours, v.theirs)
				}
			}
		})
	}
}

// lme4Fit is what lme4.R prints.
type lme4Fit struct{ criterion, maker, core, shot, residual, seconds float64 }

func lme4(b *testing.B, t trade.Trade) (f lme4Fit) {
	b.Helper()
	name := filepath.Join(b.TempDir(), "builds.csv")
	file, err := os.Create(name)
	if err != nil {
		b.Fatal(err)
	}
	defer file.Close()
	if err := t.WriteCSV(file); err != nil {
		b.Fatal(err)
	}
	out, err := exec.Command("Rscript", "lme4.R", name).Output()
	if err != nil {
		b.Fatalf("lme4.R: %v", err)
	}
	var rows float64
	if _, err := fmt.Sscan(string(out), &rows, &f.criterion, &f.maker, &f.core, &f.shot, &f.residual, &f.seconds); err != nil || int(rows) != t.Rows {
		b.Fatalf("lme4.R: %q: %v", out, err)
	}
	return f
}

// tradeLog is a log of all builds of a trade, none of them excluded.
func tradeLog(b *testing.B, t trade.Trade) *data.Observations {
	b.Helper()
	log, err := data.Open(b.Context(), filepath.Join(b.TempDir(), "workshop.duckdb"), data.ReadWrite)
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { log.Close() })
	im, err := log.Begin(b.Context(), time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC))
	if err != nil {
		b.Fatal(err)
	}
	f, err := im.File("builds.csv", model.Builds)
	if err != nil {
		b.Fatal(err)
	}
	for build := range t.Builds() {
		if err := f.Add(build); err != nil {
			b.Fatal(err)
		}
	}
	if _, err := f.Finish(b.Context(), data.FinishOptions{}); err != nil {
		b.Fatal(err)
	}
	if err := im.Commit(b.Context()); err != nil {
		b.Fatal(err)
	}
	src, err := log.Observations(b.Context(), time.Time{}, true)
	if err != nil {
		b.Fatal(err)
	}
	return src
}
