package main

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"trueplait/data/demo"
	"trueplait/ingest"
	"trueplait/model"
)

// demoFiles writes the demo's CSV files and returns --from options for them.
func demoFiles(t *testing.T) []string {
	t.Helper()
	var from []string
	for _, path := range demoPaths(t) {
		from = append(from, "--from", path)
	}
	return from
}

// demoPaths writes the demo's CSV files.
func demoPaths(t *testing.T) []string {
	t.Helper()
	dir := t.TempDir()
	var paths []string
	for _, name := range []string{"builds.csv", "fills.csv", "checks.csv", "products.csv", "parts.csv"} {
		text, err := demo.Files.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, text, 0o644); err != nil {
			t.Fatal(err)
		}
		paths = append(paths, path)
	}
	return paths
}

// TestDemo_Read holds what ingest reads of the demo's files against the rows
// that the generator wrote into them.
func TestDemo_Read(t *testing.T) {
	shop := demo.Generate(demo.Seed)
	var builds []*model.Build
	f, err := demo.Files.Open("builds.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r, err := ingest.NewReader(f, "builds.csv", ingest.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for {
		row, problems, err := r.Read()
		if err != nil {
			break
		}
		if problems != nil {
			t.Fatal(problems[0])
		}
		builds = append(builds, row.(*model.Build))
	}
	if len(builds) != len(shop.Builds) {
		t.Fatalf("%d builds read, %d written", len(builds), len(shop.Builds))
	}
	same := func(what string, got, want float64) {
		t.Helper()
		if model.Known(got) != model.Known(want) || model.Known(want) && math.Abs(got-want) > 1e-9*want {
			t.Errorf("%s = %v, written %v", what, got, want)
		}
	}
	for i, b := range builds {
		w := shop.Builds[i]
		if b.ID != w.ID || b.Labels != w.Labels || !b.Date.Equal(w.Date) || b.Note != w.Note {
			t.Errorf("read %+v, written %+v", b, w)
		}
		same(b.ID+" weight", b.WeightG, w.WeightG)
		same(b.ID+" length", b.LengthMM, w.LengthMM)
		same(b.ID+" shot", b.ShotUsedG, w.ShotUsedG)
		same(b.ID+" planned shot", b.PredictedShotG, w.PredictedShotG)
	}
}

// TestDemo_Truth calibrates the demo shop and holds the result against what
// the shop was made with: planted errors, spreads, every known effect.
func TestDemo_Truth(t *testing.T) {
	truth := demo.Generate(demo.Seed).Truth
	c := parseCalibration(t, mustRun(t, append([]string{"calibrate", "--json"}, demoFiles(t)...)...))
	if c.Builds != 300 || c.Fills != 40 || c.Checks != 15 || c.Calibration != nil {
		t.Errorf("read %d builds, %d fills, %d checks, calibration %v", c.Builds, c.Fills, c.Checks, c.Calibration)
	}
	reason := func(q, build string) string {
		for _, s := range c.quantity(t, q).SetAside {
			if s["build"] == build {
				return s["reason"].(string)
			}
		}
		return ""
	}
	for _, p := range truth.Planted {
		got := reason(string(p.Quantity), p.Build)
		if p.Guess != "" && !strings.Contains(got, p.Guess) || got == "" {
			t.Errorf("%s of %s is set aside as %q, planted %+v", p.Quantity, p.Build, got, p)
		}
	}
	// Nothing honest is thrown away: beyond what was planted, set aside by hand
	// or spoilt along with it, at most one row in a hundred.
	planted := append([]string{}, truth.ByHand...)
	for _, p := range truth.Planted {
		planted = append(planted, p.Build)
	}
	for _, q := range c.Quantities {
		extra := 0
		for _, s := range q.SetAside {
			if b, ok := s["build"].(string); !ok || !slices.Contains(planted, b) {
				extra++
				t.Logf("%s: also set aside: %v", q.Quantity, s)
			}
		}
		if extra > q.Rows/100 {
			t.Errorf("%s: %d honest rows set aside of %d", q.Quantity, extra, q.Rows)
		}
	}
	// The factors' 95 % limits hold the truth about as often as they say. One
	// core batch was changed on purpose and is left out.
	for _, q := range []string{"shot", "body", "length", "strand"} {
		law := truth.Laws[model.Quantity(q)]
		held, all := 0, 0
		for _, f := range c.quantity(t, q).Factors {
			want := law.Mean
			changed := false
			for _, e := range model.Effects {
				if label, ok := f[string(e)].(string); ok {
					want += law.Effect(e, label)
					changed = changed || label == truth.Change.CoreBatch
				}
			}
			if changed {
				continue
			}
			all++
			if f["low"].(float64) <= math.Exp(want) && math.Exp(want) <= f["high"].(float64) {
				held++
			}
		}
		if share := float64(held) / float64(all); share < 0.85 {
			t.Errorf("%s: limits hold the truth of %d of %d combinations", q, held, all)
		} else {
			t.Logf("%s: limits hold the truth of %d of %d combinations", q, held, all)
		}
	}
	unlinked := strings.Join(c.quantity(t, "shot").Warnings, "\n")
	if !strings.Contains(unlinked, truth.Apart) || !strings.Contains(unlinked, "no batch shared") {
		t.Errorf("warnings do not say that %s shares no batch: %s", truth.Apart, unlinked)
	}

	// The batch that changed without a note is found, and the first build with
	// the new cord named within three.
	number := func(build string) (n int) {
		fmt.Sscanf(build, "W%d", &n)
		return n
	}
	found := false
	for _, d := range c.quantity(t, "shot").Drift {
		if d.Effect == "core_batch" && d.Level == truth.Change.CoreBatch && d.Grade == "act" && d.Direction == "up" {
			found = found || math.Abs(float64(number(d.Since)-number(truth.Change.Build))) <= 3
		}
	}
	if !found {
		t.Errorf("drift %+v does not name %s near %s", c.quantity(t, "shot").Drift, truth.Change.CoreBatch, truth.Change.Build)
	}
}
