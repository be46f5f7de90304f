package calibrate

import (
	"context"
	"encoding/csv"
	"fmt"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"
	"time"

	"trueplait/model"
)

// table reads a CSV of testdata as columns by name.
func table(t *testing.T, path ...string) map[string][]string {
	t.Helper()
	f, err := os.Open(filepath.Join(append([]string{"..", "testdata"}, path...)...))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	out := map[string][]string{}
	for i, name := range rows[0] {
		for _, r := range rows[1:] {
			out[name] = append(out[name], r[i])
		}
	}
	return out
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// quantities reads the two leading columns of an expected.csv.
func expected(t *testing.T, path ...string) map[string]float64 {
	t.Helper()
	c := table(t, path...)
	out := map[string]float64{}
	for i, name := range c["quantity"] {
		if v := c["reference"][i]; v != "" {
			out[name] = number(t, v)
		}
	}
	return out
}

// published names a data set, its response and the effects its groups play.
type published struct {
	name, y string
	groups  map[model.Effect]string
}

// The sets and their sources are described in each folder's SOURCE.md; the
// reference column solves the REML score equations to machine precision and
// agrees with lme4 1.1-31.
var publishedSets = []published{
	{"dyestuff", "Yield", map[model.Effect]string{model.Maker: "Batch"}},
	{"dyestuff2", "Yield", map[model.Effect]string{model.Maker: "Batch"}}, // component exactly zero
	{"penicillin", "diameter", map[model.Effect]string{model.Maker: "plate", model.CoreBatch: "sample"}},
	{"pastes", "strength", map[model.Effect]string{model.Maker: "batch", model.CoreBatch: "sample"}}, // nested
	{"rail", "travel", map[model.Effect]string{model.Maker: "Rail"}},
	{"synthetic_a", "log_ratio", map[model.Effect]string{model.Maker: "maker", model.CoreBatch: "lot"}},
	{"synthetic_b", "log_ratio", map[model.Effect]string{model.Maker: "maker", model.CoreBatch: "lot"}},
}

// publishedCells reads a set, one cell a row: newSystem merges them.
func publishedCells(t *testing.T, set published, folder ...string) []model.Cell {
	t.Helper()
	c := table(t, append(folder, set.name, "data.csv")...)
	var cells []model.Cell
	for i, y := range c[set.y] {
		cell := model.Cell{Kind: model.Builds, N: 1, Mean: number(t, y)}
		for e, column := range set.groups {
			cell.Labels.Set(e, c[column][i])
		}
		cells = append(cells, cell)
	}
	return cells
}

func checkNear(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.12g, want %.12g (off by %.2g, allowed %.2g)", what, got, want, got-want, tol)
	}
}

// TestREML_Published compares criterion, spreads, mean and BLUPs with the
// published fits: criterion 1e-5, sd 1e-5 relative, BLUPs 1e-6.
func TestREML_Published(t *testing.T) {
	for _, set := range publishedSets {
		t.Run(set.name, func(t *testing.T) {
			s := newSystem([]model.Effect{model.Maker, model.CoreBatch}, publishedCells(t, set, "reml"), nil)
			fit := s.fitREML(nil)
			if fit == nil {
				t.Fatal("no fit")
			}
			compareREML(t, fit.report(), set, expected(t, "reml", set.name, "expected.csv"), table(t, "reml", set.name, "ranef.csv"))
		})
	}
}

func compareREML(t *testing.T, r *REML, set published, want map[string]float64, ranef map[string][]string) {
	t.Helper()
	checkNear(t, "criterion", r.Criterion, want["reml_criterion"], 1e-5)
	checkNear(t, "mean", r.Mean, want["fixef_(Intercept)"], 1e-6*math.Abs(want["fixef_(Intercept)"]))
	checkNear(t, "se of mean", r.MeanSE, want["se_(Intercept)"], 1e-5*want["se_(Intercept)"])
	checkNear(t, "residual sd", r.Residual, want["sigma"], 1e-5*want["sigma"])
	blups := map[[2]string]BLUP{}
	for e, group := range set.groups {
		sd := math.Sqrt(want["var_"+group])
		if sd == 0 && r.SD[e] != 0 {
			t.Errorf("sd of %s = %g, want exactly 0", group, r.SD[e])
		}
		checkNear(t, "sd of "+group, r.SD[e], sd, 1e-5*sd)
		for _, b := range r.BLUP {
			if b.Effect == e {
				blups[[2]string{group, b.Level}] = b
			}
		}
	}
	if len(blups) != len(ranef["level"]) {
		t.Errorf("%d BLUPs, want %d", len(blups), len(ranef["level"]))
	}
	for i, level := range ranef["level"] {
		b := blups[[2]string{ranef["group"][i], level}]
		what := fmt.Sprintf("BLUP of %s %s", ranef["group"][i], level)
		checkNear(t, what, b.Value, number(t, ranef["blup"][i]), 1e-6)
		checkNear(t, "se of "+what, b.SE, number(t, ranef["pev_sd"][i]), 1e-5*b.SE+1e-12)
	}
}

