package calibrate

// belief is what is known at one θ of μ and of some levels' effects, as rows
// come in: normal, with variances over σ². A row whose levels are all followed
// updates it exactly, whatever other levels the system has: for a row with
// design x (1 for μ, θ for its levels) and weight w
//
//	v = 1/w + xᵀPx,  gain = Px/v,  P ← P − gain (Px)ᵀ
//
// the Kalman filter of a state that does not move by itself: Kalman (1960),
// J Basic Eng 82:35.
type belief struct {
	theta []float64
	slot  []int32 // by level; 0 is μ's, and where a level is not followed
	mean  []float64
	cov   []float64 // by slots, row by row
	px    []float64
}

// newBelief makes room for so many levels, none followed yet, and knows
// nothing of μ but its variance.
func newBelief(theta []float64, slot []int32, levels int, vague float64) *belief {
	n := levels + 1
	b := &belief{theta: theta, slot: slot, mean: make([]float64, n), cov: make([]float64, n*n), px: make([]float64, n)}
	b.cov[0] = vague
	return b
}

// belief is the solution's own, for some levels with their slots.
func (o *solution) belief(levels, slot []int32) *belief {
	b := newBelief(append([]float64(nil), o.theta...), slot, len(levels), 1/o.rx2)
	n := len(b.mean)
	b.mean[0] = o.mean
	unit, column := make([]float64, len(o.b)), make([]float64, len(o.b))
	for _, l := range levels {
		i := int(slot[l])
		unit[l] = 1
		o.apply(unit, column)
		unit[l] = 0
		b.mean[i] = o.b[l]
		for _, k := range levels {
			b.cov[i*n+int(slot[k])] = column[k] + o.v[l]*o.v[k]/o.rx2
		}
		b.cov[i*n] = -o.v[l] / o.rx2
		b.cov[i] = b.cov[i*n]
	}
	return b
}

// open starts to follow a level of which no row is known; its slot is free.
func (b *belief) open(slot int32) {
	i, n := int(slot), len(b.mean)
	b.mean[i] = 0
	b.cov[i*n+i] = 1
}

// close forgets the level in a slot.
func (b *belief) close(slot int32) {
	i, n := int(slot), len(b.mean)
	clear(b.cov[i*n : i*n+n])
	for j := range n {
		b.cov[j*n+i] = 0
	}
}

// next is the estimate of a row with the cell's labels, its own scatter
// included.
func (b *belief) next(c *cell) estimate {
	n := len(b.mean)
	px := b.px
	copy(px, b.cov[:n])
	mean := b.mean[0]
	for k, t := range b.theta {
		if c.at[k] < 0 {
			continue
		}
		i := int(b.slot[c.at[k]])
		mean += t * b.mean[i]
		axpy(t, b.cov[i*n:i*n+n], px)
	}
	v := 1/rowWeight(c.blank, b.theta) + px[0]
	for k, t := range b.theta {
		if c.at[k] >= 0 {
			v += t * px[b.slot[c.at[k]]]
		}
	}
	return estimate{mean: mean, h: v}
}

// learn takes in a row.
func (b *belief) learn(c *cell) {
	e := b.next(c)
	n := len(b.mean)
	for i, x := range b.px {
		if x == 0 {
			continue
		}
		gain := x / e.h
		b.mean[i] += gain * (c.mean - e.mean)
		axpy(-gain, b.px, b.cov[i*n:i*n+n])
	}
}
