package calibrate

import "trueplait/model"

// contrast is what a factor or a difference is made of: fixed × μ plus the
// levels' effects, plus new levels of the effects in the bit set unseen.
type contrast struct {
	fixed   float64 // 1 with the mean, 0 without
	levels  []int32
	weights []float64 // of levels; nil: all 1
	unseen  uint8
}

// weight is what level number a of the contrast is multiplied by.
func (c *contrast) weight(a int) float64 {
	if c.weights == nil {
		return 1
	}
	return c.weights[a]
}

// estimate is what is known of a contrast at one θ: its mean, and h, its
// variance over σ²; then what is added to the mean and taken off h by a full
// pull towards a borrowed mean.
type estimate struct {
	mean, h     float64
	shift, less float64
}

// estimate returns the contrast's mean, without the system's centre, and
//
//	h = ‖c‖² + (fixed − aᵀc)²/Rx² + Σ_unseen θ²,  c = L⁻¹Λz
//
// where ‖c‖² = (Λz)ᵀA⁻¹Λz takes one solve.
func (o *solution) estimate(c contrast) (mean, h float64) {
	z := o.t // not needed after the solution is there
	clear(z)
	for a, i := range c.levels {
		z[i] += c.weight(a) * o.theta[o.sys.levels[i].effect]
	}
	x := o.g
	o.apply(z, x)
	mean, lift := c.fixed*o.mean, c.fixed
	for a, i := range c.levels {
		t := c.weight(a) * o.theta[o.sys.levels[i].effect]
		mean += t * o.b[i]
		lift -= t * o.v[i]
		h += t * x[i]
	}
	return mean, h + o.around(c.unseen, lift)
}

// probe is a contrast that many solutions are asked for: it knows where the
// inverse has the elements it takes.
type probe struct {
	*contrast
	effect []uint8 // of its levels
	at     []int32 // of levels a ≥ b, row by row; nil where one is not kept
}

// probes prepares the contrasts of targets. Of two levels that no row has
// together the inverse may have no element: then the estimate takes a solve.
func (s *system) probes(targets []target) []probe {
	levels, pairs := 0, 0
	for i := range targets {
		n := len(targets[i].levels)
		levels += n
		pairs += n * (n + 1) / 2
	}
	effect, at := make([]uint8, 0, levels), make([]int32, 0, pairs) // of all
	out := make([]probe, len(targets))
	for i := range targets {
		c := &targets[i].contrast
		fromEffect, fromAt, kept := len(effect), len(at), true
		for a, l := range c.levels {
			effect = append(effect, uint8(s.levels[l].effect))
			for _, m := range c.levels[:a+1] {
				at = append(at, s.sparsity.at(l, m))
				kept = kept && at[len(at)-1] >= 0
			}
		}
		out[i] = probe{contrast: c, effect: effect[fromEffect:len(effect):len(effect)]}
		if kept {
			out[i].at = at[fromAt:len(at):len(at)]
		}
	}
	return out
}

// probed is the estimate of a prepared contrast.
func (o *solution) probed(p *probe) (mean, h float64) {
	if p.at == nil {
		return o.estimate(*p.contrast)
	}
	o.needInverse()
	mean, lift := p.fixed*o.mean, p.fixed
	at := p.at
	for a, i := range p.levels {
		x := p.weight(a) * o.theta[p.effect[a]]
		mean += x * o.b[i]
		lift -= x * o.v[i]
		others := 0.0
		for b, k := range p.effect[:a] {
			others += p.weight(b) * o.theta[k] * o.z[at[b]]
		}
		h += x * (2*others + x*o.z[at[a]])
		at = at[a+1:]
	}
	return mean, h + o.around(p.unseen, lift)
}

// around is what μ̂ and levels never seen add to h.
func (o *solution) around(unseen uint8, lift float64) float64 {
	h := lift * lift / o.rx2
	for k, x := range o.theta {
		if unseen&(1<<k) != 0 {
			h += x * x
		}
	}
	return h
}

// contrast returns the contrast of the factor of labels: a label that is
// blank, or no level of the system, counts as a level never seen.
func (s *system) contrast(labels model.Labels) contrast {
	at := s.cell(&model.Cell{Labels: labels}).at
	return s.contrastAt(&at, make([]int32, 0, len(s.effects)))
}

// contrastAt is the contrast of the factor of a cell's levels; they are kept at
// the end of into, which must have room.
func (s *system) contrastAt(at *[maxEffects]int32, into []int32) contrast {
	c := contrast{fixed: 1, levels: into[len(into):]}
	for k := range s.effects {
		if at[k] >= 0 {
			c.levels = append(c.levels, at[k])
		} else {
			c.unseen |= 1 << k
		}
	}
	return c
}
