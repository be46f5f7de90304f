package calibrate

import "math"

// Constants of a moving range of two: d2 is the mean of |x₁ − x₂|/σ of two
// normal values, 2/√π, and d3 its standard deviation, √(2 − d2²).
//
// NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2, which rounds d2 to
// 1.128.
var (
	rangeMean   = 2 / math.Sqrt(math.Pi)
	rangeSpread = math.Sqrt(2 - rangeMean*rangeMean)
	rangeUpper  = 1 + 3*rangeSpread/rangeMean // D4 = 3.266532
)

// individuals fills the chart of individual values and moving ranges of x:
//
//	Mean ± 3 MRBar/d2, moving range up to D4 MRBar
//
// One value has a mean only.
func (l *Line) individuals(x []float64) {
	n := float64(len(x))
	l.Mean = meanOf(x)
	moving, square := 0.0, 0.0
	for i := range x {
		if i > 0 {
			moving += math.Abs(x[i] - x[i-1])
		}
		square += (x[i] - l.Mean) * (x[i] - l.Mean)
	}
	l.MRBar, l.SD = moving/(n-1), math.Sqrt(square/(n-1)) // 0/0 is NaN for a single value
	if l.noScatter() {
		l.MRBar, l.SD = 0, 0
	}
	l.SDMovingRange = l.MRBar / rangeMean
	l.Upper, l.Lower = l.Mean+3*l.SDMovingRange, l.Mean-3*l.SDMovingRange
	l.MRUpper = rangeUpper * l.MRBar
}

// noScatter reports whether the values differ by rounding at most, as ratios
// and converted units do.
func (l *Line) noScatter() bool { return l.SD <= 1e-12*math.Abs(l.Mean) }

// meanOf is the mean of x, exact where all values are the same.
func meanOf(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v - x[0]
	}
	return x[0] + sum/float64(len(x))
}
