package calibrate

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"

	"trueplait/model"
)

// usualPlan is a whip of 80 g of shot in 320 g of cord.
var usualPlan = Planned{WeightG: 400, BodyG: 320, ShotG: 80, LengthMM: 1800, From: "options"}

var promisedLabels = model.Labels{Maker: "m01", CoreBatch: "c02", ShotBatch: model.NewLevel, StrandBatch: "nc02", Product: "p00"}

// usualPromise is the plainest kind: the next build, 95 %.
func usualPromise() PromiseOptions {
	return PromiseOptions{Labels: promisedLabels, Coverage: 0.95, Of: 1, WithinG: model.Unknown, AroundG: model.Unknown}
}

func promise(t *testing.T, rows *Rows, planned Planned, opt PromiseOptions) *Promise {
	t.Helper()
	p, err := fitLog(t, rows, Options{}).Promise(context.Background(), rows, planned, opt)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// The bands against their definitions.
func TestPromise_Bands(t *testing.T) {
	rows := workshopRows(5, 80)
	c := fitLog(t, rows, Options{})
	p := promise(t, rows, usualPlan, usualPromise())
	if p.Basis != FromParts {
		t.Fatalf("basis %q, want parts", p.Basis)
	}
	d := &model.Design{WeightG: 400, BodyG: 320, ShotG: 80, LengthMM: 1800}
	plan := c.next(promisedLabels).sizes(d)
	for what, pair := range map[string][2]Interval{"weight": {p.Weight.Interval, plan.Weight}, "body": {p.Body.Interval, plan.Body},
		"shot": {p.Shot.Interval, plan.Shot}, "length": {p.Length.Interval, plan.Length}} {
		checkNear(t, what+" low, as the plan says", pair[0].Low, pair[1].Low, 1e-3)
		checkNear(t, what+" median", pair[0].Median, pair[1].Median, 1e-3)
		checkNear(t, what+" high", pair[0].High, pair[1].High, 1e-3)
	}

	// Planner alone: of 80 builds the 77th smallest |y|.
	var y []float64
	for _, o := range rows.of[model.Length] {
		y = append(y, math.Abs(o.Y))
	}
	if len(c.Quantity(model.Length).SetAside) > 0 {
		t.Fatal("a row is set aside: choose another seed")
	}
	slices.Sort(y)
	checkNear(t, "planner's low length", p.Length.PlannerLow, 1800*math.Exp(-y[76]), 1e-9)
	checkNear(t, "planner's high length", p.Length.PlannerHigh, 1800*math.Exp(y[76]), 1e-9)

	// Floor: the factor's median and REML's scatter.
	q := c.Quantity(model.Length)
	factor := q.Posterior.mixtures([]target{{contrast: q.Posterior.sys.contrast(promisedLabels)}})[0].Quantile(0.5)
	checkNear(t, "floor of length", p.Length.FloorHigh, 1800*math.Exp(factor+1.959963984540054*q.REML.Residual), 1e-3)
	for what, b := range map[string]Band{"weight": p.Weight, "length": p.Length, "shot": p.Shot, "body": p.Body} {
		if !(b.FloorHigh-b.FloorLow < b.Width() && b.Width() < b.PlannerHigh-b.PlannerLow) {
			t.Errorf("%s: floor %g, today %g, planner %g wide: want them in this order", what, b.FloorHigh-b.FloorLow, b.Width(), b.PlannerHigh-b.PlannerLow)
		}
	}

	short := usualPromise()
	short.Brief = true
	if brief := promise(t, rows, usualPlan, short); brief.Weight != p.Weight || brief.Tighten != nil || len(p.Tighten) != 15 {
		t.Errorf("in brief: %+v, tighten %v; want the same weight and nothing to measure", brief.Weight, brief.Tighten)
	}
}

// Shares sum to 1 and are REML's components in grams.
func TestPromise_Sources(t *testing.T) {
	rows := workshopRows(5, 80)
	c := fitLog(t, rows, Options{})
	p := promise(t, rows, usualPlan, usualPromise())
	sum, scatter := 0.0, 0.0
	of := map[model.Effect]VarianceSource{}
	for _, s := range p.Sources {
		sum += s.Share
		of[s.Effect] = s
	}
	checkNear(t, "sum of shares", sum, 1, 1e-12)
	for q, m := range map[model.Quantity]float64{model.Shot: p.Shot.Median, model.Body: p.Body.Median} {
		scatter += math.Pow(m*c.Quantity(q).REML.Residual, 2)
	}
	checkNear(t, "scatter in grams", of[""].SDG, math.Sqrt(scatter), 1e-9)
	checkNear(t, "core batches in grams", of[model.CoreBatch].SDG, p.Shot.Median*c.Quantity(model.Shot).REML.SD[model.CoreBatch], 1e-9)
	checkNear(t, "ratio of shares", of[""].Share/of[model.CoreBatch].Share, math.Pow(of[""].SDG/of[model.CoreBatch].SDG, 2), 1e-9)
}

// The chance of a distance is that of the distribution, and the rows asked for
// are the fewest that bring it to the coverage.
func TestPromise_Within(t *testing.T) {
	rows := workshopRows(5, 80)
	opt := usualPromise()
	opt.Labels.CoreBatch = model.NewLevel
	p := promise(t, rows, Planned{WeightG: 600, BodyG: 300, ShotG: 300, LengthMM: model.Unknown}, opt)
	opt.AroundG = p.Weight.Median
	after := map[More]float64{}
	for _, x := range p.Tighten {
		after[x.More] = x.HalfWidthG
	}

	// As wide as the promise is now: nothing to measure.
	opt.WithinG = p.Weight.Width()/2 + 0.5
	now := promise(t, rows, p.Planned, opt).Within
	if now.Fills != 0 || now.Checks != 0 || !(now.Chance > 0.95 && now.Chance < 0.96) || !now.Reached() {
		t.Errorf("as wide as the promise: %+v", now)
	}
	// As wide as after three fills: no more than three, and chance below until then.
	opt.WithinG = after[More{Fills: 3}] + 0.3
	three := promise(t, rows, p.Planned, opt).Within
	if three.Fills < 2 || three.Fills > 3 || !(three.Chance < 0.95) || !three.Reached() {
		t.Errorf("as wide as after three fills: %+v", three)
	}
	a := fitLog(t, rows, Options{}).ahead(p.Planned, opt.Labels)
	for n, enough := range map[int]bool{three.Fills - 1: false, three.Fills: true} {
		o := a.outcome(model.Weight, More{Fills: n})
		chance := o.below(opt.AroundG+opt.WithinG) - o.below(opt.AroundG-opt.WithinG)
		if (chance >= 0.95) != enough {
			t.Errorf("chance %g after %d fills", chance, n)
		}
	}
	// Narrower than whip to whip: never.
	opt.WithinG = 2
	if never := promise(t, rows, p.Planned, opt).Within; never.Fills != Never || never.Checks != Never || never.Reached() {
		t.Errorf("within 2 g: %+v", never)
	}
	// Far from what is to be expected: no measurement helps, another plan does.
	opt.WithinG, opt.AroundG = 10, p.Weight.Median+30
	off := promise(t, rows, p.Planned, opt)
	if off.Within.Reached() || !strings.Contains(strings.Join(off.Warnings, "\n"), "plan the load for that weight") {
		t.Errorf("30 g off: %+v, warnings %q", off.Within, off.Warnings)
	}
}

// What there is no row for has a median, no limits, and a word on what to
// measure.
func TestPromise_FewRows(t *testing.T) {
	none := promise(t, NewRows(map[model.Quantity][]model.Observation{}), usualPlan, usualPromise())
	for what, b := range map[string]Band{"weight": none.Weight, "body": none.Body, "shot": none.Shot, "length": none.Length} {
		if b.Median != b.Planned || !math.IsNaN(b.Low) || !math.IsNaN(b.PlannerLow) || !math.IsNaN(b.FloorHigh) {
			t.Errorf("no rows: %s %+v", what, b)
		}
	}
	if none.Basis != "" || none.Sources != nil || none.Tighten != nil || !strings.Contains(strings.Join(none.Warnings, "\n"), "test fill") {
		t.Errorf("no rows: %+v", none)
	}
	three := promise(t, workshopRows(5, 3), usualPlan, usualPromise())
	if three.Basis != FromWhole || !(three.Weight.Low < 400 && three.Weight.High > 400) || !math.IsNaN(three.Weight.PlannerLow) {
		t.Errorf("three builds: %q, %+v", three.Basis, three.Weight)
	}
	if w := strings.Join(three.Warnings, "\n"); !strings.Contains(w, "as a whole") || !strings.Contains(w, "before 19 builds") {
		t.Errorf("three builds: warnings %q", w)
	}
	unloaded := promise(t, workshopRows(5, 40), Planned{WeightG: 320, BodyG: 320, ShotG: 0, LengthMM: model.Unknown}, usualPromise())
	if unloaded.Weight.Interval != unloaded.Body.Interval || !math.IsNaN(unloaded.Shot.Planned) || !math.IsNaN(unloaded.Length.Planned) {
		t.Errorf("without shot: weight %+v, body %+v, shot %+v", unloaded.Weight, unloaded.Body, unloaded.Shot)
	}
	for _, opt := range []PromiseOptions{{Coverage: 1.2, Of: 1}, {Coverage: 0.95, Of: 0}} {
		if _, err := fitLog(t, workshopRows(5, 3), Options{}).Promise(context.Background(), workshopRows(5, 3), usualPlan, opt); err == nil {
			t.Errorf("%+v: no error", opt)
		}
	}
}

// eachShop runs do for seeded shops on all processors and sums up its results.
func eachShop(shops int, do func(seed int) []float64) []float64 {
	var mu sync.Mutex
	var sum []float64
	var wg sync.WaitGroup
	for w := range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for i := w; i < shops; i += runtime.GOMAXPROCS(0) {
				got := do(i)
				mu.Lock()
				for len(sum) < len(got) {
					sum = append(sum, 0)
				}
				for j, x := range got {
					sum[j] += x / float64(shops)
				}
				mu.Unlock()
			}
		})
	}
	wg.Wait()
	return sum
}

