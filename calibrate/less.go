package calibrate

import (
	"cmp"
	"math"
	"slices"

	"trueplait/model"
)

// cellsWithout returns the cells of q, which are in the order of
// [Source.Cells], less some of their rows. Sums of squares lose nothing by it:
// what is taken off is about as large as what is left.
func cellsWithout(cells []model.Cell, q model.Quantity, rows []model.Flagged) []model.Cell {
	out := slices.Clone(cells)
	emptied := false
	for i := range rows {
		r := &rows[i]
		labels := onlyEffects(&r.Labels, q)
		at, found := slices.BinarySearchFunc(out, r.Key.Kind, func(c model.Cell, kind model.Kind) int {
			return cmp.Or(cmp.Compare(c.Kind, kind), compareLabels(&c.Labels, &labels, model.Effects))
		})
		if !found {
			continue // left out already
		}
		drop(&out[at], math.Log(r.Ratio))
		emptied = emptied || out[at].N == 0
	}
	if !emptied {
		return out
	}
	return slices.DeleteFunc(out, func(c model.Cell) bool { return c.N == 0 })
}

// onlyEffects are the labels of q's effects.
func onlyEffects(l *model.Labels, q model.Quantity) (out model.Labels) {
	for _, e := range q.Effects() {
		out.Set(e, l.Get(e))
	}
	return out
}

// drop takes a row off a cell.
func drop(c *model.Cell, y float64) {
	d := y - c.Mean
	if c.N--; c.N == 0 {
		return
	}
	c.Mean -= d / float64(c.N)
	if c.SS -= d * (y - c.Mean); c.N == 1 || c.SS < 0 {
		c.SS = 0
	}
}
