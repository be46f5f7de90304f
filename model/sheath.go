package model

import "math"

// sheath is the braided wall of a core's cord as bought.
type sheath struct {
	diameter  float64 // inside, mm
	thickness float64 // of the wall, mm
	angle     float64 // of its strands to the axis, radians
}

// opened returns how many mm of cord as bought make one mm opened to an
// inside diameter of bore mm. The strands keep their length, so that
//
//	sin θ₁ = sin θ₀ · (D+t)/(D₀+t)
//	as bought/opened = cos θ₀/cos θ₁
//
// at the middle of the wall. NaN where sin θ₁ ≥ 1: the cord does not open so
// far.
func (s sheath) opened(bore float64) float64 {
	sin := math.Sin(s.angle) * (bore + s.thickness) / (s.diameter + s.thickness)
	if sin >= 1 {
		return Unknown
	}
	return math.Cos(s.angle) / math.Sqrt(1-sin*sin)
}

// widest is the inside diameter, mm, that the cord would open to when its
// strands lie across: (D₀+t)/sin θ₀ − t.
func (s sheath) widest() float64 {
	return (s.diameter+s.thickness)/math.Sin(s.angle) - s.thickness
}
