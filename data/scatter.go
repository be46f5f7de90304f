package data

import (
	"context"
	_ "embed"
	"math"
)

//go:embed query/residual_count.sql
var residualCount string

//go:embed query/residual_bins.sql
var residualBins string

//go:embed query/residual_below.sql
var residualBelow string

//go:embed query/residual_sizes.sql
var residualSizes string

// scatter counts the residuals, and says how far those that the fit used lie
// from their median: the median of the distances. It is 0 where there are none.
// sigma is a guess of their standard deviation.
//
// Both medians are exact. Few residuals are read; of many only those are that
// lie near the middle, which is found by counting, so that no engine has to put
// all of them in order.
func scatter(ctx context.Context, conn *session, sigma float64) (n int, deviation float64, err error) {
	var kept int
	if err := conn.QueryRowContext(ctx, residualCount).Scan(&n, &kept); err != nil || kept == 0 {
		return n, 0, err
	}
	s := &sizes{conn: conn, n: kept}
	middle, err := s.median(ctx, 0, sigma)
	if err != nil {
		return n, 0, err
	}
	const normal = 0.6745 // median distance of a normal distribution, in standard deviations
	s.distances, s.middle = true, middle
	deviation, err = s.median(ctx, normal*sigma, sigma)
	return n, deviation, err
}

// sizes are the residuals that the fit used, or their distances from a middle.
type sizes struct {
	conn      *session
	n         int
	distances bool
	middle    float64
}

// stretch is the sizes from low on that are below high.
type stretch struct {
	low, high  float64
	before, in int // sizes below it, and in it
}

// Settings of the search. Widths of bins are powers of two: their ends are exact,
// and floor(size/width) tells on which side of them a size lies.
const (
	fewSizes  = 10_000
	widestBin = 1. / 1024 // log units
	narrower  = 1024
	thinnest  = 1e-14 // sizes that share such a bin are equal but for rounding
)

// median is the middle size, or the mean of the middle two. It is looked for
// about a guess first.
func (s *sizes) median(ctx context.Context, guess, sigma float64) (float64, error) {
	lo, hi := (s.n-1)/2, s.n/2
	at := stretch{math.Inf(-1), math.Inf(1), 0, s.n}
	if s.n > fewSizes {
		near, err := s.near(ctx, guess, sigma)
		if err != nil {
			return 0, err
		}
		if near.before <= lo && hi < near.before+near.in {
			at = near
		}
	}
	for width := widestBin; at.in > fewSizes && width > thinnest; width /= narrower {
		var err error
		if at, err = s.narrow(ctx, at, width, lo, hi); err != nil {
			return 0, err
		}
	}
	var x []float64
	var size float64
	err := each(ctx, s.conn, residualSizes, []any{&size}, func() error {
		x = append(x, size)
		return nil
	}, s.distances, s.middle, at.low, at.high)
	if err != nil {
		return 0, err
	}
	return (x[lo-at.before] + x[hi-at.before]) / 2, nil
}

// near counts what lies about a guess: a hundredth of a normal distribution's
// sizes.
func (s *sizes) near(ctx context.Context, guess, sigma float64) (stretch, error) {
	at := stretch{low: guess - sigma/80, high: guess + sigma/80}
	err := s.conn.QueryRowContext(ctx, residualBelow, s.distances, s.middle, at.low, at.high).Scan(&at.before, &at.in)
	return at, err
}

// narrow cuts a stretch into bins and returns those in which the sizes of rank
// lo and hi lie, counted from 0.
func (s *sizes) narrow(ctx context.Context, from stretch, width float64, lo, hi int) (stretch, error) {
	first, last := math.NaN(), math.NaN()
	at := stretch{before: from.before}
	below := from.before
	var bin float64
	var n int
	err := each(ctx, s.conn, residualBins, []any{&bin, &n}, func() error {
		switch {
		case below+n <= lo:
			at.before = below + n
		case below <= hi:
			if math.IsNaN(first) {
				first = bin
			}
			last = bin
			at.in += n
		}
		below += n
		return nil
	}, s.distances, s.middle, from.low, from.high, width)
	at.low, at.high = math.Max(first*width, from.low), math.Min((last+1)*width, from.high)
	return at, err
}
