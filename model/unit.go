package model

import "math"

// Dimension is what kind of size a column holds.
type Dimension int

// The dimensions of columns. A column of one dimension refuses the units of
// another.
const (
	NoDimension      Dimension = iota // a count, a factor, a percentage, text
	MassDimension                     // grams inside
	LengthDimension                   // millimetres inside
	LinearMass                        // mass per length, grams per metre inside
	DensityDimension                  // grams per cubic centimetre inside
	AngleDimension                    // degrees inside
)

// Exact conversions. NIST SP 811 (2008), Appendix B.8; the international inch
// and the avoirdupois pound are exact by definition.
const (
	MMPerInch     = 25.4
	MMPerFoot     = 304.8
	GramsPerPound = 453.59237
	GramsPerOunce = GramsPerPound / 16
	GramsPerGrain = GramsPerPound / 7000
)

// Unknown is the value of a figure that was not recorded or cannot be given.
// Every optional float64 of the project is NaN then, NULL in SQL, null in JSON.
var Unknown = math.NaN()

// Known reports whether an optional figure is there.
func Known(x float64) bool { return !math.IsNaN(x) }
