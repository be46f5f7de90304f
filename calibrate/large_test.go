package calibrate

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"trueplait/model"
)

// forced is the same system under the large method.
func forced(s *system) *system {
	f := *s
	f.sparsity = newSparsity(make([][]int32, len(s.levels))) // no neighbours
	f.sparsity.large = true
	return &f
}

// inTurn is a trade whose batches are used up in turn, each by a few makers:
// the least that rows can have to do with each other, and so the worst case of
// what is passed on from level to level.
func inTurn(rows, makers, batches, hands int, blank float64) *system {
	r := rand.New(rand.NewPCG(5, 5))
	spread := func(n int, sd float64) []float64 {
		out := make([]float64, n)
		for i := range out {
			out[i] = sd * r.NormFloat64()
		}
		return out
	}
	const products = 30
	maker, core, strand, product := spread(makers, 0.04), spread(batches, 0.06), spread(batches, 0.03), spread(products, 0.02)
	var cells []model.Cell
	at := map[model.Labels]int{}
	for i := range rows {
		c := i * batches / rows
		m, n := (c*7+r.IntN(hands))%makers, c
		if r.IntN(8) == 0 {
			n = min(batches-1, c+1)
		}
		p := (m*7 + r.IntN(4)) % products
		var l model.Labels
		for e, number := range map[model.Effect]int{model.Maker: m, model.CoreBatch: c, model.StrandBatch: n, model.Product: p} {
			l.Set(e, fmt.Sprintf("%c%05d", e[0], number))
		}
		for _, e := range model.Weight.Effects() {
			if r.Float64() < blank {
				l.Set(e, "")
			}
		}
		j, ok := at[l]
		if !ok {
			j = len(cells)
			at[l] = j
			cells = append(cells, model.Cell{Labels: l})
		}
		y := maker[m] + core[c] + strand[n] + product[p] + 0.03*r.NormFloat64()
		x := &cells[j]
		x.N++
		d := y - x.Mean
		x.Mean += d / float64(x.N)
		x.SS += d * (y - x.Mean)
	}
	return newSystem(model.Weight.Effects(), cells, nil)
}

// shopSystem is that of a simulated shop, one cell a row.
func shopSystem(s shop) *system {
	s.spread = map[model.Effect]float64{model.Maker: 0.03, model.CoreBatch: 0.06, model.ShotBatch: 0.01, model.Product: 0.02}
	obs, _ := s.simulate(rand.New(rand.NewPCG(8, 1)))
	return newSystem(simulated, cellsOf(obs), nil)
}

// bothCases are systems that both methods can fit. rest is how far half widths
// may be off, root mean square: 1 % where everyone meets everything and all
// spreads are well known, more where levels know of each other only through
// others, so that more is left to chance, or where spreads are held that few
// rows tell. Standard errors of single levels, se, know more of others than
// combinations do; middle is for medians, in half widths, off where a spread is
// held at 0 that may be a little more.
var bothCases = []struct {
	name             string
	make             func() *system
	rest, se, middle float64
}{
	{"crossed, with blanks", func() *system {
		return shopSystem(shop{builds: 20_000, makers: 60, cores: 300, shots: 100, products: 60, scatter: 0.03, blank: 0.05})
	}, 0.01, 0.05, 0.02},
	{"five products, and shot batches that are all alike", func() *system {
		return shopSystem(shop{builds: 20_000, makers: 60, cores: 300, shots: 100, products: 5, scatter: 0.03})
	}, 0.02, 0.05, 0.06},
	{"one maker, three products", func() *system {
		return shopSystem(shop{builds: 4_000, makers: 1, cores: 300, shots: 100, products: 3, scatter: 0.03})
	}, 0.02, 0.05, 0.02},
	{"in turn", func() *system { return inTurn(40_000, 100, 300, 3, 0) }, 0.05, 0.1, 0.02},
	{"in turn, with blanks", func() *system { return inTurn(20_000, 100, 400, 3, 0.05) }, 0.05, 0.1, 0.02},
	{"each batch in one pair of hands", func() *system { return inTurn(10_000, 100, 400, 1, 0.05) }, 0.05, 0.1, 0.02},
	{"few rows", func() *system {
		return shopSystem(shop{builds: 200, makers: 3, cores: 10, shots: 4, products: 5, scatter: 0.03, blank: 0.05})
	}, 0.05, 0.05, 0.05},
}

