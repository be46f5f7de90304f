package demo

import (
	"bytes"
	"flag"
	"fmt"
	"io/fs"
	"math"
	"os"
	"strings"
	"testing"
	"time"

	"trueplait/data/reference"
	"trueplait/model"
)

var update = flag.Bool("update", false, "write the generated files")

// TestFilesAreGenerated holds the embedded files against the generator, byte
// for byte.
func TestFilesAreGenerated(t *testing.T) {
	shop := Generate(Seed)
	for _, name := range []string{"builds.csv", "fills.csv", "checks.csv", "products.csv", "parts.csv"} {
		want := shop.File(name)
		if len(want) == 0 {
			t.Fatalf("nothing generated for %s", name)
		}
		if *update {
			if err := os.WriteFile(name, want, 0o644); err != nil {
				t.Fatal(err)
			}
			continue
		}
		got, err := fs.ReadFile(Files, name)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(got, want) {
			t.Errorf("%s differs from what Generate(%d) makes; go test ./data/demo -update writes it", name, Seed)
		}
	}
	if bytes.Equal(shop.File("builds.csv"), Generate(Seed+1).File("builds.csv")) {
		t.Error("another seed gives the same builds")
	}
}

// TestShopHoldsItsCases counts what the demo is there to show.
func TestShopHoldsItsCases(t *testing.T) {
	shop := Generate(Seed)
	count := func(keep func(model.Build) bool) int {
		n := 0
		for _, b := range shop.Builds {
			if keep(b) {
				n++
			}
		}
		return n
	}
	blankFills := 0
	for _, f := range shop.Fills {
		if !model.Known(f.PredictedShotG) {
			blankFills++
		}
	}
	blankChecks := 0
	for _, c := range shop.Checks {
		if !model.Known(c.PredictedMassG) {
			blankChecks++
		}
	}
	levels := func(e model.Effect) int {
		seen := map[string]bool{}
		for _, b := range shop.Builds {
			if label := b.Get(e); label != "" {
				seen[label] = true
			}
		}
		return len(seen)
	}
	known := model.Known
	for _, tt := range []struct {
		what           string
		got, low, high int
	}{
		{"builds", len(shop.Builds), 300, 300},
		{"test fills", len(shop.Fills), 40, 40},
		{"cord checks", len(shop.Checks), 15, 15},
		{"test fills that leave the plan to the lists", blankFills, 24, 36},
		{"cord checks that leave the plan to the lists", blankChecks, 8, 13},
		{"products in the range", len(shop.Products), 8, 8},
		{"makers", levels(model.Maker), 4, 4},
		{"core batches", levels(model.CoreBatch), 12, 18},
		{"strand batches", levels(model.StrandBatch), 10, 15},
		{"shot batches", levels(model.ShotBatch), 3, 5},
		{"builds by the maker who buys alone", count(func(b model.Build) bool { return b.Maker == shop.Truth.Apart }), 25, 60},
		{"builds without core batch", count(func(b model.Build) bool { return b.CoreBatch == "" }), 5, 20},
		{"builds without shot used", count(func(b model.Build) bool { return !known(b.ShotUsedG) }), 15, 40},
		{"builds that leave the plan to the lists", count(func(b model.Build) bool { return !known(b.PredictedWeightG) }), 140, 180},
		{"builds to a customer's length", count(func(b model.Build) bool { return known(b.PredictedWeightG) && !known(b.ShotFactor) }), 70, 110},
		{"builds with saved factors", count(func(b model.Build) bool { return known(b.ShotFactor) }), 50, 70},
		{"builds with strands measured", count(func(b model.Build) bool { return known(b.StrandLeftMM) }), 70, 90},
		{"builds with load length", count(func(b model.Build) bool { return known(b.LoadLengthMM) }), 260, 295},
		{"builds with a start", count(func(b model.Build) bool { return !b.Started.IsZero() }), 25, 65},
		{"builds with humidity", count(func(b model.Build) bool { return known(b.Humidity) }), 30, 80},
		{"notes with a line break", count(func(b model.Build) bool { return strings.Contains(b.Note, "\n") }), 2, 15},
		{"notes with quotes", count(func(b model.Build) bool { return strings.Contains(b.Note, `"`) }), 2, 15},
		{"builds set aside by hand", count(func(b model.Build) bool { return b.SetAside != "" }), 1, 1},
		{"builds of the custom product", count(func(b model.Build) bool { return b.Labels.Product == custom }), 1, 1},
		{"builds of the offcut", count(func(b model.Build) bool { return b.CoreBatch == offcut }), 1, 1},
		{"builds after the change", shop.Truth.Change.Builds, 15, 45},
	} {
		if tt.got < tt.low || tt.got > tt.high {
			t.Errorf("%d %s, want %d to %d", tt.got, tt.what, tt.low, tt.high)
		}
	}
}

