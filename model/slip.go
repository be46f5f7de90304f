package model

import (
	"fmt"
	"math"
)

// A Slip is a ratio of measured to base that a figure gets when it is
// written down in the wrong unit, or with a slipped decimal point.
type Slip struct {
	Ratio float64 // measured/base
	Guess string  // "looks like ounces entered as grams"
}

// SlipTolerance is how far ln(measured/base) may lie from the logarithm of a
// slip's ratio and still be taken for it.
const SlipTolerance = 0.20

// slips lists, per dimension, the ratio s > 1, what was written down where
// measured/base is s, and where it is 1/s.
var slips = map[Dimension][]struct {
	ratio          float64
	tooBig, toLess string
}{
	MassDimension: {
		{10, "a decimal point too far right", "a decimal point too far left"},
		{15.43, "grains entered as grams", "grams entered as grains"},
		{16, "ounces entered as pounds", "pounds entered as ounces"},
		{28.35, "grams entered as ounces", "ounces entered as grams"},
		{453.6, "grams entered as pounds", "pounds entered as grams"},
		{1000, "grams entered as kilograms", "kilograms entered as grams"},
	},
	LengthDimension: {
		{2.54, "centimetres entered as inches", "inches entered as centimetres"},
		{10, "millimetres entered as centimetres", "centimetres entered as millimetres"},
		{12, "inches entered as feet", "feet entered as inches"},
		{25.4, "millimetres entered as inches", "inches entered as millimetres"},
		{30.48, "centimetres entered as feet", "feet entered as centimetres"},
		{304.8, "millimetres entered as feet", "feet entered as millimetres"},
		{1000, "millimetres entered as metres", "metres entered as millimetres"},
	},
}

// IsSlip reports whether ratio = measured/base looks like a slip of units.
func IsSlip(d Dimension, ratio float64) bool {
	if !(ratio > 0) {
		return false
	}
	a := math.Abs(math.Log(ratio))
	for _, s := range slips[d] {
		if math.Abs(a-math.Log(s.ratio)) <= SlipTolerance {
			return true
		}
	}
	return false
}

// GuessSlip names the slip nearest, on a log scale, to ratio over overall, the
// factor by which honest measurements differ from their base.
func GuessSlip(d Dimension, ratio, overall float64) Slip {
	x := math.Log(ratio / overall)
	best, distance := Slip{}, math.Inf(1)
	for _, s := range slips[d] {
		if e := math.Abs(x - math.Log(s.ratio)); e < distance {
			best, distance = Slip{s.ratio, "looks like " + s.tooBig}, e
		}
		if e := math.Abs(x + math.Log(s.ratio)); e < distance {
			best, distance = Slip{1 / s.ratio, "looks like " + s.toLess}, e
		}
	}
	return best
}

// SlipRatios returns the ratios above 1 of a dimension's slips, for those who
// must state them in another language.
func SlipRatios(d Dimension) []float64 {
	var out []float64
	for _, s := range slips[d] {
		out = append(out, s.ratio)
	}
	return out
}

// String is the guess with its ratio: "looks like ounces entered as grams
// (1/28.35)".
func (s Slip) String() string {
	if s.Ratio < 1 {
		return fmt.Sprintf("%s (1/%.4g)", s.Guess, 1/s.Ratio)
	}
	return fmt.Sprintf("%s (%.4g times)", s.Guess, s.Ratio)
}
