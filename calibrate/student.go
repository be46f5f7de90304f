package calibrate

import "math"

// student is Student's t distribution.
type student struct {
	mean, scale2, df float64
}

// log is the log density without its constant.
func (t *student) log(x float64) float64 {
	d := x - t.mean
	return -(t.df + 1) / 2 * math.Log1p(d*d/(t.df*t.scale2))
}

// slope is the derivative of −log.
func (t *student) slope(x float64) float64 { return t.bend(x) * (x - t.mean) }

// bend is the curvature of the parabola that touches −log at x and lies above
// it elsewhere; never negative, as a guess for a descent must be.
func (t *student) bend(x float64) float64 {
	d := x - t.mean
	return (t.df + 1) / (t.df*t.scale2 + d*d)
}

// widened is a normal of a mixture.
type widened struct {
	variance, log float64 // log of its weight
}

// studentNormals are the normals that a t distribution is made of.
const studentNormals = 9

// normals is the t distribution as a mixture of normals about its mean: that
// with variance scale²/λ, λ being χ²/df, summed in steps of ln λ's own standard
// deviation. They follow the density within
// 3 % out to four scales, and lie below it from where it is next to nothing.
func (t *student) normals() []widened {
	step := math.Sqrt(2 / t.df)
	var out []widened
	total := 0.0
	for i := range studentNormals {
		u := float64(i-5) * step              // ln λ; the wide normals matter more
		log := t.df / 2 * (u - math.Expm1(u)) // of λ's density, less that at 1
		total += math.Exp(log)
		out = append(out, widened{t.scale2 * math.Exp(-u), log})
	}
	for i := range out {
		out[i].log -= math.Log(total)
	}
	return out
}
