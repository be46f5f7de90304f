package postgres_test

import (
	"context"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"trueplait/calibrate"
	"trueplait/data"
	"trueplait/model"
	"trueplait/model/trade"
)

// tradeRows are the builds of a trade, with test fills and cord checks of its
// batches.
func tradeRows(w trade.Trade) (builds, fills, checks []model.Row) {
	for b := range w.Builds() {
		row := *b
		builds = append(builds, &row)
		if b.Line%200 != 0 {
			continue
		}
		n := float64(b.Line / 200)
		fills = append(fills, &model.Fill{
			Origin: model.Origin{Line: len(fills) + 2}, ID: "F" + b.ID, Date: b.Date,
			Labels:         model.Labels{Maker: b.Maker, CoreBatch: b.CoreBatch, ShotBatch: b.ShotBatch},
			FilledLengthMM: 200, ShotMassG: 38 + n/40, PredictedShotG: 40,
		})
		checks = append(checks, &model.Check{
			Origin: model.Origin{Line: len(checks) + 2}, ID: "K" + b.ID, Date: b.Date,
			Labels:          model.Labels{StrandBatch: b.StrandBatch},
			CheckedLengthMM: 3000, CheckedMassG: 20 + n/100, PredictedMassG: 20,
		})
	}
	return builds, fills, checks
}

// The same rows are the same log wherever they are: in memory, on one server,
// and on three that divide the builds.
func TestSameEverywhere(t *testing.T) {
	whole, divided := newGuild(t, 0, 0), newGuild(t, 2, 5) // before any test that runs meanwhile has workshops
	t.Parallel()
	for _, crossed := range []bool{false, true} {
		w := trade.Large(3_000, crossed)
		t.Run(w.String(), func(t *testing.T) {
			memory, err := data.Memory(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			defer memory.Close()
			want := read(t, memory, w)
			for name, g := range map[string]*guild{"one server": whole, "three servers": divided} {
				got := read(t, g.newLog(t), w)
				if diff := cmp.Diff(want.rows, got.rows, cmpopts.EquateNaNs()); diff != "" {
					t.Errorf("%s: rows (-memory):\n%.2000s", name, diff)
				}
				if got.fingerprints != want.fingerprints {
					t.Errorf("%s: fingerprints %s, want %s", name, got.fingerprints, want.fingerprints)
				}
				diff := cmp.Diff(want.fit, got.fit, cmpopts.EquateNaNs(), cmpopts.EquateApprox(1e-10, 1e-12),
					cmpopts.IgnoreFields(calibrate.QuantityFit{}, "Posterior"))
				if diff != "" {
					t.Errorf("%s: calibration (-memory):\n%.4000s", name, diff)
				}
			}
		})
	}
}

// reading is what a log gives back.
type reading struct {
	rows         map[model.Kind][]model.Row
	fingerprints [2]string // at half time, at the end
	fit          *calibrate.Calibration
}

// read imports a trade into an empty log, splits a batch, and reads all of it.
func read(t *testing.T, l *data.Log, w trade.Trade) (out reading) {
	t.Helper()
	builds, fills, checks := tradeRows(w)
	mustImport(t, l, "builds.csv", builds)
	mustImport(t, l, "fills.csv", fills)
	mustImport(t, l, "checks.csv", checks)
	middle := builds[len(builds)/2].(*model.Build).Date
	at := slices.IndexFunc(builds, func(r model.Row) bool {
		b := r.(*model.Build)
		return !b.Date.Before(middle) && b.StrandBatch != ""
	})
	split := model.Split{Effect: model.StrandBatch, Label: builds[at].(*model.Build).StrandBatch, Since: middle}
	if err := l.Split(t.Context(), split, noon); err != nil {
		t.Fatal(err)
	}
	out.rows = map[model.Kind][]model.Row{}
	for _, kind := range []model.Kind{model.Builds, model.Fills, model.Checks, model.Products, model.Parts} {
		out.rows[kind] = all(t, l, kind)
	}
	for i, through := range []time.Time{middle, {}} {
		var err error
		if out.fingerprints[i], err = l.Fingerprint(t.Context(), through); err != nil {
			t.Fatal(err)
		}
	}
	out.fit = fit(t, l)
	n := 0
	for _, q := range out.fit.Quantities {
		n += len(q.SetAside)
	}
	if n == 0 {
		t.Error("no row is set aside")
	}
	return out
}

// fit calibrates the rows of a log.
func fit(t testing.TB, l *data.Log) *calibrate.Calibration {
	t.Helper()
	c, err := calibrates(t.Context(), l)
	if err != nil {
		t.Fatal(data.InWords("postgres://log", err)) // says where a server should be
	}
	return c
}

// calibrates is fit, which may fail.
func calibrates(ctx context.Context, l *data.Log) (*calibrate.Calibration, error) {
	o, err := l.Observations(ctx, time.Time{}, false)
	if err != nil {
		return nil, err
	}
	return calibrate.Fit(ctx, o, calibrate.Options{})
}
