package ingest

import (
	"strings"

	"trueplait/model"
)

// unit is a unit of measure as makers write it. The zero unit is none.
//
// One of it is over/under of the unit that package model keeps the dimension
// in, both whole numbers: multiplied first and divided once, an amount that
// binary can hold (8 1/2 in, 1 lb 3 1/2 oz) is converted without any error but
// the last rounding, so that every way to write a length gives one number.
type unit struct {
	symbol      string
	dimension   model.Dimension
	over, under float64
}

// The units. Conversions are exact: NIST SP 811 (2008), Appendix B.8.
var (
	gram     = unit{"g", model.MassDimension, 1, 1}
	kilogram = unit{"kg", model.MassDimension, 1000, 1}
	ounce    = unit{"oz", model.MassDimension, 45359237, 16 * 1e5}
	pound    = unit{"lb", model.MassDimension, 45359237, 1e5}
	grain    = unit{"grain", model.MassDimension, 45359237, 7000 * 1e5}

	millimetre = unit{"mm", model.LengthDimension, 1, 1}
	centimetre = unit{"cm", model.LengthDimension, 10, 1}
	metre      = unit{"m", model.LengthDimension, 1000, 1}
	inch       = unit{"in", model.LengthDimension, 254, 10}
	foot       = unit{"ft", model.LengthDimension, 3048, 10}

	gramPerMetre = unit{"g/m", model.LinearMass, 1, 1}
	gramPerFoot  = unit{"g/ft", model.LinearMass, 10000, 3048}
	ouncePerFoot = unit{"oz/ft", model.LinearMass, 45359237, 16 * 3048 * 10}

	gramPerCM3 = unit{"g/cm³", model.DensityDimension, 1, 1}
	degree     = unit{"deg", model.AngleDimension, 1, 1}
	one        = unit{"", model.NoDimension, 1, 1}
	percent    = unit{"%", model.NoDimension, 1, 100}
)

// unitNamed returns the unit of a name in lower case, written as in a cell
// ("oz", "g/cm³") or as in a header ("g_cm3").
func unitNamed(name string) (unit, bool) {
	switch name {
	case "g", "gram", "grams", "gramme", "grammes":
		return gram, true
	case "kg", "kilogram", "kilograms", "kilogramme", "kilogrammes":
		return kilogram, true
	case "oz", "ounce", "ounces":
		return ounce, true
	case "lb", "lbs", "pound", "pounds":
		return pound, true
	case "grain", "grains":
		return grain, true
	case "mm", "millimetre", "millimetres", "millimeter", "millimeters":
		return millimetre, true
	case "cm", "centimetre", "centimetres", "centimeter", "centimeters":
		return centimetre, true
	case "m", "metre", "metres", "meter", "meters":
		return metre, true
	case "in", "inch", "inches", `"`, "''", "″", "”", "′′", "’’":
		return inch, true
	case "ft", "foot", "feet", "'", "′", "’":
		return foot, true
	case "g/m", "g_m":
		return gramPerMetre, true
	case "g/ft", "g_ft":
		return gramPerFoot, true
	case "oz/ft", "oz_ft":
		return ouncePerFoot, true
	case "g/cm³", "g/cm3", "g_cm3":
		return gramPerCM3, true
	case "deg", "degree", "degrees", "°":
		return degree, true
	case "%", "percent", "%_rh", "rh":
		return percent, true
	}
	return unit{}, false
}

// suffix is the unit at the end of a header: "_g_cm3", "" for a plain number.
func (u unit) suffix() string {
	if u.dimension == model.NoDimension {
		return ""
	}
	return "_" + normalise(u.symbol)
}

// takes says which units a dimension has: "a mass takes g, kg, oz, lb or
// grain".
func takes(d model.Dimension) string {
	switch d {
	case model.MassDimension:
		return "a mass takes g, kg, oz, lb or grain"
	case model.LengthDimension:
		return "a length takes mm, cm, m, in or ft"
	case model.LinearMass:
		return "a mass per length takes g/m, g/ft or oz/ft"
	case model.DensityDimension:
		return "a density takes g/cm³"
	case model.AngleDimension:
		return "an angle takes deg"
	}
	return "this is a plain number or %"
}

// wrongUnit is the trouble with a unit name that a column of dimension d
// cannot have.
func wrongUnit(name string, d model.Dimension) error {
	if strings.EqualFold(name, "gr") {
		return troublef(ErrUnit, "is in %q, which may be grams or grains: write g or grain", name)
	}
	if u, ok := unitNamed(strings.ToLower(name)); ok {
		return troublef(ErrUnit, "is in %s, a unit of %s: %s", name, dimensionNoun(u.dimension), takes(d))
	}
	return troublef(ErrUnit, "is in %s, which is no unit known: %s", quote(name), takes(d))
}

func dimensionNoun(d model.Dimension) string {
	switch d {
	case model.MassDimension:
		return "mass"
	case model.LengthDimension:
		return "length"
	case model.LinearMass:
		return "mass per length"
	case model.DensityDimension:
		return "density"
	case model.AngleDimension:
		return "angle"
	}
	return "shares"
}
