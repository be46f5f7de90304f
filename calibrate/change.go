package calibrate

import (
	"math"

	"trueplait/model"
)

// Change is how a factor moved from one calibration to the next.
type Change struct {
	Quantity      model.Quantity
	Labels        model.Labels // those of the quantity's effects
	Before, After Interval
	Of            model.Effect // whose level Rows counts; "": every row
	Rows          int          // in the fit after, of the batch that the quantity is about, or of the maker
	Kinds         []model.Kind // of row among them, where the caller tells them apart
}

// Changes compares the factors of one combination of labels in two
// calibrations, for the quantities of which the second has rows. before may be
// nil: all factors were 1 then, and nothing was known of them.
func Changes(before, after *Calibration, l model.Labels) []Change {
	var out []Change
	for i := range after.Quantities {
		q := &after.Quantities[i]
		if q.Rows == 0 {
			continue
		}
		change := Change{Quantity: q.Quantity, Before: noFactor(), After: q.factor(l)}
		change.Of, change.Rows = q.rowsBehind(l)
		if before != nil {
			if old := before.Quantity(q.Quantity); old != nil && old.Rows > 0 {
				change.Before = old.factor(l)
			}
		}
		for _, e := range q.Effects {
			change.Labels.Set(e, l.Get(e))
		}
		out = append(out, change)
	}
	return out
}

// noFactor is what is known of a factor without a row.
func noFactor() Interval { return Interval{1, math.NaN(), math.NaN()} }

// factor is the factor of a combination of labels, seen or not.
func (f *QuantityFit) factor(l model.Labels) Interval {
	if f.Posterior == nil {
		return noFactor()
	}
	return f.Posterior.mixtures([]target{{contrast: f.Posterior.sys.contrast(l)}})[0].Interval(factorCoverage)
}

// rowsBehind counts the rows with the batch that the quantity is about, or
// where none is recorded with the maker.
func (f *QuantityFit) rowsBehind(l model.Labels) (model.Effect, int) {
	if f.REML == nil {
		return "", f.Rows
	}
	of := []model.Effect{model.CoreBatch, model.StrandBatch, model.Maker}
	if f.Quantity == model.Weight { // about no batch in particular
		of = of[2:]
	}
	for _, e := range of {
		for _, b := range f.REML.BLUP {
			if b.Effect == e && b.Level == l.Get(e) {
				return e, b.Rows
			}
		}
	}
	return "", f.Rows
}
