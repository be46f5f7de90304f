package model

import "math"

// MaxSolidFraction is the densest that equal spheres can lie, π/(3√2): no
// load of shot, however measured, is denser. Hales (2005), Ann Math 162:1065.
const MaxSolidFraction = math.Pi / (3 * math.Sqrt2)

// widestZigzag is the ratio of tube to sphere, 1+√3/2, up to which spheres can
// do no better than lie left and right in one plane.
const widestZigzag = 1 + 0.86602540378443864676

// SolidFraction returns the share φ of a tube's inside that shot fills, for
// the ratio R of the tube's inside diameter to the diameter of the shot.
//
// It is the correlation of Dixon (1988), Can J Chem Eng 66:705-708. With
// l = 1/R its void fraction is
//
//	0.4 + 0.05 l + 0.412 l²        l ≤ 0.5
//	0.528 + 2.464 (l − 0.5)        0.5 ≤ l ≤ 0.536
//	1 − 0.667 l³/√(2l − 1)         l ≥ 0.536
//
// The third is a zigzag with 0.667 for 2/3; here it is exact, and goes up to
// R = 1+√3/2, where it is 0.2 % below the second. φ falls and rises with R. It
// is NaN for R < 1: the shot does not fit.
func SolidFraction(ratio float64) float64 {
	l := 1 / ratio
	switch {
	case !(ratio >= 1):
		return Unknown
	case ratio <= widestZigzag:
		return zigzag(ratio)
	case ratio < 2:
		return 1 - (0.528 + 2.464*(l-0.5))
	default:
		return 1 - (0.4 + 0.05*l + 0.412*l*l)
	}
}

// zigzag is the solid fraction of spheres that lie left and right in one
// plane, each against the wall and its two neighbours, for 1 ≤ R ≤ 1+√3/2:
//
//	φ = (2/3) / (R² √(1−(R−1)²))
//
// One sphere, π d³/6, takes up a length d √(1−(R−1)²) of tube. It is the
// densest packing there: Mughal, Chan, Weaire, Hutzler (2012), Phys Rev E
// 85:051305.
func zigzag(ratio float64) float64 {
	return 2.0 / 3 / (ratio * ratio * math.Sqrt(1-(ratio-1)*(ratio-1)))
}

// The standard uncertainties of a load that was never weighed.
const (
	// packingUncertainty is that of φ: correlations of random beds differ by
	// 0.03 to 0.06 either way between ratios 2 and 6.
	packingUncertainty = 0.045
	// boreUncertainty is the relative one that a braided bore brings; common
	// practice, no source.
	boreUncertainty = 0.05
)

// loadUncertainty is the relative standard uncertainty of a load whose solid
// fraction φ is worked out, not weighed: √((0.045/φ)² + 0.05²).
func loadUncertainty(fraction float64) float64 {
	return math.Hypot(packingUncertainty/fraction, boreUncertainty)
}
