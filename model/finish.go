package model

import "math"

// finish plans wax or the like, as far as its own row says; the cord it is on
// is known when all parts are.
func (p *planner) finish(row *Part, hasCord bool) *item {
	if !Known(p.need(row, "fraction")) {
		return nil
	}
	if !hasCord {
		p.fail(row, "fraction", "is of the cord of cores and plaits, and none is listed: add them, or state a mass with the role other")
		return nil
	}
	return p.newItem(row)
}

// spreadFinish gives every finish its mass: fraction × the mass of cord in
// cores and plaits, balanced where that mass is. Finishes do not take up one
// another.
func (p *planner) spreadFinish(items []*item) {
	var cord moment
	from, to := math.Inf(1), math.Inf(-1)
	for _, it := range items {
		if it.isCord() {
			cord = cord.plus(it.body)
			from, to = min(from, it.StartMM), max(to, it.EndMM)
		}
	}
	for _, it := range items {
		if it.Role == Finish {
			it.body = cord.times(it.rows[0].Fraction)
			it.StartMM, it.EndMM = from, to
			it.settle()
		}
	}
}
