package calibrate

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"trueplait/model"
)

// densePosterior is the posterior on a plain grid: points values of ln θ from
// −4.5 to 5 per effect, every combination.
func densePosterior(s *system, points int) *Posterior {
	p := &Posterior{sys: s}
	at := make([]int, len(s.effects))
	var logs []float64
	top := math.Inf(-1)
	for {
		theta := make([]float64, len(at))
		edge := 0.0
		for k, i := range at {
			theta[k] = math.Exp(-4.5 + 9.5*float64(i)/float64(points-1))
			if i == 0 || i == points-1 {
				edge -= math.Ln2
			}
		}
		sigma, l := s.solve(theta, nil).sigmaNodes(nil)
		p.nodes = append(p.nodes, node{theta: theta, sigma: sigma})
		logs = append(logs, l+edge)
		top = math.Max(top, l+edge)
		k := 0
		for k < len(at) {
			if at[k]++; at[k] < points {
				break
			}
			at[k] = 0
			k++
		}
		if k == len(at) {
			break
		}
	}
	total := 0.0
	for i := range p.nodes {
		p.nodes[i].weight = math.Exp(logs[i] - top)
		total += p.nodes[i].weight
	}
	for i := range p.nodes {
		p.nodes[i].weight /= total
	}
	return p
}

// The lattice against a dense grid: limits of a known factor, a new batch's
// next build, the overall factor and a known next build within 1 % of the
// band's width.
func TestPosterior_DenseGrid(t *testing.T) {
	tests := []struct {
		shop
		points int
	}{
		{shop{builds: 1, makers: 1, cores: 1, shots: 1, scatter: 0.02}, 25},
		{shop{builds: 3, makers: 1, cores: 1, shots: 1, scatter: 0.01}, 25},
		{shop{builds: 5, makers: 1, cores: 1, scatter: 0.025}, 49},
		{shop{builds: 8, makers: 1, cores: 2, scatter: 0.025, blank: 0.1}, 49},
		{shop{builds: 15, makers: 2, cores: 3, shots: 1, scatter: 0.01}, 33},
		{shop{builds: 40, makers: 3, cores: 6, shots: 2, scatter: 0.025, blank: 0.05}, 33},
		{shop{builds: 100, makers: 3, cores: 8, shots: 2, scatter: 0.025}, 49},
		{shop{builds: 300, makers: 3, cores: 15, scatter: 0.025}, 121},
		{shop{builds: 1000, makers: 5, cores: 60, scatter: 0.05}, 121},
	}
	for _, tt := range tests {
		t.Run(fmt.Sprintf("builds=%d", tt.builds), func(t *testing.T) {
			tt.spread = crossed.spread
			obs, _ := tt.simulate(rand.New(rand.NewPCG(8, uint64(tt.builds))))
			s := newSystem(simulated, cellsOf(obs), nil)
			known := model.Labels{Maker: "m00", CoreBatch: "c00", ShotBatch: "s00"}
			targets := []target{
				{contrast: s.contrast(known)},
				{contrast: s.contrast(model.Labels{Maker: "m00"}), next: true},
				{contrast: contrast{fixed: 1}},
				{contrast: s.contrast(known), next: true},
			}
			got := newPosterior(s, fineGrid, nil).mixtures(targets)
			want := densePosterior(s, tt.points).mixtures(targets)
			for i := range targets {
				width := want[i].Quantile(0.975) - want[i].Quantile(0.025)
				for _, p := range []float64{0.025, 0.5, 0.975} {
					checkNear(t, fmt.Sprintf("target %d quantile %g", i, p), got[i].Quantile(p), want[i].Quantile(p), 0.01*width)
				}
			}
		})
	}
}

// With one row the posterior of μ is centred on it and finite; the factor of
// the very combination built is that row's ratio.
func TestPosterior_OneRow(t *testing.T) {
	s := newSystem(simulated[:2], []model.Cell{{Labels: model.Labels{Maker: "a", CoreBatch: "b"}, N: 1, Mean: -0.1}}, nil)
	m := newPosterior(s, fineGrid, nil).mixtures([]target{{contrast: s.contrast(model.Labels{Maker: "a", CoreBatch: "b"})}})[0]
	f := m.Interval(0.95)
	checkNear(t, "factor", f.Median, math.Exp(-0.1), 1e-9)
	if !(f.Low > 0.7 && f.Low < 0.89 && f.High > 0.92 && f.High < 1.2) {
		t.Errorf("limits %v, want some per cent either side", f)
	}
}

// Equal ratios have no scatter at all; the lower limit of σ keeps the bands
// finite and open.
func TestPosterior_EqualRatios(t *testing.T) {
	s := newSystem(simulated[:1], []model.Cell{{Labels: model.Labels{Maker: "a"}, N: 6, Mean: 0.05}}, nil)
	m := newPosterior(s, fineGrid, nil).mixtures([]target{{contrast: s.contrast(model.Labels{Maker: "a"}), next: true}})[0]
	if f := m.Interval(0.95); !(f.Width() > 0.004 && f.Width() < 0.05) {
		t.Errorf("band %v, want a narrow one of some width", f)
	}
}

// The merged mixture against the components it was merged from.
func TestMixture_Merge(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	var all []normal
	for range 5000 {
		all = append(all, normal{mean: 0.03 * r.NormFloat64(), sd: 0.02 * math.Exp(0.3*r.NormFloat64()), weight: r.Float64()})
	}
	whole := &Mixture{part: all}
	total := 0.0
	for _, c := range all {
		total += c.weight
	}
	m := newMixture(append([]normal(nil), all...))
	if len(m.part) > 1200 {
		t.Errorf("%d components left", len(m.part))
	}
	for _, p := range []float64{0.005, 0.025, 0.5, 0.975, 0.995} {
		checkNear(t, fmt.Sprintf("probability at the %g quantile", p), whole.CDF(m.Quantile(p))/total, p, 2e-4)
	}
}

func TestMixture_Quantile(t *testing.T) {
	// A single normal: the quantiles of the normal distribution, NIST/SEMATECH
	// e-Handbook 1.3.6.7.1.
	m := newMixture([]normal{{mean: 2, sd: 3, weight: 1}})
	checkNear(t, "97.5 %", m.Quantile(0.975), 2+3*1.959963984540054, 1e-9)
	checkNear(t, "50 %", m.Quantile(0.5), 2, 1e-9)
	// Two far apart: the median lies in the gap's edge, and CDF inverts.
	m = newMixture([]normal{{mean: 0, sd: 0.1, weight: 0.3}, {mean: 10, sd: 0.1, weight: 0.7}})
	for _, p := range []float64{0.001, 0.2, 0.299, 0.301, 0.5, 0.999} {
		checkNear(t, "CDF of quantile", m.CDF(m.Quantile(p)), p, 1e-9)
	}
}

func BenchmarkPosterior(b *testing.B) {
	s := crossedSystem(3)
	b.ReportAllocs()
	var p *Posterior
	for b.Loop() {
		p = newPosterior(s, fineGrid, nil)
	}
	b.ReportMetric(float64(len(p.nodes)), "nodes")
}
