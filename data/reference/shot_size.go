package reference

import (
	_ "embed"

	"trueplait/model"
)

//go:embed shot_sizes.csv
var shotSizesCSV string

// ShotSize is one size of shot.
type ShotSize struct {
	Name       string // "9", "7.5", "BB"
	DiameterMM float64

	// Pellets in an ounce of 28.349523125 g as makers of cartridges print
	// them; NaN where none was found or the printed one cannot be right.
	LeadPerOunce  float64
	SteelPerOunce float64

	Note string
	Provenance
}

// ShotSizes lists sizes FF to 12, largest first.
//
// A numbered size is (17 − size)/100 inch across, whatever the metal (SAAMI);
// the letters have diameters of their own. Diameters are nominal: ±0.010 in is
// allowed for game shot and ±0.005 in for target shot, which for No. 9 is
// ±19 % of a pellet's mass. Counts are those of Winchester's 2004 guide.
func ShotSizes() []ShotSize {
	return must(parseShotSizes(shotSizesCSV))
}

func parseShotSizes(text string) ([]ShotSize, error) {
	return read("shot_sizes.csv", text, "size,diameter_in,lead_per_oz,steel_per_oz,note,source,status", func(c *cells) ShotSize {
		return ShotSize{
			Name:          c.name(),
			DiameterMM:    c.number() * model.MMPerInch,
			LeadPerOunce:  c.optional(),
			SteelPerOunce: c.optional(),
			Note:          c.text(),
			Provenance:    c.provenance(),
		}
	})
}
