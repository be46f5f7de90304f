package main

import (
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"testing"
	"time"

	"trueplait/data"
	"trueplait/model"
)

// promised is what the test reads of a promise in JSON.
type promised struct {
	Basis  string `json:"weight_basis"`
	From   string `json:"planned_from"`
	Weight struct {
		Median, Low, High float64
	} `json:"weight_g"`
	Tighten []struct {
		Fills, Checks, Builds int
		HalfWidthG            float64 `json:"half_width_g"`
	}
	Within *struct {
		Chance        float64
		Fills, Checks *int
	}
}

func (p promised) halfWidth() float64 { return (p.Weight.High - p.Weight.Low) / 2 }

// after is the half width that p foretells.
func (p promised) after(fills, checks, builds int) float64 {
	for _, t := range p.Tighten {
		if t.Fills == fills && t.Checks == checks && t.Builds == builds {
			return t.HalfWidthG
		}
	}
	return 0
}

func readPromise(t *testing.T, out string) promised {
	t.Helper()
	var p promised
	if err := json.Unmarshal([]byte(out), &p); err != nil {
		t.Fatal(err)
	}
	return p
}

// A new core batch and a new strand batch in the invented shop: the band before
// anything of them is measured, after one and three test fills, a cord check,
// the first build. Each is about as wide as foretold, and what --within
// recommends brings the chance to the coverage once it is done.
func TestPromise_NewBatches(t *testing.T) {
	const product = "4 ft snake, 8 plait"
	dir := t.TempDir()
	shop := []string{}
	for _, name := range []string{"builds", "fills", "checks", "products", "parts"} {
		shop = append(shop, "--from", filepath.Join("..", "..", "data", "demo", name+".csv"))
	}
	// ask promises with more rows in, for the new batches by the names given.
	ask := func(core, strand string, more map[string]string, options ...string) (promised, int) {
		t.Helper()
		args := append([]string{"promise", "--json", "--product", product, "--maker", "Brid", "--shot-batch", "L3",
			"--core-batch", core, "--strand-batch", strand}, shop...)
		for name, rows := range more {
			path := filepath.Join(dir, name+".csv")
			if err := os.WriteFile(path, []byte(rows), 0o644); err != nil {
				t.Fatal(err)
			}
			args = append(args, "--from", path)
		}
		out, errs, code := trueplait(t, append(args, options...)...)
		if code != 0 && code != exitLimit {
			t.Fatalf("exit code %d\n%s", code, errs)
		}
		return readPromise(t, out), code
	}
	fills := func(n int) string {
		rows := "fill,date,maker,core_batch,shot_batch,filled_length_mm,predicted_shot_g,shot_mass_g\n"
		for i := range n {
			rows += fmt.Sprintf("new%d,2025-12-%02d,Brid,HX,L3,200,20,%.2f\n", i, i+1, 18.6+0.3*float64(i%3))
		}
		return rows
	}
	check := "check,date,strand_batch,checked_length_m,predicted_mass_g,checked_mass_g\nnewK,2025-12-01,NX,6,30,30.3\n"
	build := "build,date,maker,product,core_batch,strand_batch,shot_batch,predicted_weight_g,predicted_shot_g,weight_g,shot_used_g\n" +
		"newB,2025-12-20,Brid,\"" + product + "\",HX,NX,L3,260,70.8,276,67\n"

	before, _ := ask("new", "new", nil)
	if before.Basis != "parts" || before.From != "parts list" || len(before.Tighten) != 15 {
		t.Fatalf("before: %+v", before)
	}
	three, _ := ask("HX", "new", map[string]string{"more-fills": fills(3)})
	one, _ := ask("HX", "new", map[string]string{"more-fills": fills(1)})
	checked, _ := ask("new", "NX", map[string]string{"more-checks": check})
	built, _ := ask("HX", "NX", map[string]string{"more-builds": build})
	for _, s := range []struct {
		name              string
		reached, foretold float64
	}{
		{"one fill", one.halfWidth(), before.after(1, 0, 0)},
		{"three fills", three.halfWidth(), before.after(3, 0, 0)},
		{"one cord check", checked.halfWidth(), before.after(0, 1, 0)},
		{"the first build", built.halfWidth(), before.after(0, 0, 1)},
	} {
		t.Logf("± %.2f g before, ± %.2f g after %s (foretold ± %.2f g)", before.halfWidth(), s.reached, s.name, s.foretold)
		if !(s.reached < before.halfWidth()-0.1) || !(s.foretold > 0.9*s.reached && s.foretold < 1.1*s.reached) {
			t.Errorf("%s: ± %.2f g, foretold ± %.2f g, before ± %.2f g", s.name, s.reached, s.foretold, before.halfWidth())
		}
	}

	// Within what two fills should give, around what is expected: the fills asked
	// for bring it there; one fewer is said not to.
	want := fmt.Sprintf("%.2f g", before.after(2, 0, 0)+0.1)
	around := fmt.Sprintf("%.2f g", before.Weight.Median)
	asked, code := ask("new", "new", nil, "--within", want, "--around", around)
	if code != 0 || asked.Within == nil || asked.Within.Fills == nil || *asked.Within.Fills < 1 || *asked.Within.Fills > 2 || asked.Within.Chance >= 0.95 {
		t.Fatalf("within %s: exit code %d, %+v", want, code, asked.Within)
	}
	done, code := ask("HX", "new", map[string]string{"more-fills": fills(*asked.Within.Fills)}, "--within", fmt.Sprintf("%.2f g", 1.05*(before.after(2, 0, 0)+0.1)), "--around", fmt.Sprintf("%.2f g", one.Weight.Median))
	if code != 0 || done.Within.Chance < 0.95 || *done.Within.Fills != 0 {
		t.Errorf("after %d fills: exit code %d, %+v", *asked.Within.Fills, code, done.Within)
	}
	if never, code := ask("new", "new", nil, "--within", "1 g", "--around", around); code != exitLimit || never.Within.Fills != nil || never.Within.Checks != nil {
		t.Errorf("within 1 g: exit code %d, %+v", code, never.Within)
	}
}

// For the labels in use, every product with 20 or more builds is promised a
// narrower band than the plan alone would need.
func TestPromise_NarrowerThanThePlan(t *testing.T) {
	for _, shop := range []string{filepath.Join("..", "..", "data", "demo"), filepath.Join("..", "..", "testdata", "workshop")} {
		files, err := filepath.Glob(filepath.Join(shop, "*.csv"))
		if err != nil {
			t.Fatal(err)
		}
		a := analysis{From: files, SetAside: "auto"}
		p := &program{ctx: t.Context(), stdout: io.Discard, stderr: io.Discard}
		w, err := a.open(p, data.ReadOnly)
		if err != nil {
			t.Fatal(err)
		}
		defer w.Close(&err)
		builds := map[string]int{}
		for row, err := range w.Log.Rows(t.Context(), model.Builds, time.Time{}) {
			if err != nil {
				t.Fatal(err)
			}
			builds[row.(*model.Build).Product]++
		}
		c, err := w.Fit(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		promises, err := w.Promises(t.Context(), c)
		if err != nil {
			t.Fatal(err)
		}
		compared := 0
		for _, x := range promises {
			if builds[x.Labels.Product] < 20 {
				continue
			}
			compared++
			if w := x.Weight; !(w.Width() < w.PlannerHigh-w.PlannerLow) {
				t.Errorf("%s: %s: %+v is not narrower than the plan alone", shop, x.Labels.Product, w)
			}
		}
		if compared < 4 {
			t.Errorf("%s: %d products compared", shop, compared)
		}
	}
}
