package calibrate

import "trueplait/model"

// contrast is what a factor or a difference is made of: fixed × μ plus the
// levels' effects, plus new levels of the effects in the bit set unseen.
type contrast struct {
	fixed   float64 // 1 with the mean, 0 without
	levels  []int
	weights []float64 // of levels; nil: all 1
	unseen  uint
}

// weight is what level number a of the contrast is multiplied by.
func (c *contrast) weight(a int) float64 {
	if c.weights == nil {
		return 1
	}
	return c.weights[a]
}

// estimate returns the contrast's mean (without the system's centre) and h,
// its variance over σ²:
//
//	h = ‖c‖² + (fixed − aᵀc)²/Rx² + Σ_unseen θ²,  c = L⁻¹Λz
func (o *solution) estimate(c contrast) (mean, h float64) {
	s := o.sys
	mean = c.fixed * o.mean
	lift := c.fixed
	for a, i := range c.levels {
		x := c.weight(a) * o.theta[s.levels[i].effect]
		mean += x * o.b[i]
		lift -= x * o.v[i]
		h += x * x * o.inverse(i, i)
		for b, j := range c.levels[:a] {
			h += 2 * x * c.weight(b) * o.theta[s.levels[j].effect] * o.inverse(i, j)
		}
	}
	h += lift * lift / o.rx2
	for k, x := range o.theta {
		if c.unseen&(1<<k) != 0 {
			h += x * x
		}
	}
	return mean, h
}

// contrast returns the contrast of the factor of labels: a label that is
// blank, or no level of the system, counts as a level never seen.
func (s *system) contrast(labels model.Labels) contrast {
	c := contrast{fixed: 1}
	for k, e := range s.effects {
		if i, ok := s.index[levelKey{k, labels.Get(e)}]; ok {
			c.levels = append(c.levels, i)
		} else {
			c.unseen |= 1 << k
		}
	}
	return c
}
