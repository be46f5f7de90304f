package calibrate

import (
	"math"

	"trueplait/model"
)

// Expected is a measured figure beside what was expected of it.
type Expected struct {
	Quantity model.Quantity
	Measured float64  // g or mm
	Planned  float64  // the base prediction
	Today    Interval // what today's factors expect of it: median and 95 % limits; limits are NaN where nothing is known yet
	Slip     *Whole   // a whole unit too many or too few, by the look of it
}

// Inside reports whether the figure is inside today's limits, or none are
// known.
func (e Expected) Inside() bool {
	return !model.Known(e.Today.Low) || e.Today.Low <= e.Measured && e.Measured <= e.Today.High
}

// Whole is a whole unit that makes a figure fit: what happens where a tape is
// read at the wrong foot, or a pound goes uncounted.
type Whole struct {
	Unit string  // "foot", "inch", "pound", "ounce"
	Off  int     // how many too many; below 0: too few
	Fits float64 // what would be expected: the figure without them
}

// wholes are the units that people miscount, in the order they are tried.
var wholes = map[model.Dimension][]struct {
	unit string
	size float64
}{
	model.LengthDimension: {{"foot", 12 * model.MMPerInch}, {"inch", model.MMPerInch}},
	model.MassDimension:   {{"pound", 16 * model.GramsPerOunce}, {"ounce", model.GramsPerOunce}},
}

// How sure a figure must be out of place, and how well its neighbour must fit,
// for a miscounted unit to be asked about: tails of the predictive
// distribution (common practice, no source).
const (
	outOfPlace = 0.0025
	wellInside = 0.10
)

// Expect compares the measured figures of a row with what is expected of it
// today: the next build's distribution for its labels, over its base figures.
// Quantities without a base or a positive measured figure are left out.
func (c *Calibration) Expect(l model.Labels, base, measured map[model.Quantity]float64) []Expected {
	n := c.next(l)
	var out []Expected
	for _, q := range model.Quantities {
		b, m := figureOf(base, q), figureOf(measured, q)
		if !(b > 0 && m > 0) {
			continue
		}
		e := Expected{Quantity: q, Measured: m, Planned: b, Today: n.figure(q, b)}
		quantile := n.quantile(q, base)
		if quantile != nil {
			tail := (1 - bandCoverage) / 2
			e.Today = Interval{quantile(0.5), quantile(tail), quantile(1 - tail)}
			e.Slip = miscounted(q, m, quantile)
		}
		out = append(out, e)
	}
	return out
}

// figureOf is a quantity's figure, NaN where there is none.
func figureOf(of map[model.Quantity]float64, q model.Quantity) float64 {
	if x, ok := of[q]; ok {
		return x
	}
	return model.Unknown
}

// quantile is the quantile function of the next build's figure, nil where
// nothing is known of it. The weight is the sum of its parts where a plan's
// would be.
func (n *next) quantile(q model.Quantity, base map[model.Quantity]float64) func(p float64) float64 {
	b, shot := base[q], figureOf(base, model.Shot)
	if q == model.Weight && model.Known(shot) {
		return n.weightQuantile(&model.Design{WeightG: b, ShotG: shot, BodyG: b - shot})
	}
	ratio := n.of[q]
	if ratio == nil {
		return nil
	}
	return func(p float64) float64 { return b * math.Exp(ratio.Quantile(p)) }
}

// miscounted looks for a whole unit too many or too few: x far out in the
// distribution, and well inside without it.
func miscounted(q model.Quantity, x float64, quantile func(p float64) float64) *Whole {
	if x >= quantile(outOfPlace) && x <= quantile(1-outOfPlace) {
		return nil
	}
	low, high := quantile(wellInside), quantile(1-wellInside)
	for _, w := range wholes[q.Dimension()] {
		for _, off := range []int{1, -1, 2, -2} {
			if fits := x - float64(off)*w.size; fits >= low && fits <= high {
				return &Whole{w.unit, off, fits}
			}
		}
	}
	return nil
}