// At the same θ, zero or not, all that the large method solves for is what
// exact algebra finds.
func TestLarge_SameSpreads(t *testing.T) {
	for _, tt := range bothCases {
		t.Run(tt.name, func(t *testing.T) {
			s := tt.make()
			theta := s.fitREML(nil).theta
			for k := range theta { // a different effect at 0 each time
				theta[k], theta[(k+1)%len(theta)] = 0, 0.4
				want, got := s.solve(theta, nil), forced(s).solve(theta, nil)
				if !got.settled {
					t.Fatal("not settled")
				}
				checkNear(t, "mean", got.mean, want.mean, 1e-9)
				checkNear(t, "Rx²", got.rx2, want.rx2, 1e-8*want.rx2)
				checkNear(t, "r²", got.r2, want.r2, 1e-9*want.r2)
				for i := range want.b {
					checkNear(t, "b of "+s.levels[i].name, got.b[i], want.b[i], 1e-8)
					checkNear(t, "v of "+s.levels[i].name, got.v[i], want.v[i], 1e-8)
				}
				c := contrast{fixed: 1, levels: s.cells[0].named(), unseen: 1}
				wantMean, wantH := want.estimate(c)
				gotMean, gotH := got.estimate(c)
				checkNear(t, "contrast", gotMean, wantMean, 1e-9)
				checkNear(t, "its h", gotH, wantH, 1e-8*wantH)
			}
		})
	}
}

// named are the levels of the cell.
func (c *cell) named() []int32 {
	var out []int32
	for _, l := range c.at {
		if l >= 0 {
			out = append(out, l)
		}
	}
	return out
}

// The spreads are REML's but for a share of their sampling error, which is
// 1/√(2 levels) at least: a fourth where chance is in the traces.
func TestLarge_Spreads(t *testing.T) {
	for _, tt := range bothCases {
		t.Run(tt.name, func(t *testing.T) {
			s := tt.make()
			want := s.fitREML(nil)
			got, err := forced(s).fit(nil)
			if err != nil {
				t.Fatal(err)
			}
			info := want.information() // by ln θ
			for k, e := range s.effects {
				if tau := want.theta[k]; tau > 0 {
					se := tau / math.Sqrt(math.Max(info[k][k]/2, 1e-9))
					checkNear(t, fmt.Sprintf("θ of %s", e), got.theta[k], tau, se/3)
				} else if concentration := s.concentration(k) / s.n; got.theta[k]*got.theta[k]*concentration > 1 {
					t.Errorf("θ of %s = %g, want 0", e, got.theta[k])
				}
			}
			checkNear(t, "σ", math.Sqrt(got.r2), math.Sqrt(want.r2), 0.003*math.Sqrt(want.r2))
		})
	}
}

