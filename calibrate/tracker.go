package calibrate

import (
	"math"

	"trueplait/model"
)

// tracker is one quantity's model as rows come in.
type tracker struct {
	post  *Posterior // nil before the first row
	sys   *system
	scr   *screened
	known []*belief           // at the posterior's nodes, of the levels that come up until the next cut-off
	queue []model.Observation // rows from the cut-off on, by date
	far   []bool              // of the queue: far out by the cut-off's fit; looked at again when its turn comes
}

// follow starts the beliefs of the levels in labels.
func (t *tracker) follow(labels []model.Labels) {
	slot := make([]int32, len(t.sys.levels))
	var levels []int32
	for _, l := range labels {
		for k, e := range t.sys.effects {
			if i, ok := t.sys.index[k][l.Get(e)]; ok && slot[i] == 0 {
				levels = append(levels, i)
				slot[i] = int32(len(levels))
			}
		}
	}
	t.known = make([]*belief, len(t.post.nodes))
	t.post.eachSolution(func(i int, sol *solution) { t.known[i] = sol.belief(levels, slot) })
}

// next is the distribution of the ratio of the next row with these labels.
func (t *tracker) next(labels model.Labels) *Mixture {
	c := t.sys.cell(&model.Cell{Labels: labels})
	at := make([]estimate, len(t.known))
	for i, b := range t.known {
		at[i] = b.next(&c)
		at[i].mean += t.sys.centre
	}
	return t.post.mixture(at)
}

// learn takes in a row.
func (t *tracker) learn(o *model.Observation) {
	c := t.sys.cell(&model.Cell{Labels: o.Labels, N: 1, Mean: o.Y})
	for _, b := range t.known {
		b.learn(&c)
	}
}

// farOut marks the queued rows that the cut-off's fit would call far out, a
// level it does not know counting as 0.
func (t *tracker) farOut(q model.Quantity) []bool {
	far := make([]bool, len(t.queue))
	if t.scr.fit == nil || t.scr.scale == 0 {
		return far
	}
	rows := NewRows(map[model.Quantity][]model.Observation{q: t.queue})
	e, rootW := rows.residuals(q, t.scr.fit.fitted())
	for i := range far {
		far[i] = math.Abs(rootW[i]*e[i]) > model.FlagAt*t.scr.scale
	}
	return far
}

// implausible reports whether a far row lies outside what was to be expected
// of it, its batch perhaps a new one, as far as a row far out of a known batch
// does: in the outer tails beyond FlagAt standard deviations of a normal.
func (t *tracker) implausible(o *model.Observation) bool {
	if t.post == nil {
		return false
	}
	m := t.next(o.Labels)
	tail := 0.5 * math.Erfc(model.FlagAt/math.Sqrt2)
	p := m.CDF(o.Y)
	return p < tail || p > 1-tail
}
