package calibrate

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"trueplait/model"
)

// Capability compares a line's scatter with the limits promised today. Ratios
// of 1 mean that three standard deviations just fit; those that need a limit
// that is not stated are NaN.
//
// Cp and Cpk take the scatter from one build to the next, Pp and Ppk that of
// all builds, drift and batches included.
type Capability struct {
	Low, High float64 // the limits, g or mm; NaN: not stated

	Cp, Cpk           float64
	Pp, PpLow, PpHigh float64
	Ppk               float64
	PpkLow, PpkHigh   float64

	Outside       int     // builds outside the limits; one on a limit is inside
	OutsideShare  float64 // of the builds
	ExpectedShare float64 // of a normal distribution with the builds' mean and scatter

	// Bound is, where only one limit is stated, the one-sided tolerance limit
	// on that side.
	Bound float64
}

// capability judges x, of the given mean and scatters, by limits of which at
// least one is known. With D = High − Low,
//
//	Pp = D/6s, Ppk = min(High − mean, mean − Low)/3s
//
// and likewise Cp, Cpk from the moving range. Limits of Pp are exact for
// independent normal builds, Pp √(χ²(α/2; n−1)/(n−1)); those of Ppk are
// approximate, Ppk ∓ z √(1/9n + Ppk²/2(n−1)): A. F. Bissell (1990), Appl.
// Stat. 39, 331.
func capability(x []float64, mean, sdMovingRange, sd, low, high, confidence float64) *Capability {
	n := float64(len(x))
	c := &Capability{Low: low, High: high, Bound: model.Unknown}
	for _, v := range x {
		if v < low || v > high {
			c.Outside++
		}
	}
	c.OutsideShare = float64(c.Outside) / n
	c.Cp, c.Cpk = potential(mean, sdMovingRange, low, high)
	c.Pp, c.Ppk = potential(mean, sd, low, high)
	c.PpLow, c.PpHigh = ppLimits(c.Pp, n, confidence)
	c.PpkLow, c.PpkHigh = ppkLimits(c.Ppk, n, confidence)
	c.ExpectedShare = 0
	if model.Known(low) {
		c.ExpectedShare += normalCDF((low - mean) / sd)
	}
	if model.Known(high) {
		c.ExpectedShare += normalCDF((mean - high) / sd)
	}
	if !(sd > 0) {
		c.ExpectedShare = model.Unknown
	}
	return c
}

// potential is D/6s, and the smaller distance to a limit over 3s; NaN without
// scatter or without the limits it takes.
func potential(mean, sd, low, high float64) (both, nearer float64) {
	if !(sd > 0) {
		return model.Unknown, model.Unknown
	}
	below, above := (mean-low)/(3*sd), (high-mean)/(3*sd)
	switch {
	case !model.Known(low):
		nearer = above
	case !model.Known(high):
		nearer = below
	default:
		nearer = math.Min(below, above)
	}
	return (high - low) / (6 * sd), nearer
}

// ppLimits are the exact limits of Pp from n builds.
func ppLimits(pp, n, confidence float64) (low, high float64) {
	if n < 2 || !model.Known(pp) {
		return model.Unknown, model.Unknown
	}
	chi := distuv.ChiSquared{K: n - 1}
	return pp * math.Sqrt(chi.Quantile((1-confidence)/2)/(n-1)), pp * math.Sqrt(chi.Quantile((1+confidence)/2)/(n-1))
}

// ppkLimits are Bissell's limits of Ppk from n builds.
func ppkLimits(ppk, n, confidence float64) (low, high float64) {
	if n < 2 || !model.Known(ppk) {
		return model.Unknown, model.Unknown
	}
	half := distuv.UnitNormal.Quantile((1+confidence)/2) * math.Sqrt(1/(9*n)+ppk*ppk/(2*(n-1)))
	return ppk - half, ppk + half
}
