package demo

import (
	"fmt"
	"math"
	"strings"

	"trueplait/model"
)

// cell is a figure as someone wrote it down.
type cell struct {
	text  string
	value float64 // what the text says, g or mm; NaN: blank
}

// blank is a cell nobody filled in.
var blank = cell{value: model.Unknown}

// decimal writes x, in g or mm, in a unit of the given size.
func decimal(x, size float64, digits int, unit string) cell {
	step := math.Pow10(digits)
	rounded := math.Round(x/size*step) / step
	return cell{fmt.Sprintf("%.*f %s", digits, rounded, unit), rounded * size}
}

func grams(g float64) cell           { return decimal(g, 1, 0, "g") }
func tenthGrams(g float64) cell      { return decimal(g, 1, 1, "g") }
func tenthOunces(g float64) cell     { return decimal(g, model.GramsPerOunce, 1, "oz") }
func hundredthOunces(g float64) cell { return decimal(g, model.GramsPerOunce, 2, "oz") }
func grains(g float64) cell          { return decimal(g, model.GramsPerGrain, 0, "grain") }
func millimetres(mm float64) cell    { return decimal(mm, 1, 0, "mm") }
func centimetres(mm float64) cell    { return decimal(mm, 10, 1, "cm") }

// ounces reads to a quarter: 14 1/2 oz.
func ounces(g float64) cell {
	n := int(math.Round(g / model.GramsPerOunce * 4))
	return cell{mixed(n, 4, " ") + " oz", float64(n) / 4 * model.GramsPerOunce}
}

// poundsOunces reads to a quarter of an ounce: 1 lb 3 1/2 oz.
func poundsOunces(g float64) cell {
	n := int(math.Round(g / model.GramsPerOunce * 4))
	pounds, quarters := n/64, n%64
	var words []string
	if pounds > 0 {
		words = append(words, fmt.Sprintf("%d lb", pounds))
	}
	if quarters > 0 {
		words = append(words, mixed(quarters, 4, " ")+" oz")
	}
	return cell{strings.Join(words, " "), float64(n) / 4 * model.GramsPerOunce}
}

// inches reads to an eighth: 73 3/8 in.
func inches(mm float64) cell {
	n := eighths(mm)
	return cell{mixed(n, 8, " ") + " in", float64(n) / 8 * model.MMPerInch}
}

// inchMarks reads to an eighth: 73-3/8".
func inchMarks(mm float64) cell {
	n := eighths(mm)
	return cell{mixed(n, 8, "-") + `"`, float64(n) / 8 * model.MMPerInch}
}

// feetInches reads to an eighth: 6' 1 3/8".
func feetInches(mm float64) cell {
	n := eighths(mm)
	return cell{fmt.Sprintf(`%d' %s"`, n/96, mixed(n%96, 8, " ")), float64(n) / 8 * model.MMPerInch}
}

func eighths(mm float64) int { return int(math.Round(mm / model.MMPerInch * 8)) }

// mixed writes n parts of a whole as a mixed number in lowest terms, with gap
// between the whole and the fraction.
func mixed(n, parts int, gap string) string {
	whole, rest := n/parts, n%parts
	if rest == 0 {
		return fmt.Sprint(whole)
	}
	for rest%2 == 0 {
		rest, parts = rest/2, parts/2
	}
	if whole == 0 {
		return fmt.Sprintf("%d/%d", rest, parts)
	}
	return fmt.Sprintf("%d%s%d/%d", whole, gap, rest, parts)
}
