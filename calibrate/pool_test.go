package calibrate

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"gonum.org/v1/gonum/diff/fd"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"trueplait/model"
)

// poolOf sums up what workshops share.
func poolOf(shared ...[]model.Shared) *model.Pool {
	type parameter struct {
		model.Quantity
		model.Parameter
	}
	values, squares := map[parameter][]float64{}, map[parameter][]float64{}
	var order []parameter
	for _, all := range shared {
		for _, s := range all {
			p := parameter{s.Quantity, s.Parameter}
			if values[p] == nil {
				order = append(order, p)
			}
			values[p] = append(values[p], s.Value)
			squares[p] = append(squares[p], s.SE*s.SE)
		}
	}
	out := &model.Pool{Workshops: len(shared)}
	for _, p := range order {
		mean, variance := stat.MeanVariance(values[p], nil)
		out.Parameters = append(out.Parameters, model.Pooled{Quantity: p.Quantity, Parameter: p.Parameter,
			Workshops: len(values[p]), Mean: mean, Variance: variance, SquaredSE: stat.Mean(squares[p], nil)})
	}
	return out
}

// usualPool is seven workshops that agree on shops of a kind; few of them know
// the last effect.
func usualPool() *model.Pool {
	p := &model.Pool{Workshops: 7}
	add := func(of model.Parameter, k int, mean, variance, se2 float64) {
		p.Parameters = append(p.Parameters, model.Pooled{Quantity: model.Shot, Parameter: of, Workshops: k, Mean: mean, Variance: variance, SquaredSE: se2})
	}
	add(model.MeanParameter, 7, -0.05, 0.0016, 0.0009)
	add(model.ScatterParameter, 7, math.Log(0.025), 0.04, 0.01)
	add(model.SpreadParameter(model.Maker), 6, math.Log(0.03), 0.06, 0.1)
	add(model.SpreadParameter(model.CoreBatch), 7, math.Log(0.06), 0.05, 0.1)
	add(model.SpreadParameter(model.ShotBatch), 4, math.Log(0.9), 0.01, 0.01)
	return p
}

// borrowing is a system with the priors of a pool.
func borrowing(s *system, pool *model.Pool) *system {
	s.borrow(pool, model.Shot, &model.Pool{})
	return s
}

// The priors of one more workshop: sampling errors stay in, chance agreement
// pins nothing, and fewer than five workshops lend nothing.
func TestPool_Priors(t *testing.T) {
	for _, tt := range []struct {
		name             string
		of               model.Parameter
		workshops        int
		variance, se2    float64
		want, wantDegree float64 // squared scale; 0: the usual prior
	}{
		{"means apart", model.MeanParameter, 8, 0.0016, 0.0009, 0.0016 * 9 / 8, 7},
		{"means that agree by chance", model.MeanParameter, 5, 0.0001, 0.0009, 0.0009 * 6 / 5, 4},
		{"means all the same", model.MeanParameter, 5, 0, 0, 0.01 * 0.01, 4},
		{"four workshops", model.MeanParameter, 4, 0.0016, 0.0009, 0, 0},
		{"scatter", model.ScatterParameter, 10, 0.1, 0.2, 0.3 * 11 / 10, 9},
		{"scatters all the same", model.ScatterParameter, 10, 0, 0, 0.3 * 0.3, 9},
		{"a spread", model.SpreadParameter(model.CoreBatch), 6, 0.25, 0.11, 0.36 * 7 / 6, 5},
		{"a spread of four workshops", model.SpreadParameter(model.CoreBatch), 4, 0.25, 0.11, 0, 0},
		{"an effect that is not there", model.SpreadParameter(model.Product), 6, 0.25, 0.11, 0, 0},
	} {
		s := newSystem(model.Shot.Effects(), []model.Cell{{Labels: model.Labels{CoreBatch: "C1"}, N: 3}}, nil)
		used := &model.Pool{}
		s.borrow(&model.Pool{Workshops: 10, Parameters: []model.Pooled{{Quantity: model.Shot, Parameter: tt.of, Workshops: tt.workshops,
			Mean: -3, Variance: tt.variance, SquaredSE: tt.se2}}}, model.Shot, used)
		got := map[model.Parameter]*student{model.MeanParameter: s.borrowed.mean, model.ScatterParameter: s.borrowed.scatter,
			model.SpreadParameter(model.CoreBatch): s.borrowed.spread[0]}
		for of, prior := range got {
			switch {
			case of != tt.of || tt.want == 0:
				if prior != nil {
					t.Errorf("%s: %s borrowed %+v", tt.name, of, prior)
				}
			case prior == nil || math.Abs(prior.scale2-tt.want) > 1e-12 || prior.df != tt.wantDegree || prior.mean != -3:
				t.Errorf("%s: %+v, want a squared scale of %g and %g degrees of freedom", tt.name, prior, tt.want, tt.wantDegree)
			}
		}
		if (len(used.Parameters) > 0) != (tt.want > 0) {
			t.Errorf("%s: borrowed %v", tt.name, used.Parameters)
		}
	}
}

