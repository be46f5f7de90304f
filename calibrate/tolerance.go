package calibrate

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"

	"trueplait/model"
)

// Tolerance is a two-sided normal tolerance interval: mean ∓ K s holds at
// least the share Coverage of all such builds, with the given Confidence.
type Tolerance struct {
	Coverage, Confidence float64
	K, Low, High         float64
}

// twoSidedFactor returns the exact factor k of a two-sided normal tolerance
// interval, the root of
//
//	P(Φ((x̄ + k s − μ)/σ) − Φ((x̄ − k s − μ)/σ) ≥ coverage) = confidence
//
// where x̄ is the mean of n independent builds and s has nu degrees of freedom.
// NaN for n < 2 or nu < 1. ISO 16269-6:2014, Annex F; agrees with its tables
// to their last digit.
func twoSidedFactor(n, nu, coverage, confidence float64) float64 {
	if n < 2 || nu < 1 {
		return model.Unknown
	}
	middle := distuv.UnitNormal.Quantile((1 + coverage) / 2)
	r := middle
	e := excess{nu: nu}
	e.integrate(0, farOut, func(t float64) (weight, need float64) {
		d := t / math.Sqrt(n)
		r = innerRadius(d, 1-coverage, math.Max(r, middle), middle)
		return 2 * normalDensity(t), r
	})
	return e.factor(confidence)
}

// oneSidedFactor returns the exact factor k of a one-sided limit x̄ + k s that
// the share coverage of all builds stays below with the given confidence: the
// quantile of a noncentral t distribution, t(confidence; nu, z √n)/√n with z
// the normal quantile of coverage. NaN for n < 2, nu < 1, or a coverage or
// confidence below one half.
func oneSidedFactor(n, nu, coverage, confidence float64) float64 {
	if n < 2 || nu < 1 || coverage < 0.5 || confidence < 0.5 {
		return model.Unknown
	}
	z := distuv.UnitNormal.Quantile(coverage)
	enough := z * math.Sqrt(n) // from here on the mean alone is far enough out
	e := excess{nu: nu, sure: normalCDF(-enough)}
	e.integrate(-farOut, math.Min(enough, farOut), func(t float64) (weight, need float64) {
		return normalDensity(t), z - t/math.Sqrt(n)
	})
	return e.factor(confidence)
}

// farOut is where the density of the mean no longer matters, standard errors.
const farOut = 9.0

// innerRadius is the r with Φ(d + r) − Φ(d − r) = 1 − outside, by Newton's
// method from start inside the bracket [middle, d + middle]; middle is the
// radius at d = 0.
func innerRadius(d, outside, start, middle float64) float64 {
	low, high := middle, d+middle
	r := math.Min(start, high)
	for range 100 {
		f := normalCDF(-d-r) + normalCDF(d-r) - outside // falls with r
		if f > 0 {
			low = r
		} else {
			high = r
		}
		next := r + f/(normalDensity(d+r)+normalDensity(d-r))
		if !(next >= low && next <= high) {
			next = (low + high) / 2
		}
		if math.Abs(next-r) < 1e-13*r {
			return next
		}
		r = next
	}
	return r
}

// excess is the probability that k s/σ exceeds a need r that depends on where
// the mean came out:
//
//	P(k) = sure + Σ w P(χ²_ν ≥ ν r²/k²)
type excess struct {
	nu     float64
	sure   float64
	weight []float64
	need   []float64
}

// integrate lays the nodes of a Gauss-Legendre rule from low to high.
func (e *excess) integrate(low, high float64, at func(t float64) (weight, need float64)) {
	const nodes = 96
	t, w := make([]float64, nodes), make([]float64, nodes)
	quad.Legendre{}.FixedLocations(t, w, low, high)
	for i := range t {
		weight, need := at(t[i])
		e.weight = append(e.weight, w[i]*weight)
		e.need = append(e.need, need)
	}
}

// at is P(k), and its derivative by ln k.
func (e *excess) at(k float64) (p, slope float64) {
	p = e.sure
	for i, r := range e.need {
		half := e.nu * r * r / (2 * k * k)
		p += e.weight[i] * mathext.GammaIncRegComp(e.nu/2, half)
		lg, _ := math.Lgamma(e.nu / 2)
		slope += e.weight[i] * 2 * math.Exp(e.nu/2*math.Log(half)-half-lg)
	}
	return p, slope
}

// factor is the k with P(k) = confidence.
func (e *excess) factor(confidence float64) float64 {
	log, low, high := 0.0, math.Inf(-1), math.Inf(1)
	for range 200 {
		p, slope := e.at(math.Exp(log))
		if p < confidence {
			low = log
		} else {
			high = log
		}
		next := log + (confidence-p)/slope
		// a step of over 1 is a guess where P is flat
		if !(next > low && next < high && math.Abs(next-log) <= 1) {
			switch {
			case math.IsInf(low, -1):
				next = log - 1
			case math.IsInf(high, 1):
				next = log + 1
			default:
				next = (low + high) / 2
			}
		}
		if math.Abs(next-log) < 1e-12 {
			return math.Exp(next)
		}
		log = next
	}
	return math.Exp(log)
}

func normalCDF(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }

func normalDensity(z float64) float64 { return math.Exp(-z*z/2) / math.Sqrt(2*math.Pi) }
