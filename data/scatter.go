package data

import (
	"context"
	_ "embed"
	"errors"
	"math"

	"trueplait/model"
)

//go:embed query/residual_scan.sql
var residualScan string

// Settings of the search for medians.
const (
	fewRows   = 10_000      // so many are read one by one
	fineness  = 128         // bins to a median distance, at least
	coarse    = 16          // bins of which there are fewer are too wide
	drifting  = 64          // part of itself by which a spread moves from one scan to the next
	thinnest  = 1. / 16_384 // width of a bin, log units: a thirtieth of the least scale
	mostScans = 8           // two are enough but for the oddest rows
)

// spread is where the middle of residuals lies and the median of their
// distances from it, or what is known of them.
type spread struct{ middle, deviation middle }

// middle is the mean of the middle two of some sizes, each given by the ends of
// its bin: of one that was read, these are the size itself.
type middle struct{ low, high size }

// size is what lies from low to high.
type size struct{ low, high float64 }

func (s size) at() float64   { return (s.low + s.high) / 2 }
func (m middle) at() float64 { return (m.low.at() + m.high.at()) / 2 }
func (m middle) known() bool { return m.low.low == m.low.high && m.high.low == m.high.high }

// scatter scans the residuals, and returns the scale of those that the fit
// used: see [model.Screen].
//
// Both medians are exact, though of many residuals only those near the middle,
// and near its distance, are read: the others are counted in bins. Where to read
// is known from the scan before; the first one only counts. What stands out is
// found on the way.
func (o *Observations) scatter(ctx context.Context, conn *session, q model.Quantity, f model.Fitted) (*histogram, float64, error) {
	at := &o.log.compared
	const normal = 0.6745 // median distance of a normal distribution, in standard deviations
	h := &histogram{width: binWidth(normal * f.Sigma), read: readNothing, out: math.Inf(1)}
	if before, ok := at.spread[q]; ok {
		h = histogramNear(before, binWidth(before.deviation.at()), before.deviation.at()/drifting)
	}
	if at.rows <= fewRows {
		h.read, h.out = readAll, model.FlagAt*model.MinScale
	}
	for range mostScans {
		if err := h.scan(ctx, conn, q, f); err != nil {
			return nil, 0, err
		}
		found := h.spread()
		d := found.deviation.at()
		scale := max(madScale*d, model.MinScale)
		fine := found.middle.known() && found.deviation.known() || madScale*(d+2*h.width) < model.MinScale
		if fine && h.out <= model.FlagAt*scale {
			at.spread[q] = found
			return h, scale, nil
		}
		width := h.width
		if d < coarse*width {
			width = min(width, binWidth(d))
		}
		h = histogramNear(found, width, 0)
	}
	return nil, 0, errors.New("what the fit leaves of the rows has no median")
}

// histogramNear returns a histogram that reads what lies near a spread, and the rows that
// may stand out. Where the spread is of the same residuals, in bins that are no
// wider, that is enough to know it: it is off by less than two bins.
func histogramNear(s spread, width, slack float64) *histogram {
	slack = max(slack, 2*width)
	return &histogram{width: width, read: readNear(s, width, slack),
		out: model.FlagAt * max(madScale*(s.deviation.at()-slack), model.MinScale)}
}

// madScale makes a median distance the standard deviation of a normal
// distribution.
const madScale = 1.4826

// binWidth is the width of bins for sizes that lie about deviation from their
// middle. It is a power of two: ends of bins are exact then, and
// floor(size/width) tells on which side of them a size lies.
func binWidth(deviation float64) float64 {
	if !(deviation > fineness*thinnest) {
		return thinnest
	}
	_, exp := math.Frexp(deviation / fineness)
	return math.Ldexp(0.5, exp)
}
