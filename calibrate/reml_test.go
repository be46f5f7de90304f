package calibrate

import (
	"math"
	"math/rand/v2"
	"testing"

	"trueplait/model"
)

// crossed is a middle-sized shop with every effect and some blanks.
var crossed = shop{
	builds: 60, makers: 3, cores: 8, shots: 3, products: 5, scatter: 0.025, blank: 0.1,
	spread: map[model.Effect]float64{model.Maker: 0.03, model.CoreBatch: 0.06, model.ShotBatch: 0.02, model.Product: 0.03},
}

func crossedSystem(seed uint64) *system {
	obs, _ := crossed.simulate(rand.New(rand.NewPCG(seed, 1)))
	return newSystem(simulated, cellsOf(obs), nil)
}

// The exact gradient against central differences of the criterion, blanks and
// an eliminated effect included.
func TestGradient_FiniteDifferences(t *testing.T) {
	s := crossedSystem(3)
	for _, theta := range [][]float64{{1, 1, 1, 1}, {0.2, 3, 0.05, 0.7}, {0, 2, 0.5, 0}} {
		g := make([]float64, 4)
		s.solve(theta, nil).gradient(g)
		for k := range theta {
			const h = 1e-5
			up, down := append([]float64(nil), theta...), append([]float64(nil), theta...)
			up[k] += h
			down[k] -= h
			slope := (s.solve(up, nil).criterion() - s.solve(down, nil).criterion()) / (2 * h)
			checkNear(t, "slope", g[k], theta[k]*slope, 1e-6*(1+math.Abs(g[k])))
		}
	}
}

// The criterion against its definition: the covariance matrix in full, with
// blanks as levels of their own, factorized densely.
func TestCriterion_Definition(t *testing.T) {
	obs, _ := shop{builds: 14, makers: 2, cores: 4, shots: 2, products: 3, scatter: 0.02, blank: 0.25, spread: crossed.spread}.simulate(rand.New(rand.NewPCG(5, 5)))
	s := newSystem(simulated, cellsOf(obs), nil)
	for _, theta := range [][]float64{{1, 2, 0.5, 0.3}, {0, 0, 0, 0}, {0.1, 5, 0, 2}} {
		checkNear(t, "criterion", s.solve(theta, nil).criterion(), denseCriterion(obs, theta), 1e-9)
	}
}

// denseCriterion is −2 × the restricted log-likelihood with σ² profiled out,
// from the N × N covariance V = I + Σ θ_k² Z_k Z_kᵀ.
func denseCriterion(obs []model.Observation, theta []float64) float64 {
	n := len(obs)
	v := make([]float64, n*n)
	for i := range n {
		for j := range n {
			if i == j {
				v[i*n+j] = 1
			}
			for k, e := range simulated {
				same := obs[i].Labels.Get(e) == obs[j].Labels.Get(e) && obs[i].Labels.Get(e) != ""
				if same || i == j {
					v[i*n+j] += theta[k] * theta[k]
				}
			}
		}
	}
	inv := make([]float64, n*n)
	logDet := cholesky(v, n)
	invertFactored(v, inv, make([]float64, n*n), n)
	var one, y, yy float64 // 1ᵀV⁻¹1, 1ᵀV⁻¹y, yᵀV⁻¹y
	for i := range n {
		for j := range n {
			one += inv[i*n+j]
			y += inv[i*n+j] * obs[j].Y
			yy += obs[i].Y * inv[i*n+j] * obs[j].Y
		}
	}
	df := float64(n - 1)
	return logDet + math.Log(one) + df*(1+math.Log(2*math.Pi*(yy-y*y/one)/df))
}

