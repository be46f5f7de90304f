package reference

import (
	_ "embed"
	"math"

	"trueplait/model"
)

//go:embed oiml_r87.csv
var oimlR87CSV string

// TolerancePiece is the tolerable deficiency of prepackages over one range of
// nominal mass: a share of it or a fixed mass, the other being NaN.
type TolerancePiece struct {
	OverG, UpToG float64 // OverG < nominal mass ≤ UpToG
	Percent      float64 // of the nominal mass
	Grams        float64
	Provenance
}

// Tolerances lists the pieces by rising mass, without a gap.
func Tolerances() []TolerancePiece {
	return must(parseTolerances(oimlR87CSV))
}

// Tolerance is the tolerable deficiency T, in grams, of a prepackage of the
// given nominal mass in grams: by OIML R 87 the average may not be below
// nominal, few may be more than T below it and none more than 2 T. It
// is continuous in the mass.
//
// The rule is for prepackages all of one nominal mass. A piece made by hand is
// none in law, so T is only a published yardstick for a promise.
//
// It is NaN for masses the table does not cover: not above 0, above 50 kg, or
// NaN.
func Tolerance(nominalG float64) float64 {
	for _, p := range Tolerances() {
		if nominalG > p.OverG && nominalG <= p.UpToG {
			return p.at(nominalG)
		}
	}
	return model.Unknown
}

// at is T by this piece's rule.
func (p TolerancePiece) at(nominalG float64) float64 {
	if math.IsNaN(p.Percent) {
		return p.Grams
	}
	return p.Percent / 100 * nominalG
}

func parseTolerances(text string) ([]TolerancePiece, error) {
	return read("oiml_r87.csv", text, "over_g,up_to_g,percent,grams,source,status", func(c *cells) TolerancePiece {
		p := TolerancePiece{
			OverG:      c.number(),
			UpToG:      c.number(),
			Percent:    c.optional(),
			Grams:      c.optional(),
			Provenance: c.provenance(),
		}
		if math.IsNaN(p.Percent) == math.IsNaN(p.Grams) {
			c.fail("percent", c.record[2], "must be given where grams is not, and only there")
		}
		return p
	})
}
