package calibrate

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// moments estimates θ from sums of squares, in a few passes over the cells.
// The sum of squares within the levels of effect k, and that of all rows, are
// expected to be
//
//	Σ_rows (y − ȳ_level)² = σ²(N − L_k) + Σ_{j≠k} τ_j² (N − Σ_l Σ_m n_lm²/n_l)
//	Σ_rows (y − ȳ)²       = σ²(N − 1)   + Σ_j τ_j² (N − Σ_m n_m²/N)
//
// with l the levels of k, m those of j, and n_lm the rows they share; a blank
// label is a level of its own. As many equations as spreads: Gao & Owen (2020),
// Stat Sinica 30:1741, with rows counted as often as there are. What comes out
// below zero is 0. Effects that are not free are left out, and stay at 0.
func (s *system) moments(free []int) []float64 {
	theta := make([]float64, len(s.effects))
	n := len(free)
	left, right := mat.NewDense(n+1, n+1, nil), mat.NewVecDense(n+1, nil)
	index := newByLevel(s)
	for a, k := range free {
		within, expected := s.within(k, index)
		right.SetVec(a, within)
		for b, j := range free {
			left.Set(a, b, expected[j])
		}
		left.Set(a, n, expected[len(s.effects)])
	}
	for b, j := range free {
		left.Set(n, b, s.n-s.concentration(j)/s.n)
	}
	left.Set(n, n, s.n-1)
	right.SetVec(n, s.about())
	var tau mat.VecDense
	if tau.SolveVec(left, right) != nil || !(tau.AtVec(n) > 0) {
		for _, k := range free {
			theta[k] = 0.8 // the spreads cannot be told apart like this
		}
		return theta
	}
	for a, k := range free {
		theta[k] = math.Sqrt(math.Max(0, tau.AtVec(a)/tau.AtVec(n)))
	}
	return theta
}

// within is the sum of squares within the levels of effect k, and how often
// each τ², and σ² last, is expected to be in it.
func (s *system) within(k int, index byLevel) (sum float64, expected []float64) {
	effects := len(s.effects)
	expected = make([]float64, effects+1)
	shared := make([]float64, len(s.levels))
	for l := range s.levels {
		if s.levels[l].effect != k || s.levels[l].rows == 0 {
			continue
		}
		n, mean := 0.0, 0.0
		cells := index.cellsOf(int32(l))
		for _, i := range cells {
			c := &s.cells[i]
			n += c.n
			mean += c.n * c.mean
		}
		mean /= n
		for _, i := range cells {
			c := &s.cells[i]
			sum += c.ss + c.n*(c.mean-mean)*(c.mean-mean)
			for _, m := range c.at {
				if m >= 0 {
					shared[m] += c.n
				}
			}
		}
		expected[effects] += n - 1
		for j := range effects {
			if j == k {
				continue
			}
			expected[j] += n
			for _, i := range cells {
				c := &s.cells[i]
				if m := c.at[j]; m < 0 {
					expected[j] -= c.n / n
				} else {
					expected[j] -= shared[m] * shared[m] / n
					shared[m] = 0 // once a level
				}
			}
		}
		shared[l] = 0
	}
	return sum, expected
}

// about is the sum of squares of all rows about their mean, which is 0.
func (s *system) about() float64 {
	sum := 0.0
	for i := range s.cells {
		c := &s.cells[i]
		sum += c.ss + c.n*c.mean*c.mean
	}
	return sum
}

// concentration is Σ n² of the levels of effect k, blanks as levels of their
// own.
func (s *system) concentration(k int) float64 {
	sum, named := 0.0, 0.0
	for _, l := range s.levels {
		if l.effect == k {
			n := float64(l.rows)
			sum += n * n
			named += n
		}
	}
	return sum + s.n - named
}