// Medians and limits against those of the exact posterior, at the spreads of
// the exact fit, and standard errors of levels against that fit's.
func TestLarge_Limits(t *testing.T) {
	for _, tt := range bothCases {
		t.Run(tt.name, func(t *testing.T) {
			s := tt.make()
			exact := s.fitREML(nil)
			fit := *exact
			fit.solution = forced(s).solve(exact.theta, nil)
			targets := []target{{contrast: contrast{fixed: 1}}, {contrast: contrast{fixed: 1, unseen: 1<<len(s.effects) - 1}, next: true}}
			for i := range s.levels { // all but one label never seen
				if i%7 == 0 {
					k := s.levels[i].effect
					targets = append(targets, target{contrast: contrast{fixed: 1, levels: []int32{int32(i)}, unseen: (1<<len(s.effects) - 1) &^ (1 << k)}})
				}
			}
			for i := 0; i < len(s.cells); i += 1 + len(s.cells)/500 {
				targets = append(targets, target{contrast: contrast{fixed: 1, levels: s.cells[i].named(), unseen: s.cells[i].blank}})
			}
			want := newPosterior(s, fineGrid, exact.theta).mixtures(targets)
			post := newLargePosterior(fit.solution, fineGrid.many)
			got := post.mixtures(targets)
			sum := 0.0
			for i := range targets {
				w, g := want[i].Interval(0.95), got[i].Interval(0.95)
				half := math.Log(w.High/w.Low) / 2
				off := math.Log(g.High/g.Low)/2/half - 1
				sum += off * off
				checkNear(t, fmt.Sprintf("median of %v", targets[i].levels), math.Log(g.Median), math.Log(w.Median), tt.middle*half)
				if math.Abs(off) > 6*tt.rest {
					t.Errorf("half width of %v off by %.1f %%", targets[i].levels, 100*off)
				}
			}
			if rms := math.Sqrt(sum / float64(len(targets))); rms > tt.rest {
				t.Errorf("half widths off by %.2f %%, allowed %.2f %%", 100*rms, 100*tt.rest)
			}
			labels := model.Labels{Maker: s.levels[0].name}
			checkNear(t, "median of a promise", newOutlook(model.Weight, post, labels).median(), newOutlook(model.Weight, newPosterior(s, fineGrid, exact.theta), labels).median(), 1e-3)
			few := post.mixtures(targets[:manyTargets])
			for i := range few { // each solved for
				w, g := want[i].Interval(0.95), few[i].Interval(0.95)
				checkNear(t, "width without draws", g.Width(), w.Width(), 2*tt.rest*w.Width())
			}
			sumSE, levels := 0.0, exact.report().BLUP
			for i, b := range fit.report().BLUP {
				if levels[i].SE > 0 && b.SE > 0 {
					off := b.SE/levels[i].SE - 1
					sumSE += off * off
				}
			}
			if rms := math.Sqrt(sumSE / float64(len(levels))); rms > tt.se {
				t.Errorf("standard errors off by %.2f %%, allowed %.2f %%", 100*rms, 100*tt.se)
			}
		})
	}
}

// random are cells of one row each with labels at random.
func random(rows int, effects []model.Effect, levels ...int) []model.Cell {
	r := rand.New(rand.NewPCG(4, uint64(rows)))
	cells := make([]model.Cell, rows)
	for i := range cells {
		cells[i].N, cells[i].Mean = 1, 0.03*r.NormFloat64()
		for k, e := range effects {
			cells[i].Labels.Set(e, fmt.Sprintf("%c%06d", e[0], r.IntN(levels[k])))
		}
	}
	return cells
}

// The rule is by what exact algebra would cost, not by how many levels there
// are.
func TestLarge_Rule(t *testing.T) {
	for _, tt := range []struct {
		name string
		make func() *system
		want string
	}{
		{"4,000 makers who met 20,000 batches", func() *system {
			return newSystem([]model.Effect{model.Maker, model.CoreBatch}, random(30_000, []model.Effect{model.Maker, model.CoreBatch}, 4_000, 20_000), nil)
		}, exactMethod},
		{"8,000 of each", func() *system {
			return newSystem([]model.Effect{model.Maker, model.CoreBatch}, random(70_000, []model.Effect{model.Maker, model.CoreBatch}, 8_000, 8_000), nil)
		}, largeMethod},
		{"30,000 batches of two kinds, in turn", func() *system { return inTurn(120_000, 200, 30_000, 3, 0) }, exactMethod},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if got := tt.make().method(); got != tt.want {
				t.Errorf("method %q, want %q", got, tt.want)
			}
		})
	}
}