// bases returns the planner's figures of a build without factors, as an import
// has them: those it states, or those of its product's parts list.
func bases(t *testing.T, shop *Shop) func(b model.Build) map[model.Quantity]float64 {
	t.Helper()
	plans := designs(t, shop)
	return func(b model.Build) map[model.Quantity]float64 {
		plan := plans[b.Labels.Product]
		shot, body, length, strand := plan.ShotG, plan.BodyG, plan.LengthMM, plan.StrandMM
		if model.Known(b.PredictedWeightG) {
			shot = b.PredictedShotG / inside(b.ShotFactor)
			body = (b.PredictedWeightG - b.PredictedShotG) / inside(b.BodyFactor)
			length = b.PredictedLengthMM / inside(b.LengthFactor)
		}
		if model.Known(b.PredictedStrandMM) {
			strand = b.PredictedStrandMM
		}
		return map[model.Quantity]float64{model.Shot: shot, model.Body: body, model.Weight: shot + body, model.Length: length, model.Strand: strand}
	}
}

// designs are the plans of the shop's parts lists, by product.
func designs(t *testing.T, shop *Shop) map[string]*model.Design {
	t.Helper()
	lists := map[string][]*model.Part{}
	for _, p := range shop.Parts {
		lists[p.Product] = append(lists[p.Product], p)
	}
	plans := map[string]*model.Design{}
	for product, parts := range lists {
		plan, problems := model.NewDesign(parts, reference.Materials())
		if problems != nil {
			t.Fatal(problems[0])
		}
		plans[product] = plan
	}
	return plans
}

// TestPlansAreInRange keeps the figures those of whips people make, and what is
// stated in keeping with what is left to the lists.
func TestPlansAreInRange(t *testing.T) {
	shop := Generate(Seed)
	base, plans := bases(t, shop), designs(t, shop)
	for _, b := range shop.Builds {
		plan, list := base(b), plans[b.Labels.Product]
		for _, tt := range []struct {
			what         string
			x, low, high float64
		}{
			{"weight g", plan[model.Weight], 230, 950},
			{"length mm", plan[model.Length], 1050, 3800},
			{"shot g", plan[model.Shot], 30, 130},
			{"weight over the list's", plan[model.Weight] / list.WeightG, 0.85, 1.15},
			{"length over the list's", plan[model.Length] / list.LengthMM, 0.85, 1.15},
			{"shot over the list's", plan[model.Shot] / list.ShotG, 0.82, 1.22},
		} {
			if tt.x < tt.low || tt.x > tt.high {
				t.Errorf("%s: planned %s %g, want %g to %g", b.ID, tt.what, tt.x, tt.low, tt.high)
			}
		}
		load := list.ShotG / loaded(list).LoadLengthMM
		if model.Known(b.LoadLengthMM) && math.Abs(plan[model.Shot]/b.LoadLengthMM/load-1) > 0.003 { // factors and grams are rounded
			t.Errorf("%s: %g g of shot planned for %g mm of core, want %g g/mm", b.ID, plan[model.Shot], b.LoadLengthMM, load)
		}
		if model.Known(b.StrandCutMM) && !(b.StrandLeftMM > 0) {
			t.Errorf("%s: strand left %g mm of %g", b.ID, b.StrandLeftMM, b.StrandCutMM)
		}
		if model.Known(b.PredictedStrandMM) && !model.Known(b.PredictedWeightG) {
			t.Errorf("%s: a strand is planned and no weight", b.ID)
		}
		if !b.Started.IsZero() && !b.Started.Before(b.Date) {
			t.Errorf("%s: started %v, finished %v", b.ID, b.Started, b.Date)
		}
	}
}

