package calibrate

import (
	"cmp"
	"math"
	"slices"

	"trueplait/model"
)

// lessCells are the cells of a quantity, in the order of [Source.Cells], less
// some of their rows. Millions are not copied for that: the few that change are
// kept as they were. Cells without a row left stay, so that each has its place.
type lessCells struct {
	q     model.Quantity
	cells []model.Cell
	whole map[int]model.Cell // those that have rows taken off, with all their rows
}

func newLessCells(q model.Quantity, all []model.Cell) *lessCells {
	return &lessCells{q, all, map[int]model.Cell{}}
}

// take puts back what was taken off before, and takes these rows off. Sums of
// squares lose nothing by it: what is taken off is about as large as what is
// left.
func (l *lessCells) take(rows []model.Flagged) {
	for i, c := range l.whole {
		l.cells[i] = c
	}
	clear(l.whole)
	for i := range rows {
		r := &rows[i]
		labels := onlyEffects(&r.Labels, l.q)
		at, found := slices.BinarySearchFunc(l.cells, r.Key.Kind, func(c model.Cell, kind model.Kind) int {
			return cmp.Or(cmp.Compare(c.Kind, kind), compareLabels(&c.Labels, &labels, model.Effects))
		})
		if !found {
			continue // left out already
		}
		if _, again := l.whole[at]; !again {
			l.whole[at] = l.cells[at]
		}
		drop(&l.cells[at], math.Log(r.Ratio))
	}
}

// left are the cells that have rows left. It uses up l.
func (l *lessCells) left() []model.Cell { return withRows(l.cells) }

// withRows are the cells that have rows, in the same memory.
func withRows(cells []model.Cell) []model.Cell {
	return slices.DeleteFunc(cells, func(c model.Cell) bool { return c.N == 0 })
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
