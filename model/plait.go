package model

import (
	"fmt"
	"math"
)

// taper is a stretch of a layer over which the diameter of what it is plaited
// over goes linearly from one value to another, mm.
type taper struct {
	row      *Part
	from, to float64 // from the butt
	start    float64 // diameter at from
	end      float64 // diameter at to
}

// layer is one plait: strands that run through tapers lying end to end.
//
// Strands of width w and thickness t cover the core fully, so that at the
// middle of a wall two strands thick, D_e = D + 2t,
//
//	cos θ = N w/(2π D_e)
//
// θ the angle of the strands to the axis. As the core thins the plait lengthens
// until θ is down to the drop angle α; from there on strands are dropped in
// pairs: N is the largest even number with N w ≤ 2π D_e cos α, and never grows
// again.
type layer struct {
	name      string
	strands   int     // even
	width     float64 // mm
	thickness float64 // mm
	drop      float64 // α, radians
	tail      float64 // of each strand, mm
	perM      float64 // mass of one strand, g/m
	tapers    []taper
}

// effective is the diameter at the middle of the wall over a core of a
// diameter, mm.
func (l *layer) effective(diameter float64) float64 { return diameter + 2*l.thickness }

// outside is the diameter over the layer, mm.
func (l *layer) outside(diameter float64) float64 { return diameter + 4*l.thickness }

// cos is cos θ of n strands at an effective diameter.
func (l *layer) cos(n int, effective float64) float64 {
	return float64(n) * l.width / (2 * math.Pi * effective)
}

// narrowest is the effective diameter at which n strands lie at the drop
// angle, mm.
func (l *layer) narrowest(n int) float64 {
	return float64(n) * l.width / (2 * math.Pi * math.Cos(l.drop))
}

// slack is the relative rounding up to which a diameter counts as wide enough.
const slack = 1e-12

// most is the largest even number of strands that an effective diameter holds
// at the drop angle.
func (l *layer) most(effective float64) int {
	return 2 * int(effective/l.narrowest(2)*(1+slack))
}

// run is a stretch over which the number of strands stays and the effective
// diameter is linear, mm.
type run struct {
	strands    int
	from, to   float64 // from the butt
	start, end float64 // effective diameter
}

// runs divides a layer where strands are dropped. The error says where fewer
// than four would be left.
func (l *layer) runs() ([]run, error) {
	var runs []run
	n := l.strands
	for _, t := range l.tapers {
		r := run{from: t.from, to: t.to, start: l.effective(t.start), end: l.effective(t.end)}
		n = min(n, l.most(r.start))
		for n >= minStrands && r.end < l.narrowest(n)*(1-slack) {
			d := l.narrowest(n)
			at := r.from + (r.start-d)/(r.start-r.end)*(r.to-r.from)
			runs = append(runs, run{n, r.from, at, r.start, d})
			r.from, r.start = at, d
			n -= 2
		}
		if n < minStrands {
			return nil, fmt.Errorf("thin out to fewer than %d from %s on: use narrower strands or a thicker core, or end the layer there", minStrands, showMM(r.from))
		}
		r.strands = n
		runs = append(runs, r)
	}
	return runs, nil
}

// minStrands is the least that makes a round plait.
const minStrands = 4

// strandLength is the length that one strand uses up over a run, mm: its part
// of ∫ dx/cos θ, which is exact as D_e is linear,
//
//	2π/(N w) · (to − from) · (D_e(from) + D_e(to))/2
func (l *layer) strandLength(r run) float64 {
	return math.Pi * (r.to - r.from) * (r.start + r.end) / (float64(r.strands) * l.width)
}

// groups lists the strands of a layer by where they end, the shortest first.
func (l *layer) groups(runs []run) []Strands {
	var groups []Strands
	length := 0.0
	for i, r := range runs {
		length += l.strandLength(r)
		left := 0
		if i+1 < len(runs) {
			left = runs[i+1].strands
		}
		if r.strands > left {
			groups = append(groups, Strands{r.strands - left, r.to, length + l.tail})
		}
	}
	return groups
}

// moment returns the layer's mass and moment. Whatever the number of strands,
// together they are N/cos θ = 2π D_e/w long per length of layer, so that over a
// taper of length L from x₀, with D_e from a to b,
//
//	∫ D_e dx   = L (a + b)/2
//	∫ x D_e dx = x₀ L (a + b)/2 + L² (a + 2b)/6
func (l *layer) moment() moment {
	var sum moment
	perArea := l.perM / mmPerM * 2 * math.Pi / l.width
	for _, t := range l.tapers {
		a, b, length := l.effective(t.start), l.effective(t.end), t.to-t.from
		area := length * (a + b) / 2
		sum = sum.plus(moment{perArea * area, perArea * (t.from*area + length*length*(a+2*b)/6)})
	}
	return sum
}

// widest returns the largest angle of the strands to the axis, radians, and
// where it is, mm from the butt.
func (l *layer) widest(runs []run) (angle, at float64) {
	for _, r := range runs {
		for _, end := range []struct{ at, effective float64 }{{r.from, r.start}, {r.to, r.end}} {
			if θ := math.Acos(l.cos(r.strands, end.effective)); θ > angle {
				angle, at = θ, end.at
			}
		}
	}
	return angle, at
}