// TestNothingIsShared: the last maker's batches are nobody else's.
func TestNothingIsShared(t *testing.T) {
	shop := Generate(Seed)
	for _, e := range []model.Effect{model.CoreBatch, model.StrandBatch, model.ShotBatch} {
		others := map[string]bool{}
		for _, b := range shop.Builds {
			if b.Maker != shop.Truth.Apart {
				others[b.Get(e)] = true
			}
		}
		for _, b := range shop.Builds {
			if label := b.Get(e); b.Maker == shop.Truth.Apart && label != "" && others[label] {
				t.Errorf("%s: %s %s of %s is shared", b.ID, e.Word(), label, b.Maker)
			}
		}
	}
}

// TestPlantedErrors: the slips are slips by the rule every import uses, with
// the guess that is right; the typing errors are 30 to 45 % off; all other
// figures are neither.
func TestPlantedErrors(t *testing.T) {
	shop := Generate(Seed)
	wrong := map[string]Planted{}
	slips, typed, only := 0, 0, 0
	for _, p := range shop.Truth.Planted {
		wrong[p.Build+" "+string(p.Quantity)] = p
		if p.Guess != "" {
			slips++
		} else {
			typed++
			if off := math.Abs(p.Wrong/p.Right - 1); off < 0.29 || off > 0.46 {
				t.Errorf("%s: %s typed as %s, %.0f %% off, want 30 to 45", p.Build, p.Quantity, p.Text, 100*off)
			}
		}
		if p.Only != "" {
			only++
		}
	}
	if slips != 6 || typed != 4 || only != 1 {
		t.Errorf("%d slips, %d typing errors, %d in a batch's only row, want 6, 4 and 1", slips, typed, only)
	}
	base := bases(t, shop)
	for _, b := range shop.Builds {
		plan := base(b)
		for _, f := range []struct {
			q        model.Quantity
			measured float64
		}{
			{model.Shot, b.ShotUsedG},
			{model.Weight, b.WeightG},
			{model.Length, b.LengthMM},
		} {
			if !model.Known(f.measured) {
				continue
			}
			ratio := f.measured / plan[f.q]
			p, planted := wrong[b.ID+" "+string(f.q)]
			slip := model.IsSlip(f.q.Dimension(), ratio)
			if want := planted && p.Guess != ""; slip != want {
				t.Errorf("%s: %s is %g of its base: slip %v, want %v", b.ID, f.q, ratio, slip, want)
			}
			if slip {
				overall := math.Exp(shop.Truth.Laws[f.q].Mean)
				if guess := model.GuessSlip(f.q.Dimension(), ratio, overall).Guess; guess != p.Guess {
					t.Errorf("%s: %s %s %s, want %s", b.ID, f.q, p.Text, guess, p.Guess)
				}
			}
			if !planted && math.Abs(math.Log(ratio)) > 0.30 {
				t.Errorf("%s: %s is %g of its base, and nothing was planted there", b.ID, f.q, ratio)
			}
			if planted && p.Only != "" {
				// Far enough off to be told from the batch's own effect.
				law := shop.Truth.Laws[f.q]
				off := math.Log(ratio) - law.Mean - law.Effect(model.Maker, b.Maker) - law.Effect(model.ShotBatch, b.ShotBatch)
				if math.Abs(off) < math.Log(model.LoneAt)+0.1 {
					t.Errorf("%s: the only row of %s is %g off in the logarithm, want more", b.ID, p.Only, off)
				}
			}
			if planted && math.Abs(p.Wrong-f.measured) > 1e-9 {
				t.Errorf("%s: %s is %g, planted %g", b.ID, f.q, f.measured, p.Wrong)
			}
		}
	}
}

// inside is the factor a plan contains: 1 where none is stated.
func inside(factor float64) float64 {
	if model.Known(factor) {
		return factor
	}
	return 1
}