// At the optimum no component wants to move: the gradient is nearly zero where
// θ > 0, and does not point inwards where θ = 0.
func TestREML_Stationary(t *testing.T) {
	for seed := range uint64(20) {
		s := crossedSystem(seed)
		fit := s.fitREML(nil)
		g := make([]float64, 4)
		fit.gradient(g)
		for k, x := range fit.theta {
			if math.Abs(g[k]) > 1e-6 {
				t.Errorf("seed %d: θ[%d] = %g has slope %g", seed, k, x, g[k])
			}
			if x == 0 {
				try := append([]float64(nil), fit.theta...)
				try[k] = 0.02
				if d := s.solve(try, nil).criterion(); d < fit.criterion-1e-9 {
					t.Errorf("seed %d: θ[%d] = 0 is not the optimum: %.12g at 0.02, %.12g at 0", seed, k, d, fit.criterion)
				}
			}
		}
		// A coarse search finds nothing better.
		r := rand.New(rand.NewPCG(seed, 9))
		for range 300 {
			try := make([]float64, 4)
			for k := range try {
				try[k] = math.Exp(3*r.NormFloat64()) * float64(r.IntN(2))
			}
			if d := s.solve(try, nil).criterion(); d < fit.criterion-1e-9 {
				t.Errorf("seed %d: criterion %.12g at %v, below the fit's %.12g", seed, d, try, fit.criterion)
			}
		}
	}
}

// Adding a constant to every y moves the mean alone; scaling y scales every
// spread.
func TestREML_Equivariant(t *testing.T) {
	cells := func(scale, shift float64) []model.Cell {
		obs, _ := crossed.simulate(rand.New(rand.NewPCG(4, 1)))
		out := cellsOf(obs)
		for i := range out {
			out[i].Mean = scale*out[i].Mean + shift
		}
		return out
	}
	a := newSystem(simulated, cells(1, 0), nil).fitREML(nil).report()
	b := newSystem(simulated, cells(1, 5), nil).fitREML(nil).report()
	c := newSystem(simulated, cells(100, 0), nil).fitREML(nil).report()
	checkNear(t, "shifted mean", b.Mean, a.Mean+5, 1e-9)
	checkNear(t, "shifted residual", b.Residual, a.Residual, 1e-9)
	checkNear(t, "scaled residual", c.Residual, 100*a.Residual, 1e-6)
	for e, sd := range a.SD {
		checkNear(t, "shifted sd", b.SD[e], sd, 1e-8)
		checkNear(t, "scaled sd", c.SD[e], 100*sd, 1e-5)
	}
}

func TestREML_Edges(t *testing.T) {
	cell := func(maker string, y float64) model.Cell {
		return model.Cell{Kind: model.Builds, Labels: model.Labels{Maker: maker}, N: 1, Mean: y}
	}
	tests := []struct {
		name     string
		cells    []model.Cell
		fits     bool
		sdAbsent bool
	}{
		{"no rows", nil, false, false},
		{"one row", []model.Cell{cell("a", 0.1)}, false, false},
		{"equal rows", []model.Cell{cell("a", 0.1), cell("a", 0.1), cell("b", 0.1)}, false, false},
		{"one level", []model.Cell{cell("a", 0.1), cell("a", 0.2)}, true, true},
		{"as many levels as rows", []model.Cell{cell("a", 0.1), cell("b", 0.2), cell("c", 0.4)}, true, true},
		{"two levels", []model.Cell{cell("a", 0.1), cell("a", 0.12), cell("b", 0.4)}, true, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			fit := newSystem([]model.Effect{model.Maker}, tt.cells, nil).fitREML(nil)
			if (fit != nil) != tt.fits {
				t.Fatalf("fit = %v, want a fit: %v", fit, tt.fits)
			}
			if fit == nil {
				return
			}
			if got := math.IsNaN(fit.report().SD[model.Maker]); got != tt.sdAbsent {
				t.Errorf("sd absent = %v, want %v", got, tt.sdAbsent)
			}
		})
	}
}

func BenchmarkREML(b *testing.B) {
	s := crossedSystem(3)
	b.ReportAllocs()
	var fit *remlFit
	for b.Loop() {
		fit = s.fitREML(nil)
	}
	if fit == nil || math.IsNaN(fit.criterion) {
		b.Fatal("no fit")
	}
}
