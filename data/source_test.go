package data_test

import (
	"flag"
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"trueplait/calibrate"
	"trueplait/data"
	"trueplait/model"
)

var _ calibrate.Source = (*data.Observations)(nil)

// shop draws a log of builds, test fills and cord checks with blanks, ties of
// date and a few wild figures.
func shop(t *rapid.T) []model.Row {
	nan := model.Unknown
	label := func(name, prefix string, blank bool) string {
		n := rapid.IntRange(0, 4).Draw(t, name)
		if n == 0 && blank {
			return ""
		}
		return fmt.Sprint(prefix, n)
	}
	figure := func(name string, planned float64) float64 {
		switch rapid.IntRange(0, 11).Draw(t, name+" kind") {
		case 0:
			return nan
		case 1:
			return planned * 1.6
		case 2:
			return planned / 28.35
		}
		return planned * math.Exp(rapid.Float64Range(-0.05, 0.05).Draw(t, name))
	}
	date := func() time.Time {
		return time.Date(2025, 1, 1, 0, 0, 0, 0, time.UTC).AddDate(0, 0, rapid.IntRange(0, 9).Draw(t, "day"))
	}
	var rows []model.Row
	for i := range rapid.IntRange(0, 30).Draw(t, "builds") {
		b := &model.Build{Origin: model.Origin{Line: i + 2}, ID: fmt.Sprint("B", i), Date: date(),
			Labels: model.Labels{Maker: label("maker", "M", false), Product: label("product", "P", false),
				CoreBatch: label("core", "C", true), StrandBatch: label("strand", "N", true), ShotBatch: label("shot", "S", true)},
			PredictedWeightG: 400, PredictedShotG: 80, PredictedLengthMM: 1800, PredictedStrandMM: 4000,
			ShotFactor: nan, BodyFactor: 1.03, LengthFactor: nan, LoadLengthMM: nan, Humidity: nan, StrandLeftMM: 0,
			WeightG: figure("weight", 400), LengthMM: figure("length", 1800), ShotUsedG: figure("shot used", 80), StrandCutMM: figure("strand cut", 4000)}
		if rapid.IntRange(0, 15).Draw(t, "by hand") == 0 {
			b.SetAside = "dropped"
		}
		rows = append(rows, b)
	}
	for i := range rapid.IntRange(0, 6).Draw(t, "fills") {
		rows = append(rows, &model.Fill{Origin: model.Origin{Line: i + 2}, ID: fmt.Sprint("F", i), Date: date(),
			Labels:         model.Labels{CoreBatch: label("core", "C", false), ShotBatch: label("shot", "S", true)},
			FilledLengthMM: 200, ShotMassG: 40 * rapid.Float64Range(0.9, 1.5).Draw(t, "fill"), PredictedShotG: 40})
	}
	for i := range rapid.IntRange(0, 4).Draw(t, "checks") {
		rows = append(rows, &model.Check{Origin: model.Origin{Line: i + 2}, ID: fmt.Sprint("K", i), Date: date(),
			Labels:          model.Labels{StrandBatch: label("strand", "N", false)},
			CheckedLengthMM: 3000, CheckedMassG: 20 * rapid.Float64Range(0.9, 1.2).Draw(t, "check"), PredictedMassG: 20})
	}
	return rows
}

