package calibrate

import (
	"fmt"
	"math"
)

// Where exact algebra would not end, a quantity is fitted by the large method,
// in a time that grows with its cells alone:
//
//   - the spreads start at moment estimates (moments.go) and go where the slopes
//     of the REML criterion vanish, exact but for their traces, which are
//     estimated from random signs (spreads.go);
//   - μ̂ and the effects are exact for those spreads: the equations are solved
//     by conjugate gradients (mesh.go, equations.go);
//   - variances are estimated from draws (draws.go);
//   - the spreads of effects with many levels are held, so is σ where rows are
//     many; those of effects with few levels are summed over (remainder.go).
//
// A Posterior answers in the same way by either method (large_posterior.go).
//
// The method is used where the exact factor, as the symbolic elimination finds
// it, would have a dense block of more than largestBlock rows, more than
// mostElements elements, or take more products to compute than a dense block
// of that size; or where the elimination takes more than mostSteps to find out.
// Many levels alone are no reason: batches that are used up in turn have little
// to do with each other, and 50,000 of two kinds stay cheap. Nor are many cells
// alone: where all effects but the largest have no more than largestBlock levels
// together, the dense block is small enough whatever the cells are, and only
// mostSteps can call for the large method, where thousands of levels each way meet
// at random.
const (
	largestBlock = 5_000
	mostElements = 1 << 25 // 28 bytes each, with the inverse and the pattern: a gigabyte
	mostProducts = largestBlock * largestBlock * largestBlock / 3
	mostSteps    = 1 << 28 // two seconds
)

// The names of the two methods in QuantityFit.
const (
	exactMethod = "exact"
	largeMethod = "large"
)

// exactCost is what an elimination has come to.
type exactCost struct {
	kept     int // elements of the columns so far
	left     int // neighbours of the rows still in the queue, counted from both ends
	products int // of the columns so far
	steps    int // of the elimination so far
}

// column adds a column of n elements and reports whether the whole can still
// be small enough. Every two neighbours left become an element in the end.
func (c *exactCost) column(n int) bool {
	c.kept += n
	c.left -= n
	c.products += n * n
	return c.kept+c.left/2 <= mostElements && c.products <= mostProducts && c.steps <= mostSteps
}

// block reports whether a dense block of n rows is small enough.
func (c *exactCost) block(n int) bool { return n <= largestBlock }

// alone is the elimination of n rows that have no neighbours.
func alone(n int) (order []int32, columns [][]int32, small bool) {
	order = make([]int32, n)
	for i := range order {
		order[i] = int32(i)
	}
	return order, make([][]int32, n), false
}

// large reports whether the large method is used.
func (s *system) large() bool { return s.sparsity.large }

// method names the method in use.
func (s *system) method() string {
	if s.large() {
		return largeMethod
	}
	return exactMethod
}

// fit fits the system by REML: exactly, or by the large method. start is a
// guess of θ, or nil. The fit is nil for fewer than two rows or no scatter at
// all.
func (s *system) fit(start []float64) (*remlFit, error) {
	if s.large() {
		return s.fitLarge(start)
	}
	return s.fitREML(start), nil
}

// fitLarge is the fit of the large method. Its criterion is not worked out.
func (s *system) fitLarge(start []float64) (*remlFit, error) {
	if s.n < 2 {
		return nil, nil
	}
	fit := &remlFit{criterion: math.NaN(), estimable: make([]bool, len(s.effects))}
	for k := range fit.estimable {
		fit.estimable[k] = s.estimable(k)
	}
	sol := s.solve(make([]float64, len(s.effects)), nil)
	if s.noScatter(sol) {
		return nil, nil
	}
	theta, found := newSlopes(s, fit.estimable).root(start, sol)
	fit.solution = s.solve(theta, sol)
	if !found || !fit.settled {
		return nil, fmt.Errorf("%d levels are too many for exact algebra, and what they have to do with each other did not settle within %d sweeps: calibrate makers who share nothing with the rest in a log of their own", len(s.levels), mostSweeps)
	}
	if s.noScatter(fit.solution) {
		return nil, nil
	}
	return fit, nil
}
