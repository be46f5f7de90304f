package calibrate

import (
	"math"

	"trueplait/model"
)

// More are rows still to be measured: test fills by this maker of this core
// and shot batch, cord checks of this strand batch, builds of all of them.
type More struct {
	Fills, Checks, Builds int
}

// Tighter is the expected half width of the weight's band once more rows are
// in.
type Tighter struct {
	More
	HalfWidthG float64
}

// Within is the chance that the next build's weight lies within a distance
// asked for.
type Within struct {
	HalfWidthG float64
	AroundG    float64
	Chance     float64 // of the next build, as known today

	// Fills and Checks are the fewest, of these alone, that bring the chance to
	// the coverage: 0 where it is there already, Never where MostRows are not
	// enough.
	Fills, Checks int
}

// Never is the number of rows where no number helps.
const Never = -1

// MostRows is how many test fills or cord checks of one batch are thought
// worth the shot and the time (common practice, no source).
const MostRows = 50

// Reached reports whether the distance is kept at the coverage, or can be.
func (w *Within) Reached() bool { return w.Fills != Never || w.Checks != Never }

// tightenSteps are the numbers of rows that are looked at.
var tightenSteps = []int{1, 2, 3, 5, 10}

// tighten looks ahead at each kind of row alone.
func (a *ahead) tighten(opt PromiseOptions) []Tighter {
	if a.basis == "" {
		return nil
	}
	var out []Tighter
	for _, of := range []More{{Fills: 1}, {Checks: 1}, {Builds: 1}} {
		for _, n := range tightenSteps {
			more := More{n * of.Fills, n * of.Checks, n * of.Builds}
			low, high := limits(a.outcome(model.Weight, more), opt.Coverage, opt.Of)
			out = append(out, Tighter{more, (high - low) / 2})
		}
	}
	return out
}

// within works out the chance of a distance, and what would raise it. Where
// the median is off the middle asked for, no measurement brings it there: that
// takes another plan, and the warning says so.
func (p *Promise) within(a *ahead, opt PromiseOptions) {
	if a.basis == "" || !model.Known(opt.WithinG) {
		return
	}
	w := &Within{HalfWidthG: opt.WithinG, AroundG: opt.AroundG, Fills: Never, Checks: Never}
	if !model.Known(w.AroundG) {
		w.AroundG = p.Weight.Planned
	}
	chance := func(more More) float64 {
		o := a.outcome(model.Weight, more)
		return o.below(w.AroundG+w.HalfWidthG) - o.below(w.AroundG-w.HalfWidthG)
	}
	w.Chance = chance(More{})
	p.Within = w
	if w.Chance >= opt.Coverage {
		w.Fills, w.Checks = 0, 0
		return
	}
	w.Fills = fewest(func(n int) bool { return chance(More{Fills: n}) >= opt.Coverage })
	w.Checks = fewest(func(n int) bool { return chance(More{Checks: n}) >= opt.Coverage })
	if off := math.Abs(p.Weight.Median - w.AroundG); off > w.HalfWidthG/2 {
		p.Warnings = append(p.Warnings, "the weight to expect lies far from the middle asked for: plan the load for that weight, or ask around the expected one")
	}
}

// fewest is the least number of rows, from 1 to MostRows, for which enough
// holds.
func fewest(enough func(n int) bool) int {
	for n := 1; n <= MostRows; n++ {
		if enough(n) {
			return n
		}
	}
	return Never
}