// The mixture of normals against the density of Student's t: gonum's.
func TestStudent_Normals(t *testing.T) {
	for _, df := range []float64{4, 7, 30, 5000} {
		b := &student{mean: 1, scale2: 0.04, df: df}
		want := distuv.StudentsT{Mu: 1, Sigma: 0.2, Nu: df}
		for _, z := range []float64{0, 0.5, 1, 2, 3, 4} {
			got := 0.0
			for _, n := range b.normals() {
				got += math.Exp(n.log) * distuv.Normal{Mu: 1, Sigma: math.Sqrt(n.variance)}.Prob(1+0.2*z)
			}
			checkNear(t, fmt.Sprintf("density at %g scales, %g degrees of freedom", z, df), got, want.Prob(1+0.2*z), 0.03*want.Prob(1+0.2*z))
			checkNear(t, "log density", b.log(1+0.2*z)-b.log(1), want.LogProb(1+0.2*z)-want.LogProb(1), 1e-9)
		}
	}
}

// A balanced workshop at given spreads, and a normal prior of μ: m makers with n
// builds each. With V = τ²/m + σ²/(mn) the variance of the mean ȳ, and the prior
// N(m₀, v),
//
//	μ | y ~ N((ȳ/V + m₀/v)/(1/V + 1/v), 1/(1/V + 1/v))
//
// and, given μ, a maker's factor is the mean of ȳ_j and μ in the proportion of
// τ² to σ²/n. With t₄ about m₀, the moments of μ against a sum over a fine grid.
func TestPool_Balanced(t *testing.T) {
	const (
		makers, builds = 4, 5
		sigma, tau     = 0.02, 0.05
		about, prior   = -0.10, 0.02
	)
	var cells []model.Cell
	mean := 0.0
	for j := range makers {
		y := 0.03 + 0.04*float64(j)
		mean += y / makers
		cells = append(cells, model.Cell{Labels: model.Labels{Maker: string(rune('a' + j))}, N: builds, Mean: y, SS: 4e-4 * (builds - 1)})
	}
	s := newSystem([]model.Effect{model.Maker}, cells, nil)
	targets := []target{{contrast: contrast{fixed: 1}}, {contrast: s.contrast(cells[0].Labels)}, {contrast: s.contrast(model.Labels{}), next: true}}
	given := func(df float64) []*Mixture { // σ and τ
		s.borrowed = &borrowed{mean: &student{mean: about, scale2: prior * prior, df: df}}
		s.borrowed.meanAs = s.borrowed.mean.normals()
		o := s.solve([]float64{tau / sigma}, nil)
		nodes := o.withMean(nil, sigmaNode{sigma: sigma, log: math.Log(sigma)})
		total := 0.0
		for i := range nodes {
			nodes[i].weight = math.Exp(nodes[i].weight)
			total += nodes[i].weight
		}
		for i := range nodes {
			nodes[i].weight /= total
		}
		p := &Posterior{sys: s, nodes: []node{{theta: o.theta, weight: 1, sigma: nodes}}}
		return p.mixtures(targets)
	}
	v := tau*tau/makers + sigma*sigma/(makers*builds)
	sure := 1/v + 1/(prior*prior)
	mu := (mean/v + about/(prior*prior)) / sure
	own := tau * tau / (tau*tau + sigma*sigma/builds)

	m := given(1e9)
	checkNear(t, "mean of μ", m[0].mean, mu, 1e-6)
	checkNear(t, "sd of μ", m[0].sd, math.Sqrt(1/sure), 1e-6)
	checkNear(t, "mean of a factor", m[1].mean, own*cells[0].Mean+(1-own)*mu, 1e-6)
	checkNear(t, "sd of a factor", m[1].sd, math.Sqrt(own*sigma*sigma/builds+(1-own)*(1-own)/sure), 1e-6)
	checkNear(t, "mean of a new maker's build", m[2].mean, mu, 1e-6)
	checkNear(t, "sd of a new maker's build", m[2].sd, math.Sqrt(1/sure+tau*tau+sigma*sigma), 1e-6)

	b := distuv.StudentsT{Mu: about, Sigma: prior, Nu: 4}
	var at, density []float64
	for x := -0.4; x < 0.5; x += 1e-4 {
		at = append(at, x)
		density = append(density, b.Prob(x)*distuv.Normal{Mu: mean, Sigma: math.Sqrt(v)}.Prob(x))
	}
	wantMean, wantSD := stat.PopMeanStdDev(at, density)
	m = given(4)
	checkNear(t, "mean of μ with t₄", m[0].mean, wantMean, 0.1*wantSD)
	checkNear(t, "sd of μ with t₄", m[0].sd, wantSD, 0.1*wantSD)
}

