package calibrate

import (
	"cmp"
	"math"
	"slices"
)

// sum is the distribution of shot + body, in grams, of one build:
//
//	W = a·exp(X) + b·exp(Y)
//
// X and Y are mixtures of normals in log units, a and b the base figures. The
// effects of shot and body are independent; their scatters are correlated by
// rho, so that given two components cov(X, Y) = rho σ_X σ_Y.
//
// X and the two components are taken over fixed low-discrepancy points; given
// them, P(W ≤ w) is a normal probability of Y, so the distribution is smooth
// and the same each time.
type sum struct {
	b     float64
	draws []sumDraw
}

// sumDraw is one point: the mass of shot, and the mean and sd of Y given it.
type sumDraw struct {
	shot, mean, sd float64
}

// The numbers of points: enough for limits within 0.1 g. What is hardly known
// yet, a first batch, takes more of them than what is known within some grams.
const (
	sumPoints     = 4096
	sumPointsWide = 16384
	sumWide       = 20.0 // g, standard deviation
)

// newSum returns the distribution of a·exp(X) + b·exp(Y); a and b are in g.
func newSum(a float64, x *Mixture, b float64, y *Mixture, rho float64) *sum {
	points := sumPoints
	if math.Hypot(a*math.Exp(x.mean)*x.sd, b*math.Exp(y.mean)*y.sd) > sumWide {
		points = sumPointsWide
	}
	s := &sum{b: b, draws: make([]sumDraw, points)}
	px, py := newPicker(x), newPicker(y)
	// Even steps, and an additive recurrence with the plastic number of two
	// dimensions, the root of t³ = t + 1: M. Roberts (2018), "The unreasonable
	// effectiveness of quasirandom sequences".
	const t = 1.324717957244746
	for i := range s.draws {
		u := frac(0.5 + float64(i+1)/t)
		v := frac(0.5 + float64(i+1)/(t*t))
		w := (float64(i) + 0.5) / float64(points)
		cx, cy := px.pick(u), py.pick(v)
		z := math.Sqrt2 * math.Erfinv(2*w-1)
		slope := rho * cx.sigma * cy.sigma / cx.sd // of Y on X's standard normal
		s.draws[i] = sumDraw{
			shot: a * math.Exp(cx.mean+cx.sd*z),
			mean: cy.mean + slope*z,
			sd:   math.Sqrt(cy.sd*cy.sd - slope*slope),
		}
	}
	return s
}

func frac(x float64) float64 { return x - math.Floor(x) }

// cdf is P(W ≤ w), and density its derivative per gram.
func (s *sum) cdf(w float64) (p, density float64) {
	for i := range s.draws {
		d := &s.draws[i]
		rest := (w - d.shot) / s.b
		if rest <= 0 {
			continue
		}
		z := (math.Log(rest) - d.mean) / d.sd
		p += 0.5 * math.Erfc(-z/math.Sqrt2)
		density += math.Exp(-z*z/2) / (d.sd * (w - d.shot))
	}
	n := float64(len(s.draws))
	return p / n, density / (n * math.Sqrt(2*math.Pi))
}

// quantile is the w with P(W ≤ w) = p, in g, to a thousandth of a gram.
func (s *sum) quantile(p float64) float64 {
	var mean, square float64
	n := float64(len(s.draws))
	for i := range s.draws {
		d := &s.draws[i]
		w := d.shot + s.b*math.Exp(d.mean)
		mean += w / n
		square += (w*w + math.Pow(s.b*math.Exp(d.mean)*d.sd, 2)) / n
	}
	sd := math.Sqrt(math.Max(square-mean*mean, 1e-12))
	w := mean + sd*math.Sqrt2*math.Erfinv(2*p-1)
	lo, hi := 0.0, math.Inf(1)
	for range 100 {
		f, d := s.cdf(w)
		if f > p {
			hi = w
		} else {
			lo = w
		}
		next := w - (f-p)/d
		if !(next > lo && next < hi) { // outside the bracket, or no density there
			if math.IsInf(hi, 1) {
				next = w + sd
			} else {
				next = (lo + hi) / 2
			}
		}
		if math.Abs(next-w) < 1e-4 {
			return next
		}
		w = next
	}
	return w
}

// sumInterval is the band of shot + body where many are wanted, as in a proof.
// Where both are known within some per cent, each pair of their components is
// taken for a log-normal; that is within 0.1 g too, in a hundredth of the time.
func sumInterval(shot, body scaled, rho float64) Interval {
	const narrow = 0.1 // log units
	if max(shot.ratio.sd, body.ratio.sd) < narrow {
		return logSums(shot, body, rho).Interval(bandCoverage)
	}
	s := newSum(shot.base, shot.ratio, body.base, body.ratio, rho)
	tail := (1 - bandCoverage) / 2
	return Interval{s.quantile(0.5), s.quantile(tail), s.quantile(1 - tail)}
}

// logSums is the distribution of ln(shot + body).
func logSums(shot, body scaled, rho float64) *Mixture {
	all := make([]normal, 0, len(shot.ratio.part)*len(body.ratio.part))
	a, b := math.Log(shot.base), math.Log(body.base)
	for _, x := range shot.ratio.part {
		for _, y := range body.ratio.part {
			s := logSum(batch{a + x.mean, x.sd}, batch{b + y.mean, y.sd}, rho*x.sigma*y.sigma)
			all = append(all, normal{mean: s.mean, sd: s.sd, weight: x.weight * y.weight})
		}
	}
	return newMixture(all)
}

// picker chooses components by their share of the weight, in order of their
// spread, so that a smooth sequence picks smoothly.
type picker struct {
	part []normal
	upTo []float64
}

func newPicker(m *Mixture) *picker {
	p := &picker{part: slices.Clone(m.part)}
	slices.SortFunc(p.part, func(a, b normal) int {
		return cmp.Or(cmp.Compare(a.sd, b.sd), cmp.Compare(a.mean, b.mean))
	})
	total := 0.0
	for _, c := range p.part {
		total += c.weight
		p.upTo = append(p.upTo, total)
	}
	return p
}

func (p *picker) pick(u float64) normal {
	i, _ := slices.BinarySearch(p.upTo, u*p.upTo[len(p.upTo)-1])
	return p.part[min(i, len(p.part)-1)]
}