// must unwraps a result.
func must[T any](t *rapid.T) func(T, error) T {
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

// The log answers fits as the plain Go implementation does that holds the same
// observations: cells, screen, ratios, deviation, correlation, combinations.
func TestSourceAgreesWithRows(t *testing.T) {
	// Every check opens a log of its own, so that rapid's default of 100 would
	// take most of a minute.
	if checks := flag.Lookup("rapid.checks"); checks.Value.String() == checks.DefValue {
		if err := flag.Set("rapid.checks", "30"); err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { flag.Set("rapid.checks", checks.DefValue) })
	}
	equal := cmp.Options{cmpopts.EquateApprox(1e-9, 1e-12), cmpopts.EquateNaNs(), cmpopts.EquateEmpty()}
	screens := cmp.Options{equal, cmpopts.IgnoreFields(model.Flagged{}, "Place")}
	rapid.Check(t, func(t *rapid.T) {
		ctx := t.Context()
		l := must[*data.Log](t)(data.Memory(ctx))
		defer l.Close()
		im := must[*data.Import](t)(l.Begin(ctx, time.Time{}))
		in := shop(t)
		for _, kind := range model.Kinds {
			f := must[*data.File](t)(im.File(string(kind), kind))
			for _, row := range in {
				if row.Kind() == kind {
					if err := f.Add(row); err != nil {
						t.Fatal(err)
					}
				}
			}
			must[data.Outcome](t)(f.Finish(ctx, data.FinishOptions{}))
		}
		if err := im.Commit(ctx); err != nil {
			t.Fatal(err)
		}
		log := must[*data.Observations](t)(l.Observations(ctx, time.Time{}, false))
		held := map[model.Quantity][]model.Observation{}
		for _, q := range model.Quantities {
			held[q] = must[[]model.Observation](t)(log.Observations(ctx, q))
		}
		rows := calibrate.NewRows(held)
		q := rapid.SampledFrom(model.Quantities).Draw(t, "quantity")
		fit := func(q model.Quantity) model.Residuals {
			r := model.Residuals{Quantity: q, Fitted: model.Fitted{Mean: rapid.Float64Range(-0.1, 0.1).Draw(t, "mean"), Theta2: map[model.Effect]float64{}}}
			for _, e := range q.Effects() {
				r.Fitted.Theta2[e] = rapid.Float64Range(0, 3).Draw(t, "theta2")
				for _, level := range []string{"M1", "M2", "C1", "C3", "N2", "S1", "P4", model.CheckLevel} {
					r.Fitted.Levels = append(r.Fitted.Levels, model.LevelEffect{Effect: e, Level: level, Value: rapid.Float64Range(-0.1, 0.1).Draw(t, "level")})
				}
			}
			for _, o := range held[q] {
				if rapid.IntRange(0, 5).Draw(t, "aside") == 0 {
					r.Aside = append(r.Aside, o.Key)
				}
			}
			return r
		}
		compare := func(what string, q model.Quantity, want, got any, opts cmp.Options) {
			t.Helper()
			if d := cmp.Diff(want, got, opts); d != "" {
				t.Fatalf("%s of %s (-rows +log):\n%s", what, q, d)
			}
		}
		{
			r := fit(q)
			compare("cells", q, must[[]model.Cell](t)(rows.Cells(ctx, q, r.Aside)), must[[]model.Cell](t)(log.Cells(ctx, q, r.Aside)), equal)
			other := fit(q)
			for _, aside := range [][]model.RowKey{nil, other.Aside, r.Aside} { // kept rows must come back
				compare("cells", q, must[[]model.Cell](t)(rows.Cells(ctx, q, aside)), must[[]model.Cell](t)(log.Cells(ctx, q, aside)), equal)
			}
			compare("ratios", q, must[map[model.RowKey]float64](t)(rows.Ratios(ctx, q, r.Aside)), must[map[model.RowKey]float64](t)(log.Ratios(ctx, q, r.Aside)), equal)

			for _, share := range []float64{0.01, 0.5, rapid.Float64Range(0.6, 0.99).Draw(t, "share")} {
				compare("deviation", q, must[float64](t)(rows.Deviation(ctx, q, r.Aside, share)), must[float64](t)(log.Deviation(ctx, q, r.Aside, share)), equal)
			}

			excluded := must[[]model.Excluded](t)(log.Excluded(ctx, q))
			for i := range excluded {
				if (excluded[i].Reason == model.ByHand) != (excluded[i].Note == "dropped") {
					t.Fatalf("%s: %+v: the maker's words belong to rows set aside by hand", q, excluded[i])
				}
				excluded[i].Note = ""
			}
			compare("excluded", q, must[[]model.Excluded](t)(rows.Excluded(ctx, q)), excluded, equal)

			want, got := must[model.Screen](t)(rows.Screen(ctx, q, r.Fitted, r.Aside)), must[model.Screen](t)(log.Screen(ctx, q, r.Fitted, r.Aside))
			compare("screen", q, want, got, screens)
			shared := map[model.LevelEffect]int{}
			for _, f := range got.Flagged {
				for _, e := range model.Effects {
					shared[model.LevelEffect{Effect: e, Level: f.Labels.Get(e)}]++
				}
			}
			for i, f := range got.Flagged {
				for e, place := range want.Flagged[i].Place {
					if shared[model.LevelEffect{Effect: e, Level: f.Labels.Get(e)}] > 1 && f.Place[e] != place {
						t.Fatalf("%s: %v is at place %d of %s %s, want %d", q, f.Key, f.Place[e], e, f.Labels.Get(e), place)
					}
				}
			}
		}
		// Where residuals are alike but for rounding, so is their correlation noise.
		for _, q := range []model.Quantity{model.Shot, model.Body} {
			if spread(held[q]) < 1e-6 {
				return
			}
		}
		a, b := fit(model.Shot), fit(model.Body)
		wantR, wantN, _ := rows.Correlation(ctx, a, b)
		gotR, gotN, err := log.Correlation(ctx, a, b)
		if err != nil || gotN != wantN || !cmp.Equal(gotR, wantR, equal) {
			t.Fatalf("correlation %v of %d, %v; want %v of %d", gotR, gotN, err, wantR, wantN)
		}
	})
}

// spread is the difference of the greatest and the least y of the builds.
func spread(obs []model.Observation) float64 {
	low, high := math.Inf(1), math.Inf(-1)
	for _, o := range obs {
		if o.Key.Kind == model.Builds && o.Excluded == "" {
			low, high = math.Min(low, o.Y), math.Max(high, o.Y)
		}
	}
	return high - low
}