// The gradient that the mode is sought with, against differences.
func TestPool_Slopes(t *testing.T) {
	s := borrowing(crossedSystem(4), usualPool())
	x := &explorer{sys: s, mode: make([]float64, len(s.effects))}
	for _, phi := range [][]float64{{0, 0.5, -1, 0}, {-1, 1, 0.3, 0.2}, {2, -2, -0.5, 1}} {
		got := make([]float64, len(phi))
		x.slopes(phi, got)
		want := fd.Gradient(nil, func(p []float64) float64 { return -x.at(p) }, phi, &fd.Settings{Formula: fd.Central, Step: 1e-4})
		for k := range got {
			checkNear(t, fmt.Sprintf("slope %d at %v", k, phi), got[k], want[k], 2e-3*(1+math.Abs(want[k])))
		}
	}
}

// The nodes against a dense grid of the same posterior, as without a pool:
// within 1 % of a band's width.
func TestPool_DenseGrid(t *testing.T) {
	for _, tt := range []struct {
		shop
		points int
	}{
		{shop{builds: 1, makers: 1, cores: 1, scatter: 0.02}, 49},
		{shop{builds: 5, makers: 1, cores: 1, scatter: 0.025}, 49},
		{shop{builds: 40, makers: 3, cores: 6, shots: 2, scatter: 0.025, blank: 0.05}, 33},
		{shop{builds: 300, makers: 3, cores: 15, scatter: 0.025}, 121},
		{shop{builds: 1500, makers: 5, cores: 60, scatter: 0.05}, 121},
	} {
		t.Run(fmt.Sprintf("builds=%d", tt.builds), func(t *testing.T) {
			tt.spread = crossed.spread
			obs, _ := tt.simulate(rand.New(rand.NewPCG(8, uint64(tt.builds))))
			s := borrowing(newSystem(simulated, cellsOf(obs), nil), usualPool())
			known := model.Labels{Maker: "m00", CoreBatch: "c00", ShotBatch: "s00"}
			targets := []target{{contrast: s.contrast(known)}, {contrast: s.contrast(model.Labels{Maker: "m00"}), next: true}, {contrast: contrast{fixed: 1}}, {contrast: s.contrast(known), next: true}}
			post := newPosterior(s, fineGrid, nil)
			got := post.mixtures(targets)
			want := densePosterior(s, tt.points).mixtures(targets)
			next, more := newOutlook(model.Shot, post, known).after(0, 0), newOutlook(model.Shot, post, known).after(5, 0)
			for _, p := range []float64{0.025, 0.5, 0.975} {
				checkNear(t, "the next build of a promise", next.Quantile(p), got[3].Quantile(p), 1e-6)
			}
			if !(more.sd < next.sd) {
				t.Errorf("five more builds leave a standard deviation of %g, today's is %g", more.sd, next.sd)
			}
			for i := range targets {
				width := want[i].Quantile(0.975) - want[i].Quantile(0.025)
				for _, p := range []float64{0.025, 0.5, 0.975} {
					checkNear(t, fmt.Sprintf("target %d quantile %g", i, p), got[i].Quantile(p), want[i].Quantile(p), 0.01*width)
				}
			}
		})
	}
}

