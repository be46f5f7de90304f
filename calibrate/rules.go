package calibrate

import (
	"cmp"
	"math"
)

// Rule is a pattern that a steady process seldom makes, in words.
type Rule string

// Nelson's eight tests. L. S. Nelson (1984), J. Quality Technology 16,
// 237-239.
const (
	BeyondLimit       Rule = "beyond limit"          // one over 3 σ from the mean
	NineOneSide       Rule = "nine on one side"      // of the mean, in a row
	SixTrending       Rule = "six rising or falling" // in a row
	FourteenAlternate Rule = "fourteen alternating"  // up and down, in a row
	TwoOfThree        Rule = "two of three far out"  // over 2 σ, on one side
	FourOfFive        Rule = "four of five out"      // over 1 σ, on one side
	FifteenClose      Rule = "fifteen close in"      // within 1 σ, in a row
	EightOutside      Rule = "eight outside"         // over 1 σ, on either side, in a row
)

// Rules lists the tests in the order of their publication.
var Rules = []Rule{BeyondLimit, NineOneSide, SixTrending, FourteenAlternate, TwoOfThree, FourOfFive, FifteenClose, EightOutside}

// pattern is a rule that is complete at one point and began at another.
type pattern struct {
	rule     Rule
	at, from int
}

// patterns tests every point of x against all rules, by point, then rule.
//
// All inequalities are strict. A point on the mean is on neither side of it
// and ends a run; equal neighbours end a trend and an alternation. The point
// that completes a pattern must belong to it, and every further point of a
// pattern that goes on signals again. Near the start the windows of "two of
// three" and "four of five" are shorter.
func patterns(x []float64, centre, sigma float64) []pattern {
	var out []pattern
	length := make([]int, len(runs)) // of each rule's run, up to the point before
	for i := range x {
		for k, r := range runs {
			length[k] = r.grow(length[k], x, i, centre, sigma)
			if points := length[k] + r.steps; length[k] > 0 && points >= r.points {
				out = append(out, pattern{r.rule, i, i + 1 - points})
			}
		}
	}
	return out
}

// run is a pattern of neighbours, or of most points of a short window. grow
// returns how long the run that ends at i is, given its length at i−1; a run of
// steps between points has one more point than steps.
type run struct {
	rule   Rule
	points int
	steps  int // 1 where steps are counted, 0 where points are
	grow   func(length int, x []float64, i int, centre, sigma float64) int
}

// runs are the tests in the order of Rules.
var runs = []run{
	{BeyondLimit, 1, 0, func(_ int, x []float64, i int, centre, sigma float64) int {
		return grown(0, math.Abs(x[i]-centre) > 3*sigma)
	}},
	{NineOneSide, 9, 0, func(length int, x []float64, i int, centre, _ float64) int {
		side := cmp.Compare(x[i], centre)
		if i > 0 && side != cmp.Compare(x[i-1], centre) {
			length = 0
		}
		return grown(length, side != 0)
	}},
	{SixTrending, 6, 1, func(length int, x []float64, i int, _, _ float64) int {
		if i > 1 && step(x, i) != step(x, i-1) {
			length = 0
		}
		return grown(length, step(x, i) != 0)
	}},
	{FourteenAlternate, 14, 1, func(length int, x []float64, i int, _, _ float64) int {
		if i > 1 && step(x, i) != -step(x, i-1) {
			length = 0
		}
		return grown(length, step(x, i) != 0)
	}},
	{TwoOfThree, 2, 0, func(_ int, x []float64, i int, centre, sigma float64) int {
		return clustered(x[max(0, i-2):i+1], centre, 2*sigma, 2)
	}},
	{FourOfFive, 4, 0, func(_ int, x []float64, i int, centre, sigma float64) int {
		return clustered(x[max(0, i-4):i+1], centre, sigma, 4)
	}},
	{FifteenClose, 15, 0, func(length int, x []float64, i int, centre, sigma float64) int {
		return grown(length, math.Abs(x[i]-centre) < sigma)
	}},
	{EightOutside, 8, 0, func(length int, x []float64, i int, centre, sigma float64) int {
		return grown(length, math.Abs(x[i]-centre) > sigma)
	}},
}

// grown is a run's length after one more point, 0 if the point ends it.
func grown(length int, goesOn bool) int {
	if !goesOn {
		return 0
	}
	return length + 1
}

// step is the direction from the point before i to i, 0 at the start.
func step(x []float64, i int) int {
	if i == 0 {
		return 0
	}
	return cmp.Compare(x[i], x[i-1])
}

// clustered returns how many points it is from the first to the last point of
// the window that are over distance from the centre on the last one's side, if
// enough of the window are there; 0 where they are not, or the last is not.
func clustered(window []float64, centre, distance float64, enough int) int {
	last := window[len(window)-1]
	if !(math.Abs(last-centre) > distance) {
		return 0
	}
	first, count := -1, 0
	for i, v := range window {
		if math.Abs(v-centre) > distance && v > centre == (last > centre) {
			if count++; first < 0 {
				first = i
			}
		}
	}
	if count < enough {
		return 0
	}
	return len(window) - first
}
