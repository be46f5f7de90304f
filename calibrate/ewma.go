package calibrate

import "math"

// Settings of the weighted mean, which sees a lasting change of one scatter
// sooner than single builds do. NIST/SEMATECH e-Handbook of Statistical
// Methods, 6.3.2.4.
const (
	ewmaWeight = 0.2 // λ
	ewmaWidth  = 3.0 // L
)

// ewma returns the exponentially weighted moving average of x and the half
// width of its limits about the centre, both at each point:
//
//	z_t = λ x_t + (1−λ) z_t−1, z₀ the centre
//	h_t = L σ √(λ/(2−λ) · (1 − (1−λ)^2t))
//
// The limits are exact: near the start they are narrower.
func ewma(x []float64, centre, sigma, lambda, width float64) (z, half []float64) {
	z, half = make([]float64, len(x)), make([]float64, len(x))
	last := centre
	for i := range x {
		last += lambda * (x[i] - last)
		z[i] = last
		half[i] = width * sigma * math.Sqrt(lambda/(2-lambda)*(1-math.Pow(1-lambda, 2*float64(i+1))))
	}
	return z, half
}