// The large method against the exact one.
func TestPool_Large(t *testing.T) {
	s := shopSystem(shop{builds: 4_000, makers: 6, cores: 300, shots: 3, scatter: 0.03})
	exact := s.fitREML(nil)
	fit := *exact
	fit.solution = forced(s).solve(exact.theta, nil)
	pool := usualPool()
	borrowing(s, pool)
	borrowing(fit.solution.sys, pool)
	targets := []target{{contrast: contrast{fixed: 1}}, {contrast: contrast{fixed: 1, unseen: 7}, next: true}, {contrast: s.contrast(model.Labels{Maker: "m00", CoreBatch: "c007"})}}
	want := newPosterior(s, fineGrid, exact.theta).mixtures(targets)
	post := newLargePosterior(fit.solution, fineGrid.many)
	got := post.mixtures(targets)
	checkNear(t, "median of a promise", newOutlook(model.Shot, post, model.Labels{Maker: "m00", CoreBatch: "c007"}).median(), got[2].Quantile(0.5), 1e-6)
	for i := range targets {
		w, g := want[i].Interval(0.95), got[i].Interval(0.95)
		checkNear(t, "median", g.Median, w.Median, 0.02*w.Width())
		checkNear(t, "width", g.Width(), w.Width(), 0.05*w.Width())
	}
}

// guild draws workshops of one trade: their means, scatters and spreads differ
// from shop to shop.
type guild struct{ r *rand.Rand }

// workshop draws one, of some size, and what is true of it.
func (g guild) workshop(builds, makers, cores int) ([]model.Observation, truth, shop) {
	about := func(sd float64) float64 { return sd * math.Exp(0.3*g.r.NormFloat64()) }
	s := shop{builds: builds, makers: makers, cores: cores, scatter: about(0.02),
		spread: map[model.Effect]float64{model.Maker: about(0.03), model.CoreBatch: about(0.06)}}
	obs, tr := s.simulate(g.r)
	shifted(obs, &tr, -0.06+0.05*g.r.NormFloat64())
	return obs, tr, s
}

// shifted moves all of a workshop's figures.
func shifted(obs []model.Observation, tr *truth, by float64) {
	tr.mean += by
	for i := range obs {
		obs[i].Y += by
		obs[i].Measured *= math.Exp(by)
	}
}

// shotFit is the fit of shot alone, of a workshop without a pool.
func shotFit(obs []model.Observation) *Calibration {
	s := newSystem(model.Shot.Effects(), cellsOf(obs), nil)
	f := QuantityFit{Quantity: model.Shot, Rows: int(s.n), Effects: s.effects}
	fit := s.fitREML(nil)
	f.REML = fit.report()
	f.Posterior = fit.posterior(coarseGrid)
	return &Calibration{Quantities: []QuantityFit{f}}
}

