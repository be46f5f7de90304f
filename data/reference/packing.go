package reference

import _ "embed"

//go:embed packing.csv
var packingCSV string

// Packing is the solid fraction of equal spheres in a tube, or in bulk.
type Packing struct {
	// Kind is the structure or correlation: "exact zigzag", "exact layers of
	// 3", "layers of 3", "Dixon 1988", "simple cubic".
	Kind     string
	Ratio    float64 // inside diameter of the tube / diameter of a sphere; NaN: in bulk
	Fraction float64 // volume of spheres / volume of tube
	Formula  string  // R is the ratio, l = 1/R, eps = 1 − fraction
	Provenance
}

// Packings lists published and exact solid fractions: structures that can be
// worked out, correlations for random beds, and limits in bulk.
//
// Correlations of random beds differ among themselves by 0.03 to 0.06 either
// way between ratios 2 and 6, which is a fair measure of what none of them
// knows about shot settled by hand in braided cord.
func Packings() []Packing {
	return must(parsePackings(packingCSV))
}

func parsePackings(text string) ([]Packing, error) {
	return read("packing.csv", text, "kind,ratio,fraction,formula,source,status", func(c *cells) Packing {
		return Packing{
			Kind:       c.name(),
			Ratio:      c.optional(),
			Fraction:   c.number(),
			Formula:    c.text(),
			Provenance: c.provenance(),
		}
	})
}
