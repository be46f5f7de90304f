package calibrate

import (
	"math"
	"slices"

	"trueplait/model"
)

// VarianceSource is a part of the variance of finished weights across the
// shop.
type VarianceSource struct {
	Effect model.Effect // "": the scatter from build to build
	Share  float64      // of the variance; all sum to 1
	SDG    float64      // standard deviation that it alone would give, g
}

// sources splits the variance of the weight by REML's components,
//
//	Σ_q m_q² τ_q²
//
// m_q being the median grams of the part. What REML cannot estimate counts as
// nothing; nil where a part has no REML fit.
func (a *ahead) sources(p *Promise) []VarianceSource {
	var parts []model.Quantity
	grams := map[model.Quantity]float64{model.Weight: p.Weight.Median, model.Body: p.Body.Median, model.Shot: p.Shot.Median}
	switch a.basis {
	case FromParts:
		parts = []model.Quantity{model.Body}
		if a.planned.ShotG > 0 {
			parts = append(parts, model.Shot)
		}
	case FromWhole:
		parts = []model.Quantity{model.Weight}
	default:
		return nil
	}
	variance := map[model.Effect]float64{}
	total := 0.0
	for _, q := range parts {
		r := a.cal.Quantity(q).REML
		if r == nil {
			return nil
		}
		add := func(e model.Effect, sd float64) {
			if v := math.Pow(grams[q]*sd, 2); v > 0 {
				variance[e] += v
				total += v
			}
		}
		add("", r.Residual)
		for _, e := range q.Effects() {
			add(e, r.SD[e])
		}
	}
	if total == 0 {
		return nil
	}
	var out []VarianceSource
	for _, e := range append(slices.Clone(model.Effects), "") {
		out = append(out, VarianceSource{e, variance[e] / total, math.Sqrt(variance[e])})
	}
	return out
}