// pool has so many workshops share a fit.
func (g guild) pool(workshops int) *model.Pool {
	var shared [][]model.Shared
	for range workshops {
		obs, _, _ := g.workshop(25+g.r.IntN(40), 2+g.r.IntN(3), 3+g.r.IntN(5))
		shared = append(shared, shotFit(obs).Share())
	}
	return poolOf(shared...)
}

// Guilds of five and of eight workshops, and newcomers with three to five builds
// of one batch: their bands with the pool hold what they say, of the batch at
// hand, of a new one and of the overall factor, and are narrower than without.
func TestPool_Newcomer(t *testing.T) {
	const guilds, newcomers = 40, 5
	what := []string{"known batch", "new batch", "new maker and batch", "overall factor"}
	for _, workshops := range []int{5, 8} {
		t.Run(fmt.Sprintf("workshops=%d", workshops), func(t *testing.T) {
			got := eachShop(guilds, func(seed int) []float64 {
				g := guild{rand.New(rand.NewPCG(uint64(seed), 77))}
				pool := g.pool(workshops)
				out := make([]float64, 4*len(what))
				for range newcomers {
					alone, pooled := g.newcomer(pool)
					for j := range what {
						for i, b := range []band{alone[j], pooled[j]} {
							out[4*j+2*i] += b.holds / newcomers
							out[4*j+2*i+1] += b.width / newcomers
						}
					}
				}
				return out
			})
			for j, name := range what {
				alone, pooled := band{got[4*j], got[4*j+1]}, band{got[4*j+2], got[4*j+3]}
				t.Logf("%s: alone %.1f %% in ± %.3f, pooled %.1f %% in ± %.3f", name, 100*alone.holds, alone.width/2, 100*pooled.holds, pooled.width/2)
				if pooled.holds < 0.94 || pooled.holds > 0.995 {
					t.Errorf("%s: pooled bands hold %.3f, want 0.94 to 0.995", name, pooled.holds)
				}
				if !(pooled.width < 0.9*alone.width) {
					t.Errorf("%s: pooled bands are %.4f wide, alone %.4f", name, pooled.width, alone.width)
				}
			}
		})
	}
}

// band is the chance that a 95 % band holds what it is for, and its width.
type band struct{ holds, width float64 }

// newcomer draws a workshop with few builds, and its bands on its own and with
// a pool: for the next build with the batch at hand, with a new one, with a new
// maker as well, and for the overall factor.
func (g guild) newcomer(pool *model.Pool) (alone, pooled []band) {
	obs, tr, s := g.workshop(3+g.r.IntN(3), 1, 1)
	last := obs[len(obs)-1].Labels
	maker := tr.mean + tr.level[model.LevelEffect{Effect: model.Maker, Level: last.Maker}]
	batch := maker + tr.level[model.LevelEffect{Effect: model.CoreBatch, Level: last.CoreBatch}]
	ofBatches := math.Hypot(s.scatter, s.spread[model.CoreBatch])
	truths := []normal{{mean: batch, sd: s.scatter}, {mean: maker, sd: ofBatches},
		{mean: tr.mean, sd: math.Hypot(ofBatches, s.spread[model.Maker])}, {mean: tr.mean, sd: 1e-9}}
	sys := newSystem(model.Shot.Effects(), cellsOf(obs), nil)
	targets := []target{{sys.contrast(last), true}, {sys.contrast(model.Labels{Maker: last.Maker}), true},
		{sys.contrast(model.Labels{}), true}, {contrast: contrast{fixed: 1}}}
	bands := func() (out []band) {
		for i, m := range newPosterior(sys, coarseGrid, nil).mixtures(targets) {
			low, high, is := m.Quantile(0.025), m.Quantile(0.975), truths[i]
			out = append(out, band{normalCDF((high-is.mean)/is.sd) - normalCDF((low-is.mean)/is.sd), high - low})
		}
		return out
	}
	alone = bands()
	borrowing(sys, pool)
	return alone, bands()
}

