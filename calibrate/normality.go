package calibrate

import (
	"math"
	"slices"

	"trueplait/model"
)

// Normality is the Anderson-Darling test of a line against a normal
// distribution of unknown mean and spread (case 3).
type Normality struct {
	A2 float64 // A², not corrected for n
	P  float64 // chance of one as large from normal builds
}

// leastForNormality is the fewest builds whose P can be given; below, the
// approximation does not hold (common practice, no source).
const leastForNormality = 8

// andersonDarling tests x, of the given mean and standard deviation:
//
//	A² = −n − Σ (2i−1)/n [ln Φ(z_i) + ln Φ(−z_n+1−i)]
//
// over the sorted z = (x − mean)/sd. P is the approximation to the
// distribution of A²(1 + 0.75/n + 2.25/n²) by D'Agostino & Stephens,
// Goodness-of-Fit Techniques (1986), table 4.9. NaN for fewer than 8 values or
// no scatter.
func andersonDarling(x []float64, mean, sd float64) Normality {
	n := float64(len(x))
	if n < leastForNormality || !(sd > 0) {
		return Normality{model.Unknown, model.Unknown}
	}
	z := make([]float64, len(x))
	for i, v := range x {
		z[i] = (v - mean) / sd
	}
	slices.Sort(z)
	sum := 0.0
	for i := range z {
		sum += (2*float64(i) + 1) / n * (logNormalCDF(z[i]) + logNormalCDF(-z[len(z)-1-i]))
	}
	a := -n - sum
	return Normality{a, andersonDarlingP(a * (1 + 0.75/n + 2.25/(n*n)))}
}

// logNormalCDF is ln Φ(z), by the leading terms of its asymptotic series where
// Φ itself would underflow.
func logNormalCDF(z float64) float64 {
	if z < -30 {
		return -z*z/2 - math.Log(-z) - math.Log(2*math.Pi)/2 - 1/(z*z)
	}
	return math.Log(normalCDF(z))
}

// andersonDarlingP is the chance of a corrected A² over a.
func andersonDarlingP(a float64) float64 {
	switch {
	case a < 0.2:
		return 1 - math.Exp(-13.436+101.14*a-223.73*a*a)
	case a < 0.34:
		return 1 - math.Exp(-8.318+42.796*a-59.938*a*a)
	case a < 0.6:
		return math.Exp(0.9177 - 4.279*a - 1.38*a*a)
	case a < 10:
		return math.Exp(1.2937 - 5.709*a + 0.0186*a*a)
	}
	return 0 // below 1e-23
}
