package reference

import _ "embed"

//go:embed cord.csv
var cordCSV string

// Cord is one kind of nylon cord as bought.
type Cord struct {
	Name            string  // "type III"
	Kind            string  // "maximum": GramsPerM is the most the specification allows; "nominal": as listed for sale
	StrengthLbf     float64 // minimum, pounds-force
	MinFeetPerPound float64 // what the specification prints; NaN for nominal rows
	GramsPerM       float64
	CoreYarns       string // "7 to 9", "none" for coreless; "": not known
	Provenance
}

// Cords lists the types of MIL-C-5040H and some nylon cords listed for sale.
//
// The specification states the least feet per pound, so its grams per metre
// are the most a cord may have: 453.59237/(0.3048 × feet per pound). Cord as
// bought is often lighter: weigh it.
func Cords() []Cord {
	return must(parseCords(cordCSV))
}

func parseCords(text string) ([]Cord, error) {
	return read("cord.csv", text, "cord,kind,min_strength_lbf,min_ft_per_lb,g_per_m,core_yarns,source,status", func(c *cells) Cord {
		return Cord{
			Name:            c.name(),
			Kind:            c.name(),
			StrengthLbf:     c.number(),
			MinFeetPerPound: c.optional(),
			GramsPerM:       c.number(),
			CoreYarns:       c.text(),
			Provenance:      c.provenance(),
		}
	})
}