// A workshop far from all others, seven times as far as they are from each
// other: its own rows win, the sooner the more makers and batches it has.
func TestPool_UnlikeTheOthers(t *testing.T) {
	const mean = -0.5
	g := guild{rand.New(rand.NewPCG(3, 78))}
	pool := g.pool(8)
	for _, tt := range []struct {
		builds, makers, cores int
		near                  float64 // to what its own rows say, in standard deviations
	}{{5, 1, 1, math.Inf(1)}, {60, 2, 4, 1.5}, {400, 5, 20, 0.5}, {3000, 20, 100, 0.2}} {
		t.Run(fmt.Sprintf("builds=%d", tt.builds), func(t *testing.T) {
			obs, tr, s := g.workshop(tt.builds, tt.makers, tt.cores)
			shifted(obs, &tr, mean-tr.mean)
			sys := newSystem(model.Shot.Effects(), cellsOf(obs), nil)
			last := obs[len(obs)-1].Labels
			targets := []target{{contrast: contrast{fixed: 1}}, {contrast: sys.contrast(model.Labels{}), next: true}, {contrast: sys.contrast(last)}}
			alone := newPosterior(sys, fineGrid, nil).mixtures(targets)
			pooled := newPosterior(borrowing(sys, pool), fineGrid, nil).mixtures(targets)
			what := []string{"overall factor", "new maker and batch", "factor of a batch"}
			for i, m := range pooled {
				checkNear(t, "median of "+what[i], m.Quantile(0.5), alone[i].Quantile(0.5), tt.near*alone[i].sd)
			}
			if low, high := pooled[1].Quantile(0.025), pooled[1].Quantile(0.975); !(low < mean && mean < high) {
				t.Errorf("the next build of a new maker and batch is within %.3f and %.3f, want %g inside", low, high, mean)
			}
			truth := mean + tr.level[model.LevelEffect{Effect: model.Maker, Level: last.Maker}] + tr.level[model.LevelEffect{Effect: model.CoreBatch, Level: last.CoreBatch}]
			checkNear(t, "factor of a batch", pooled[2].Quantile(0.5), truth, 3*s.scatter/math.Sqrt(float64(tt.builds)/float64(tt.cores)))
		})
	}
}

// Fewer than five workshops are refused, in words for a maker.
func TestFit_FewWorkshops(t *testing.T) {
	for n, words := range map[int]string{0: "no other workshop shares", 1: "1 other workshop shares", 4: "4 other workshops share"} {
		_, err := Fit(t.Context(), workshopRows(5, 20), Options{Pool: &model.Pool{Workshops: n}})
		var few *PoolError
		if !errors.As(err, &few) || !errors.Is(err, ErrFewWorkshops) || few.Workshops != n {
			t.Fatalf("a pool of %d: %v", n, err)
		}
		if want := words; len(err.Error()) < 50 || err.Error()[:len(want)] != want {
			t.Errorf("a pool of %d: %q, want it to begin with %q", n, err, want)
		}
	}
}

// What fewer than five workshops know of keeps the usual prior, to the last bit:
// a pool that has nothing else to lend changes nothing but the label.
func TestFit_NothingToBorrow(t *testing.T) {
	pool := usualPool()
	for i := range pool.Parameters {
		pool.Parameters[i].Workshops = model.LeastPool - 1
	}
	alone := fitLog(t, workshopRows(5, 40), Options{})
	pooled := fitLog(t, workshopRows(5, 40), Options{Pool: pool})
	if alone.Pool != nil || pooled.Pool == nil || pooled.Pool.Parameters != nil {
		t.Errorf("pools %v and %v, want none and an empty one", alone.Pool, pooled.Pool)
	}
	for i := range alone.Quantities {
		a, p := alone.Quantities[i], pooled.Quantities[i]
		if !reflect.DeepEqual(a.Factors, p.Factors) && a.Rows > 0 || a.Rows > 0 && a.Overall != p.Overall {
			t.Errorf("%s: overall %v, and %v with nothing borrowed", a.Quantity, a.Overall, p.Overall)
		}
	}
}

