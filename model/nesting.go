package model

import (
	"math"
	"slices"
)

// offLayerBelow is how far a layer's diameter may be off the outside of the
// layer below, relative to it, before that is pointed out.
const offLayerBelow = 0.10

// place is a position on the whip seen from one side, as a layer's diameter
// may step there.
type place struct {
	at     float64
	before bool // looking at what ends here, not at what begins
}

// taperAt returns the taper of the layer that covers a place.
func (l *layer) taperAt(x place) (taper, bool) {
	for _, t := range l.tapers {
		if x.before && t.from < x.at && x.at <= t.to || !x.before && t.from <= x.at && x.at < t.to {
			return t, true
		}
	}
	return taper{}, false
}

// diameterAt is the diameter of what is plaited over, mm.
func (t taper) diameterAt(at float64) float64 {
	return t.start + (t.end-t.start)*(at-t.from)/(t.to-t.from)
}

// checkNesting compares each layer with the one below it, which is the last
// before it in the list that covers the same place. Both are linear between
// the ends of tapers, so their ratio is at its least and greatest there.
func (p *planner) checkNesting(layers []*layer) {
	for i, l := range layers {
		p.checkOver(l, layers[:i])
	}
}

// mismatch is how a layer meets the one below at one place.
type mismatch struct {
	by    float64 // relative to below
	at    place
	over  taper
	under *layer
	below float64 // diameter that over is held against, mm
}

// max keeps the greater of two mismatches; of equals, but for rounding, the
// first.
func (m *mismatch) max(other mismatch) {
	if other.by > m.by+slack {
		*m = other
	}
}

// checkOver compares a layer with those before it: one that is inside the layer
// below is an error, one that does not meet its outside a warning, each once,
// at the place that is farthest off.
func (p *planner) checkOver(l *layer, before []*layer) {
	var inside, off mismatch
	for _, x := range places(l, before) {
		over, ok := l.taperAt(x)
		if !ok {
			continue
		}
		for _, under := range slices.Backward(before) {
			t, ok := under.taperAt(x)
			if !ok {
				continue
			}
			diameter, core := over.diameterAt(x.at), t.diameterAt(x.at)
			outside := under.outside(core)
			inside.max(mismatch{1 - diameter/core, x, over, under, core})
			off.max(mismatch{math.Abs(diameter/outside - 1), x, over, under, outside})
			break
		}
	}
	switch {
	case inside.by > 0:
		p.fail(inside.over.row, inside.over.columnAt(inside.at), "starts inside the layer below: %s goes over a core of %s at %s, so this layer over %s",
			inside.under.name, showMM(inside.below), showMM(inside.at.at), showMM(inside.under.outside(inside.below)))
	case off.by > offLayerBelow:
		p.warn(off.over.row, off.over.columnAt(off.at), "is %.0f %% off the outside of the layer below: %s is %s thick at %s, where this layer goes over %s",
			100*off.by, off.under.name, showMM(off.below), showMM(off.at.at), showMM(off.over.diameterAt(off.at.at)))
	}
}

// places lists the ends of every taper, from both sides.
func places(l *layer, others []*layer) []place {
	var all []place
	for _, l := range append(slices.Clone(others), l) {
		for _, t := range l.tapers {
			all = append(all, place{t.from, false}, place{t.from, true}, place{t.to, true}, place{t.to, false})
		}
	}
	return all
}

// columnAt is the column that says the diameter nearest to a place.
func (t taper) columnAt(x place) string {
	if Known(t.row.TipDiameterMM) && x.at-t.from > t.to-x.at {
		return "tip_diameter"
	}
	return "diameter"
}