func TestExactCost(t *testing.T) {
	tests := []struct {
		name string
		cost exactCost
		n    int
		want bool
	}{
		{"little", exactCost{}, 100, true},
		{"all elements there may be", exactCost{kept: mostElements - 100, left: 100}, 100, true},
		{"one more", exactCost{kept: mostElements - 100, left: 101}, 101, false},
		{"half of what is left, it is counted twice", exactCost{left: 2*mostElements + 100}, 100, false},
		{"all products", exactCost{products: mostProducts - 100*100}, 100, true},
		{"more", exactCost{products: mostProducts - 100*100}, 101, false},
		{"all steps", exactCost{steps: mostSteps}, 100, true},
		{"one more step", exactCost{steps: mostSteps + 1}, 100, false},
	}
	for _, tt := range tests {
		if got := tt.cost.column(tt.n); got != tt.want {
			t.Errorf("%s: %v, want %v", tt.name, got, tt.want)
		}
	}
	var cost exactCost
	if !cost.block(largestBlock) || cost.block(largestBlock+1) {
		t.Errorf("a dense block of %d rows is not the largest", largestBlock)
	}
}

// What there may be little of.
func TestLarge_Edges(t *testing.T) {
	maker := func(name string) model.Labels { return model.Labels{Maker: name, CoreBatch: "c" + name} }
	for _, tt := range []struct {
		name  string
		cells []model.Cell
		reml  bool
	}{
		{"one row", []model.Cell{{Labels: maker("a"), N: 1, Mean: 0.02}}, false},
		{"equal ratios", []model.Cell{{Labels: maker("a"), N: 3, Mean: 0.02}, {Labels: maker("b"), N: 3, Mean: 0.02}}, false},
		{"one level", []model.Cell{{Labels: maker("a"), N: 5, Mean: 0.02, SS: 0.004}}, true},
		{"two that share nothing", []model.Cell{{Labels: maker("a"), N: 9, Mean: 0.02, SS: 0.004}, {Labels: maker("b"), N: 7, Mean: -0.05, SS: 0.006}}, true},
		{"nothing recorded in most", []model.Cell{{Labels: maker("a"), N: 2, Mean: 0.02, SS: 0.004}, {N: 9, Mean: 0.1, SS: 0.02}}, true},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s := newSystem([]model.Effect{model.Maker, model.CoreBatch}, tt.cells, nil)
			l := forced(s)
			fit, err := l.fit(nil)
			if err != nil || (fit != nil) != tt.reml {
				t.Fatalf("fit %v, %v; want one: %v", fit, err, tt.reml)
			}
			var near []float64
			if fit != nil {
				near = fit.theta
				for _, b := range fit.report().BLUP {
					if fit.estimable[0] && fit.estimable[1] && !(b.SE >= 0) {
						t.Errorf("%+v", b)
					}
				}
			}
			targets := []target{{contrast: contrast{fixed: 1}}, {contrast: s.contrast(maker("a"))}, {contrast: s.contrast(maker("x")), next: true}}
			want, got := newPosterior(s, fineGrid, near).mixtures(targets), newPosterior(l, fineGrid, near).mixtures(targets)
			for i := range targets {
				w, g := want[i].Interval(0.95), got[i].Interval(0.95)
				checkNear(t, "low", g.Low, w.Low, 0.15*w.Width())
				checkNear(t, "median", g.Median, w.Median, 0.1*w.Width())
				checkNear(t, "high", g.High, w.High, 0.15*w.Width())
			}
		})
	}
}

