package reference

import _ "embed"

//go:embed densities.csv
var densitiesCSV string

// Density is the density of one material.
type Density struct {
	Material    string
	DensityGCM3 float64
	LowGCM3     float64 // range met with in practice; NaN: not given
	HighGCM3    float64
	Note        string
	Provenance
}

// Densities lists metals, shot, polymers and waxes.
//
// Those of alloyed lead shot are computed as if lead and antimony mixed without
// a change of volume, 1/ρ = w/6.691 + (1 − w)/11.35 with w the share of
// antimony. Densities are of the solid, but for the one row that says bulk.
func Densities() []Density {
	return must(parseDensities(densitiesCSV))
}

func parseDensities(text string) ([]Density, error) {
	return read("densities.csv", text, "material,density_g_cm3,low_g_cm3,high_g_cm3,note,source,status", func(c *cells) Density {
		return Density{
			Material:    c.name(),
			DensityGCM3: c.number(),
			LowGCM3:     c.optional(),
			HighGCM3:    c.optional(),
			Note:        c.text(),
			Provenance:  c.provenance(),
		}
	})
}