// TestLawsAreMet takes the effects out of every figure with nothing wrong: what
// is left is scatter of the stated size, about the stated mean.
func TestLawsAreMet(t *testing.T) {
	shop := Generate(Seed)
	wrong := map[string]bool{}
	for _, p := range shop.Truth.Planted {
		wrong[p.Build] = true
	}
	base := bases(t, shop)
	change := shop.Truth.Change
	left := map[model.Quantity][]float64{}
	scatter := func(q model.Quantity, ratio float64, of model.Labels) {
		if !model.Known(ratio) {
			return
		}
		law := shop.Truth.Laws[q]
		e := math.Log(ratio) - law.Mean
		for _, effect := range q.Effects() {
			e -= law.Effect(effect, of.Get(effect))
		}
		left[q] = append(left[q], e)
	}
	for _, b := range shop.Builds {
		if wrong[b.ID] || b.CoreBatch == "" || b.StrandBatch == "" || b.ShotBatch == "" {
			continue
		}
		plan := base(b)
		if b.CoreBatch == change.CoreBatch && b.ID >= change.Build {
			plan[model.Shot] *= change.Factor
		}
		ratio := map[model.Quantity]float64{
			model.Shot:   b.ShotUsedG / plan[model.Shot],
			model.Body:   (b.WeightG - b.ShotUsedG) / plan[model.Body],
			model.Length: b.LengthMM / plan[model.Length],
			model.Strand: (b.StrandCutMM - b.StrandLeftMM) / plan[model.Strand],
		}
		for q, r := range ratio {
			scatter(q, r, b.Labels)
		}
	}
	load := loaded(designs(t, shop)[custom]).ShotGMM
	for _, f := range shop.Fills {
		scatter(model.Shot, f.ShotMassG/(f.FilledLengthMM*load), f.Labels)
	}
	for _, c := range shop.Checks {
		scatter(model.Body, c.CheckedMassG/(c.CheckedLengthMM/1000*strandGM), c.Labels)
	}
	for q, law := range shop.Truth.Laws {
		mean, sd := meanSD(left[q])
		n := float64(len(left[q]))
		if math.Abs(mean) > 4*law.Scatter/math.Sqrt(n) {
			t.Errorf("%s: %.0f rows are off by %g on average, scatter %g", q, n, mean, law.Scatter)
		}
		if sd < 0.85*law.Scatter || sd > 1.15*law.Scatter { // writing figures down rounds them
			t.Errorf("%s: %.0f rows scatter by %g, want %g", q, n, sd, law.Scatter)
		}
		if len(left[q]) < 60 {
			t.Errorf("%s: %d rows, want at least 60", q, len(left[q]))
		}
	}
}

func meanSD(x []float64) (mean, sd float64) {
	for _, v := range x {
		mean += v / float64(len(x))
	}
	for _, v := range x {
		sd += (v - mean) * (v - mean) / float64(len(x)-1)
	}
	return mean, math.Sqrt(sd)
}

// TestEffectsAreCentred: the drawn effects have the spread the laws state.
func TestEffectsAreCentred(t *testing.T) {
	for q, law := range Generate(Seed).Truth.Laws {
		for _, e := range q.Effects() {
			var u []float64
			for _, l := range law.Effects {
				if l.Effect == e {
					u = append(u, l.Value)
				}
			}
			if mean, sd := meanSD(u); math.Abs(mean) > 1e-12 || math.Abs(sd-law.SD[e]) > 1e-12 {
				t.Errorf("%s: %s effects have mean %g and sd %g, want 0 and %g", q, e.Word(), mean, sd, law.SD[e])
			}
		}
	}
}

// TestReadme: what the page says of the plans and of what was planted is so.
func TestReadme(t *testing.T) {
	page, err := os.ReadFile("README.md")
	if err != nil {
		t.Fatal(err)
	}
	shop := Generate(Seed)
	truth := shop.Truth
	stated, saved := 0, 0
	for _, b := range shop.Builds {
		if model.Known(b.PredictedWeightG) {
			stated++
		}
		if model.Known(b.ShotFactor) {
			saved++
		}
	}
	want := []string{"invented", fmt.Sprintf("%d builds under that label", truth.Change.Builds), truth.Custom, truth.Apart, truth.ByHand[0], truth.Change.Build, truth.Change.Date.Format(time.DateOnly),
		fmt.Sprintf("%d plans from July 2024", saved), fmt.Sprintf("%d builds state", stated), fmt.Sprintf("| parts.csv | %d rows", len(shop.Parts))}
	for product, d := range designs(t, shop) {
		want = append(want, fmt.Sprintf("| %s | %.0f | %.4g | %.1f | %.1f | %.1f | %.0f |", product,
			d.LengthMM, loaded(d).LoadLengthMM/model.MMPerInch, d.WeightG, d.ShotG, d.BodyG, d.StrandMM))
	}
	for _, p := range truth.Planted {
		want = append(want, "| "+p.Build+" | "+string(p.Quantity)+" | "+p.Text+" |")
	}
	for _, words := range want {
		if !strings.Contains(string(page), words) {
			t.Errorf("README.md does not say %q", words)
		}
	}
}