// In simulated shops, a promise for K builds of one batch holds all K about as
// often as it says, of a batch in use and of a new one. Each promise is scored
// by its exact probability under the shop's own truth.
func TestPromise_HoldsAllOfK(t *testing.T) {
	const coverage = 0.9
	for _, k := range []int{1, 3, 8} {
		t.Run(fmt.Sprintf("k=%d", k), func(t *testing.T) {
			s := shop{builds: 40, makers: 2, cores: 8, scatter: 0.02, spread: map[model.Effect]float64{model.Maker: 0.03, model.CoreBatch: 0.05}}
			got := eachShop(300, func(seed int) []float64 {
				obs, tr := s.simulate(rand.New(rand.NewPCG(uint64(seed), 77)))
				sys := newSystem(model.Shot.Effects(), cellsOf(obs), nil)
				post := newPosterior(sys, fineGrid, nil)
				last := obs[len(obs)-1].Labels
				hands := tr.mean + tr.level[model.LevelEffect{Effect: model.Maker, Level: last.Maker}]
				holds := func(mean, low, high float64) float64 {
					return math.Pow(normalCDF((high-mean)/s.scatter)-normalCDF((low-mean)/s.scatter), float64(k))
				}
				var out []float64
				for _, l := range []model.Labels{last, {Maker: last.Maker, CoreBatch: model.NewLevel}} {
					low, high := limits(scaled{1, newOutlook(model.Shot, post, l).after(0, 0)}, coverage, k)
					low, high = math.Log(low), math.Log(high)
					if l == last {
						out = append(out, holds(hands+tr.level[model.LevelEffect{Effect: model.CoreBatch, Level: l.CoreBatch}], low, high))
						continue
					}
					sum, step := 0.0, 0.02 // over what the new batch may be
					for z := -6.0; z <= 6; z += step {
						sum += holds(hands+s.spread[model.CoreBatch]*z, low, high) * math.Exp(-z*z/2) / math.Sqrt(2*math.Pi) * step
					}
					out = append(out, sum)
				}
				return out
			})
			t.Logf("all %d inside: batch in use %.1f %%, new %.1f %%", k, 100*got[0], 100*got[1])
			for i, what := range []string{"batch in use", "new batch"} {
				if !(got[i] > coverage-0.025 && got[i] < coverage+0.05) {
					t.Errorf("%s: all %d inside in %.3f of shops, want %g", what, k, got[i], coverage)
				}
			}
		})
	}
}