// Fit borrows for the quantities that the pool has, and says what.
func TestFit_Pool(t *testing.T) {
	alone := fitLog(t, workshopRows(5, 6), Options{})
	pooled := fitLog(t, workshopRows(5, 6), Options{Pool: usualPool()})
	var of []model.Parameter
	for _, p := range pooled.Pool.Parameters {
		of = append(of, p.Parameter)
	}
	if want := []model.Parameter{"mean", "residual", "maker", "core_batch"}; !reflect.DeepEqual(of, want) || pooled.Pool.Workshops != 7 {
		t.Errorf("borrowed %v of %d workshops, want %v of 7", of, pooled.Pool.Workshops, want)
	}
	if a, p := alone.Quantity(model.Shot), pooled.Quantity(model.Shot); !(p.Overall.Width() < 0.8*a.Overall.Width()) || a.REML.Criterion != p.REML.Criterion {
		t.Errorf("overall %v, and %v pooled; REML must be the same", a.Overall, p.Overall)
	}
	if a, p := alone.Quantity(model.Length), pooled.Quantity(model.Length); a.Overall != p.Overall {
		t.Errorf("length borrowed what nobody shared: %v, want %v", p.Overall, a.Overall)
	}
	none := fitLog(t, NewRows(map[model.Quantity][]model.Observation{}), Options{Pool: usualPool()})
	if none.Pool.Parameters != nil || none.Quantity(model.Shot).Overall.Median != 1 {
		t.Errorf("without rows: borrowed %v, factor %v", none.Pool.Parameters, none.Quantity(model.Shot).Overall)
	}
}

// What is shared recovers what a large shop was made with; spreads that its rows
// cannot tell, quantities of few rows and borrowed figures are kept back.
func TestCalibration_Share(t *testing.T) {
	s := shop{builds: 3000, makers: 40, cores: 150, scatter: 0.02, spread: map[model.Effect]float64{model.Maker: 0.03, model.CoreBatch: 0.06}}
	obs, _ := s.simulate(rand.New(rand.NewPCG(4, 4)))
	got := shotFit(obs).Share()
	want := map[model.Parameter]float64{"mean": 0.012, "residual": math.Log(0.02), "maker": math.Log(0.03), "core_batch": math.Log(0.06)}
	if len(got) != len(want) {
		t.Fatalf("shared %v", got)
	}
	for _, g := range got {
		checkNear(t, string(g.Parameter), g.Value, want[g.Parameter], math.Max(3*g.SE, 0.3))
		if g.Quantity != model.Shot || g.SE < 0 {
			t.Errorf("shared %+v", g)
		}
	}
	s = shop{builds: 12, makers: 1, cores: 3, scatter: 0.02, spread: s.spread}
	obs, _ = s.simulate(rand.New(rand.NewPCG(4, 5)))
	for _, g := range shotFit(obs).Share() {
		if g.Parameter == "maker" {
			t.Errorf("one maker tells nothing of how far makers are apart, but shared %+v", g)
		}
		if !(g.SE > 0.01) {
			t.Errorf("twelve builds are not that sure: %+v", g)
		}
	}
	if few := shotFit(obs[:asideMinRows-1]).Share(); few != nil {
		t.Errorf("%d rows shared %v", asideMinRows-1, few)
	}
	if echo := fitLog(t, workshopRows(5, 40), Options{Pool: usualPool()}).Share(); echo != nil {
		t.Errorf("a calibration that borrowed shared %v", echo)
	}
}