// TestREML_FixedLine checks synthetic_e, whose product lines are fixed effects
// in the reference: the limit of a random effect whose spread is very large.
// BLUPs at the published spreads must be those of the fixed line.
func TestREML_FixedLine(t *testing.T) {
	set := published{"synthetic_e", "log_ratio", map[model.Effect]string{model.Maker: "maker", model.CoreBatch: "lot", model.Product: "line"}}
	want := expected(t, "reml", set.name, "expected.csv")
	s := newSystem([]model.Effect{model.Maker, model.CoreBatch, model.Product}, publishedCells(t, set, "reml"), nil)
	sigma := math.Sqrt(want["var_Residual"])
	const wide = 3e4
	o := s.solve([]float64{math.Sqrt(want["var_maker"]) / sigma, math.Sqrt(want["var_lot"]) / sigma, wide}, nil)
	ranef := table(t, "reml", set.name, "ranef.csv")
	for i, level := range ranef["level"] {
		k := 0
		if ranef["group"][i] == "lot" {
			k = 1
		}
		j, ok := s.index[k][level]
		if !ok {
			t.Fatalf("no level %s", level)
		}
		checkNear(t, "BLUP of "+level, o.theta[k]*o.b[j], number(t, ranef["blup"][i]), 1e-6)
	}
	line := func(name string) float64 { return wide * o.b[s.index[2][name]] }
	for _, name := range []string{"B", "C", "D"} {
		checkNear(t, "line "+name, line(name)-line("A"), want["fixef_line"+name], 1e-6)
	}
	checkNear(t, "residual variance", o.r2/(s.n-4), want["var_Residual"], 1e-6*want["var_Residual"])
}

// TestScreen_Contaminated plants gross errors: the screen must set aside just
// the planted rows and land on the fit without them.
func TestScreen_Contaminated(t *testing.T) {
	c := table(t, "robust", "contaminated", "data.csv")
	var obs []model.Observation
	for i, id := range c["build_id"] {
		y := number(t, c["log_ratio"][i])
		obs = append(obs, model.Observation{
			Key: model.RowKey{Kind: model.Builds, ID: id}, Date: day(i), Y: y, Base: 1, Measured: math.Exp(y),
			Labels: model.Labels{Maker: c["maker"][i], CoreBatch: c["lot"][i]},
		})
	}
	rows := NewRows(map[model.Quantity][]model.Observation{model.Shot: obs})
	scr, err := screen(context.Background(), rows, model.Shot, nil, false)
	if err != nil {
		t.Fatal(err)
	}
	got, want := map[string]bool{}, map[string]bool{}
	for _, f := range scr.aside {
		got[f.Key.ID] = true
	}
	for _, id := range table(t, "robust", "contaminated", "planted_outliers.csv")["build_id"] {
		want[id] = true
	}
	if !maps.Equal(got, want) {
		t.Errorf("set aside %v, want the planted rows %v", slices.Sorted(maps.Keys(got)), slices.Sorted(maps.Keys(want)))
	}
	set := published{"contaminated", "log_ratio", map[model.Effect]string{model.Maker: "maker", model.CoreBatch: "lot"}}
	compareREML(t, scr.fit.report(), set, expected(t, "robust", "contaminated", "expected_without_outliers.csv"), table(t, "robust", "contaminated", "ranef_without_outliers.csv"))
}

// day is a date i days into the log.
func day(i int) time.Time { return time.Date(2023, 1, 2+i, 0, 0, 0, 0, time.UTC) }

// TestProof_Nile runs the rolling origin on the annual flow of the Nile: the
// running mean of earlier rows only, and its scores, must be the published
// ones. A row let in a day early changes every figure.
func TestProof_Nile(t *testing.T) {
	c := table(t, "backtest", "nile", "data.csv")
	var obs []model.Observation
	for i, y := range c["y"] {
		obs = append(obs, model.Observation{Key: model.RowKey{Kind: model.Builds, ID: c["t"][i]}, Date: day(i), Y: number(t, y) / 1e3, Base: 1})
	}
	rows := NewRows(map[model.Quantity][]model.Observation{model.Length: obs})
	f := table(t, "backtest", "nile", "forecasts_expanding.csv")
	var scored []Scored
	for i, at := range f["t"] {
		n := int(number(t, at)) - 1
		running, _ := newNaive(rows.of[model.Length]).before(obs[n].Date, "")
		forecast := 1e3 * math.Log(running)
		checkNear(t, "forecast of "+at, forecast, number(t, f["forecast"][i]), 1e-9*forecast)
		scored = append(scored, Scored{
			Measured: number(t, c["y"][n]), Predicted: map[Predictor]float64{RunningMean: forecast},
			Low: number(t, f["lo95"][i]), High: number(t, f["hi95"][i]),
		})
	}
	want := map[string]float64{}
	e := table(t, "backtest", "nile", "expected.csv")
	for i, mode := range e["mode"] {
		if v := e["value"][i]; mode == "expanding" && v != "" {
			want[e["quantity"][i]] = number(t, v)
		}
	}
	got := figures(scored, 1)
	s := got.Scores[RunningMean]
	checkNear(t, "builds", float64(got.N), want["n_forecasts"], 0)
	checkNear(t, "bias", s.Bias, -want["bias_mean_error"], 1e-9*1e3) // theirs is measured less predicted
	checkNear(t, "mae", s.MAE, want["mae"], 1e-9*1e3)
	checkNear(t, "rmse", s.RMSE, want["rmse"], 1e-9*1e3)
	checkNear(t, "mape", 100*s.MAPE, want["mape_percent"], 1e-9*1e3)
	checkNear(t, "coverage", got.Coverage.Achieved, want["coverage_95"], 1e-12)
}