// Widths foretold for after n more test fills of a new batch are those that
// shops really reach, on average.
func TestOutlook_WidthsReached(t *testing.T) {
	steps := []int{1, 3, 10}
	s := shop{builds: 40, makers: 2, cores: 8, scatter: 0.02, spread: map[model.Effect]float64{model.Maker: 0.03, model.CoreBatch: 0.05}}
	width := func(m *Mixture) float64 { return m.Quantile(0.975) - m.Quantile(0.025) }
	got := eachShop(100, func(seed int) []float64 {
		r := rand.New(rand.NewPCG(uint64(seed), 78))
		obs, tr := s.simulate(r)
		labels := model.Labels{Maker: obs[len(obs)-1].Labels.Maker, CoreBatch: model.NewLevel}
		o := newOutlook(model.Shot, newPosterior(newSystem(model.Shot.Effects(), cellsOf(obs), nil), fineGrid, nil), labels)
		mean := tr.mean + tr.level[model.LevelEffect{Effect: model.Maker, Level: labels.Maker}] + s.spread[model.CoreBatch]*r.NormFloat64()
		out := []float64{width(o.after(0, 0))}
		for _, n := range steps {
			cells := cellsOf(obs)
			for range n {
				cells = append(cells, model.Cell{Kind: model.Fills, Labels: labels, N: 1, Mean: mean + s.scatter*r.NormFloat64()})
			}
			sys := newSystem(model.Shot.Effects(), cells, nil)
			reached := newPosterior(sys, fineGrid, nil).mixtures([]target{{sys.contrast(labels), true}})[0]
			out = append(out, width(o.after(n, 0)), width(reached))
		}
		return out
	})
	for i, n := range steps {
		foretold, reached := got[1+2*i], got[2+2*i]
		t.Logf("after %d fills: foretold %.4f, reached %.4f; before %.4f", n, foretold, reached, got[0])
		checkNear(t, fmt.Sprintf("width after %d fills", n), foretold, reached, 0.05*reached)
		if !(reached < 0.7*got[0]) {
			t.Errorf("%d fills narrow %g to %g only: the shop tests nothing", n, got[0], reached)
		}
	}
}

func BenchmarkPromise(b *testing.B) {
	rows := workshopRows(5, 300)
	c, err := Fit(context.Background(), rows, Options{})
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := c.Promise(context.Background(), rows, usualPlan, usualPromise()); err != nil {
			b.Fatal(err)
		}
	}
}