// A calibration in which makers and batches at random are too many: it says so,
// beside limits that hold the truth.
func TestLarge_Fit(t *testing.T) {
	const makers, batches, each = 6_000, 6_500, 10
	r := rand.New(rand.NewPCG(9, 9))
	truth := map[string]float64{}
	level := func(prefix string, n int, sd float64) string {
		name := fmt.Sprintf("%s%04d", prefix, r.IntN(n))
		if _, ok := truth[name]; !ok {
			truth[name] = sd * r.NormFloat64()
		}
		return name
	}
	var obs []model.Observation
	for i := range makers * each {
		o := model.Observation{Key: model.RowKey{Kind: model.Builds, ID: fmt.Sprintf("B%06d", i)}, Date: day(i / 100), Base: 100, Planned: 100}
		o.Labels = model.Labels{Maker: level("m", makers, 0.04), CoreBatch: level("c", batches, 0.06)}
		o.Y = 0.02 + truth[o.Labels.Maker] + truth[o.Labels.CoreBatch] + 0.03*r.NormFloat64()
		o.Measured = o.Base * math.Exp(o.Y)
		obs = append(obs, o)
	}
	c := fitLog(t, NewRows(map[model.Quantity][]model.Observation{model.Shot: obs}), Options{For: []model.Labels{{}, {Maker: "m0001"}}})
	f := c.Quantity(model.Shot)
	want := fmt.Sprintf("%d levels: worked out by an approximate method; limits are good to about 5 %%", len(f.REML.BLUP))
	if f.Method != "large" || !slices.Contains(f.Warnings, want) {
		t.Errorf("method %q, warnings %q, want %q", f.Method, f.Warnings, want)
	}
	if m := c.Quantity(model.Length).Method; m != "exact" {
		t.Errorf("method of nothing %q", m)
	}
	checkNear(t, "makers' spread", f.REML.SD[model.Maker], 0.04, 0.002)
	checkNear(t, "batches' spread", f.REML.SD[model.CoreBatch], 0.06, 0.002)
	checkNear(t, "scatter", f.REML.Residual, 0.03, 0.001)
	inside := 0
	seen := f.Factors[:len(f.Factors)-2]
	for _, x := range seen {
		if y := math.Exp(0.02 + truth[x.Labels.Maker] + truth[x.Labels.CoreBatch]); x.Low <= y && y <= x.High {
			inside++
		}
	}
	checkNear(t, "share of truths inside 95 % limits", float64(inside)/float64(len(seen)), 0.95, 0.01)
	// Next to the spreads, what is not known of them is little.
	unseen := math.Log(f.Factors[len(seen)].High / f.Factors[len(seen)].Low)
	checkNear(t, "limits of a new maker and batch", unseen, 2*1.96*math.Hypot(0.04, 0.06), 0.03*unseen)
	inside = 0
	for _, b := range f.REML.BLUP {
		if math.Abs(b.Value-truth[b.Level]) <= 1.96*b.SE {
			inside++
		}
	}
	checkNear(t, "share of levels within 1.96 standard errors", float64(inside)/float64(len(f.REML.BLUP)), 0.95, 0.01)
}

// One product and a few blanks tell next to nothing of products; the signs then
// led Newton's steps in a circle of seven.
func TestLarge_Circle(t *testing.T) {
	s := shop{
		builds: 200, makers: 2, cores: 4, shots: 5, products: 1, scatter: 0.02, blank: 1. / 64,
		spread: map[model.Effect]float64{model.Maker: 0.03, model.CoreBatch: 1. / 512, model.Product: 0.01},
	}
	obs, _ := s.simulate(rand.New(rand.NewPCG(1, 0)))
	if _, err := forced(newSystem(simulated, cellsOf(obs), nil)).fit(nil); err != nil {
		t.Error(err)
	}
}

// Whatever the shape, a fit settles, and gives the levels of spread 0 no
// effect.
func TestLarge_Settles(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := shop{
			builds: rapid.IntRange(200, 1500).Draw(t, "builds"), makers: rapid.IntRange(1, 20).Draw(t, "makers"),
			cores: rapid.IntRange(0, 100).Draw(t, "cores"), shots: rapid.IntRange(0, 10).Draw(t, "shots"), products: rapid.IntRange(0, 8).Draw(t, "products"),
			scatter: 0.02, blank: rapid.Float64Range(0, 0.3).Draw(t, "blank"),
			spread: map[model.Effect]float64{model.Maker: 0.03, model.CoreBatch: rapid.Float64Range(0, 0.3).Draw(t, "core"), model.ShotBatch: 0, model.Product: 0.01},
		}
		obs, _ := s.simulate(rand.New(rand.NewPCG(1, rapid.Uint64().Draw(t, "seed"))))
		sys := forced(newSystem(simulated, cellsOf(obs), nil))
		fit, err := sys.fit(nil)
		if err != nil {
			t.Fatal(err)
		}
		for i, b := range fit.report().BLUP {
			if k := sys.levels[i].effect; math.IsNaN(b.Value) || fit.theta[k] == 0 && b.Value != 0 {
				t.Fatalf("%+v with θ = %g", b, fit.theta[k])
			}
		}
	})
}
