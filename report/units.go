package report

import (
	"fmt"
	"math"
	"strings"

	"trueplait/model"
)

// Units says in which units figures are shown to people. JSON is always in
// grams and millimetres.
type Units string

// The choices of units. The zero value is Both.
const (
	Both     Units = "both"
	Metric   Units = "metric"
	Imperial Units = "imperial"
)

// Style is how a result is shown.
type Style struct {
	Units Units
	Width int // columns of the terminal; 0: 80
}

func (s Style) columns() int {
	if s.Width <= 0 {
		return 80
	}
	return s.Width
}

// dash stands for a figure that does not exist.
const dash = "–"

// Mass returns g grams in words: "411 g (14 1/2 oz)".
//
// Grams have one decimal below 100 and none above. Ounces are rounded to the
// nearest eighth, halves away from zero; from 2 lb up they are pounds and
// ounces; what rounds to nothing is "under 1/8 oz". NaN and infinities are an
// en dash.
func Mass(g float64, u Units) string {
	return inUnits(u, g, "g", ounces)
}

// Length returns mm millimetres in words: "1869 mm (73 5/8 in)".
//
// Millimetres have one decimal below 100 and none above. Inches are rounded to
// the nearest eighth and stay inches at any length, as they are read from a
// tape. NaN and infinities are an en dash.
func Length(mm float64, u Units) string {
	return inUnits(u, mm, "mm", inches)
}

// size shows a figure of q: a mass or a length.
func size(q model.Quantity, x float64, u Units) string {
	if q.Dimension() == model.LengthDimension {
		return Length(x, u)
	}
	return Mass(x, u)
}

// one is the unit for tables that have no room for two.
func one(u Units) Units {
	if u == Imperial {
		return Imperial
	}
	return Metric
}

func inUnits(u Units, x float64, unit string, imperial func(float64) string) string {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return dash
	}
	metric := digits(x) + " " + unit
	switch u {
	case Metric:
		return metric
	case Imperial:
		return imperial(x)
	}
	return metric + " (" + imperial(x) + ")"
}

// digits prints x with the digits a workshop scale or tape supports.
func digits(x float64) string {
	if math.Abs(x) < 99.95 { // what would not print as 100.0
		return signed(x, 1)
	}
	return signed(x, 0)
}

// signed prints x with a true minus sign, and no minus before a zero.
func signed(x float64, decimals int) string {
	s := fmt.Sprintf("%.*f", decimals, math.Abs(x))
	if x < 0 && strings.Trim(s, "0.") != "" {
		return "−" + s
	}
	return s
}

func ounces(g float64) string {
	eighths := math.Round(math.Abs(g) / model.GramsPerOunce * 8)
	if eighths < 2*16*8 {
		return withSign(g, eighths, fraction(eighths)+" oz", "oz")
	}
	pounds := math.Floor(eighths / (16 * 8))
	text := fmt.Sprintf("%.0f lb", pounds)
	if rest := eighths - pounds*16*8; rest > 0 {
		text += " " + fraction(rest) + " oz"
	}
	return withSign(g, eighths, text, "oz")
}

func inches(mm float64) string {
	eighths := math.Round(math.Abs(mm) / model.MMPerInch * 8)
	return withSign(mm, eighths, fraction(eighths)+" in", "in")
}

func withSign(x, eighths float64, text, unit string) string {
	switch {
	case eighths == 0 && x != 0:
		return "under 1/8 " + unit
	case x < 0:
		return "−" + text
	}
	return text
}

// fraction prints a number of eighths in lowest terms: 116 is "14 1/2".
func fraction(eighths float64) string {
	whole := math.Floor(eighths / 8)
	parts := [8]string{"", "1/8", "1/4", "3/8", "1/2", "5/8", "3/4", "7/8"}
	part := parts[int(eighths-whole*8)]
	switch {
	case part == "":
		return fmt.Sprintf("%.0f", whole)
	case whole == 0:
		return part
	}
	return fmt.Sprintf("%.0f %s", whole, part)
}
