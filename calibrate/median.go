package calibrate

import (
	"math"
	"slices"
)

// medianDeviation is the median distance from the median.
func medianDeviation(x []float64) float64 {
	m := median(x)
	d := make([]float64, len(x))
	for i := range x {
		d[i] = math.Abs(x[i] - m)
	}
	return median(d)
}

// median is the middle of x, or the mean of the middle two; NaN of none.
func median(x []float64) float64 {
	n := len(x)
	if n == 0 {
		return math.NaN()
	}
	s := slices.Clone(x)
	middle := nth(s, n/2)
	if n%2 == 1 {
		return middle
	}
	return (slices.Max(s[:n/2]) + middle) / 2
}

// nth puts the k-th smallest of x in its place, what is smaller before it and
// what is larger behind, and returns it. C. A. R. Hoare (1961), Algorithm 65:
// FIND, Commun ACM 4:321.
func nth(x []float64, k int) float64 {
	for low, high := 0, len(x)-1; low < high; {
		pivot := x[(low+high)/2]
		i, j := low, high
		for i <= j {
			for x[i] < pivot {
				i++
			}
			for x[j] > pivot {
				j--
			}
			if i <= j {
				x[i], x[j] = x[j], x[i]
				i++
				j--
			}
		}
		switch {
		case k <= j:
			high = j
		case k >= i:
			low = i
		default:
			return x[k]
		}
	}
	return x[k]
}
