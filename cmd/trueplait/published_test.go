package main

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// calibration is what these tests read of the JSON.
type calibration struct {
	Calibration *int
	Through     *string
	Builds      int
	Fills       int
	Checks      int
	Quantities  []quantity
}

type quantity struct {
	Quantity string
	Rows     int
	Effects  []string
	SetAside []map[string]any `json:"set_aside"`
	REML     *struct {
		Criterion float64
		Mean      float64
		MeanSE    float64 `json:"mean_se"`
		SD        map[string]*float64
		BLUP      []struct {
			Effect, Level string
			Rows          int
			Value, SE     float64
		}
	}
	Overall  struct{ Factor, Low, High float64 }
	Factors  []map[string]any
	Warnings []string
	Drift    []struct {
		Effect, Level, Direction, Grade string
		At                              string `json:"at_build"`
		Since                           string `json:"since_build"`
	}
}

func parseCalibration(t *testing.T, text string) calibration {
	t.Helper()
	var c calibration
	if err := json.Unmarshal([]byte(text), &c); err != nil {
		t.Fatalf("%v in:\n%s", err, text)
	}
	return c
}

func (c calibration) quantity(t *testing.T, name string) quantity {
	t.Helper()
	for _, q := range c.Quantities {
		if q.Quantity == name {
			return q
		}
	}
	t.Fatalf("no quantity %s", name)
	return quantity{}
}

// columns reads a CSV of testdata by column.
func columns(t *testing.T, path ...string) map[string][]string {
	t.Helper()
	f, err := os.Open(filepath.Join(append([]string{"..", "..", "testdata"}, path...)...))
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

func parseFloat(t *testing.T, s string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.12g, want %.12g (off by %.2g, allowed %.2g)", what, got, want, got-want, tol)
	}
}

// TestPublishedREML takes the published data sets all the way through CSV, the
// log, cells summed up in SQL, the fit and JSON: y becomes a ratio of shot
// used to planned shot, exp(y·scale). Sources: testdata/reml/*/SOURCE.md. To
// match: criterion 1e-5 absolute, sd 1e-5 relative, BLUPs 1e-6 absolute, in
// the units of y.
func TestPublishedREML(t *testing.T) {
	tests := []struct {
		folder, name, y string
		maker, batch    string // columns that play these effects
		scale           float64
		expect, ranef   string
		setAside        string
	}{
		{"reml", "dyestuff", "Yield", "Batch", "", 1e-4, "expected.csv", "ranef.csv", "off"},
		{"reml", "dyestuff2", "Yield", "Batch", "", 1e-2, "expected.csv", "ranef.csv", "off"},
		{"reml", "penicillin", "diameter", "plate", "sample", 1e-2, "expected.csv", "ranef.csv", "off"},
		{"reml", "pastes", "strength", "batch", "sample", 1e-2, "expected.csv", "ranef.csv", "off"},
		{"reml", "rail", "travel", "Rail", "", 1e-2, "expected.csv", "ranef.csv", "off"},
		{"reml", "synthetic_a", "log_ratio", "maker", "lot", 1, "expected.csv", "ranef.csv", "off"},
		{"reml", "synthetic_b", "log_ratio", "maker", "lot", 1, "expected.csv", "ranef.csv", "off"},
		{"robust", "contaminated", "log_ratio", "maker", "lot", 1, "expected_without_outliers.csv", "ranef_without_outliers.csv", "auto"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c := columns(t, tt.folder, tt.name, "data.csv")
			var file strings.Builder
			file.WriteString("build,date,maker,product,core_batch,predicted_shot_g,shot_used_g\n")
			for i, y := range c[tt.y] {
				batch := ""
				if tt.batch != "" {
					batch = c[tt.batch][i]
				}
				fmt.Fprintf(&file, "%d,2024-01-01,%s,p,%s,100,%.17g\n", i+1, c[tt.maker][i], batch, 100*math.Exp(tt.scale*parseFloat(t, y)))
			}
			path := filepath.Join(t.TempDir(), "builds.csv")
			if err := os.WriteFile(path, []byte(file.String()), 0o644); err != nil {
				t.Fatal(err)
			}
			shot := parseCalibration(t, mustRun(t, "calibrate", "--from", path, "--json", "--set-aside", tt.setAside)).quantity(t, "shot")

			want := map[string]float64{}
			e := columns(t, tt.folder, tt.name, tt.expect)
			for i, name := range e["quantity"] {
				if v := e["reference"][i]; v != "" {
					want[name] = parseFloat(t, v)
				}
			}
			n := float64(shot.Rows)
			near(t, "rows", n, want["nobs"], 0)
			near(t, "criterion", shot.REML.Criterion-(n-1)*math.Log(tt.scale*tt.scale), want["reml_criterion"], 1e-5)
			near(t, "mean", shot.REML.Mean/tt.scale, want["fixef_(Intercept)"], 1e-5*math.Abs(want["fixef_(Intercept)"]))
			near(t, "mean_se", shot.REML.MeanSE/tt.scale, want["se_(Intercept)"], 1e-5*want["se_(Intercept)"])
			near(t, "residual", *shot.REML.SD["residual"]/tt.scale, want["sigma"], 1e-5*want["sigma"])
			group := map[string]string{tt.maker: "maker", tt.batch: "core_batch"}
			for column, effect := range group {
				if column != "" {
					sd := math.Sqrt(want["var_"+column])
					near(t, "sd of "+effect, *shot.REML.SD[effect]/tt.scale, sd, 1e-5*sd)
				}
			}
			r := columns(t, tt.folder, tt.name, tt.ranef)
			if len(shot.REML.BLUP) != len(r["level"]) {
				t.Errorf("%d BLUPs, want %d", len(shot.REML.BLUP), len(r["level"]))
			}
			for i, level := range r["level"] {
				effect := group[r["group"][i]]
				found := false
				for _, b := range shot.REML.BLUP {
					if b.Effect == effect && b.Level == level {
						found = true
						near(t, "BLUP of "+level, b.Value/tt.scale, parseFloat(t, r["blup"][i]), 1e-6)
						se := parseFloat(t, r["pev_sd"][i])
						near(t, "se of "+level, b.SE/tt.scale, se, 1e-5*se)
					}
				}
				if !found {
					t.Errorf("no BLUP of %s %s", effect, level)
				}
			}
			if tt.folder == "robust" {
				var got []string
				for _, s := range shot.SetAside {
					got = append(got, s["build"].(string))
				}
				planted := columns(t, tt.folder, tt.name, "planted_outliers.csv")["build_id"]
				slices.Sort(got)
				slices.Sort(planted)
				if !slices.Equal(got, planted) {
					t.Errorf("set aside %v, want the planted rows %v", got, planted)
				}
			}
		})
	}
}
