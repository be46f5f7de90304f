package calibrate

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"trueplait/model"
)

// trade is a large invented workshop: batches are used up in turn, each by a
// few makers, and products alternate at random.
type trade struct {
	rows, makers, batches, shots, products int
	hands                                  int  // makers who share a batch; 0: all
	crossed                                bool // every batch meets every maker: as many cells as rows
}

func (w trade) String() string {
	return fmt.Sprintf("rows=%d/makers=%d/batches=%d", w.rows, w.makers, w.batches)
}

// builds draws labels and, for each quantity, ratios with a fixed seed, and
// gives them to use one build after the other.
func (w trade) builds(use func(i int, l model.Labels, y map[model.Quantity]float64)) {
	r := rand.New(rand.NewPCG(5, uint64(w.rows)))
	spread := func(n int, sd float64) []float64 {
		out := make([]float64, n)
		for i := range out {
			out[i] = sd * r.NormFloat64()
		}
		return out
	}
	names := func(prefix string, n int) []string {
		out := make([]string, n)
		for i := range out {
			out[i] = fmt.Sprintf("%s%04d", prefix, i)
		}
		return out
	}
	maker, core, strand, shot, product := names("M", w.makers), names("C", w.batches), names("N", w.batches), names("S", w.shots), names("P", w.products)
	packing, mass, stretch := spread(w.makers, 0.04), spread(w.makers, 0.03), spread(w.makers, 0.02)
	ofCore, ofShot, ofStrand, ofLength := spread(w.batches, 0.06), spread(w.shots, 0.01), spread(w.batches, 0.04), spread(w.batches, 0.02)
	y := map[model.Quantity]float64{}
	for i := range w.rows {
		turn := func(n int) int { return i * n / w.rows }
		c := min(w.batches-1, turn(w.batches)+r.IntN(2))
		n := min(w.batches-1, turn(w.batches)+r.IntN(2))
		m, h, p := r.IntN(w.makers), turn(w.shots), r.IntN(w.products)
		if w.hands > 0 {
			m = (c*7 + r.IntN(w.hands)) % w.makers
			n = c
			if r.IntN(8) == 0 {
				n = min(w.batches-1, c+1)
			}
		}
		if w.crossed {
			half := w.rows / w.batches / 2
			m, c, n = i%w.makers, turn(w.batches), min(w.batches-1, (i+half)*w.batches/w.rows)
		}
		y[model.Shot] = packing[m] + ofCore[c] + ofShot[h] + 0.03*r.NormFloat64()
		y[model.Body] = mass[m] + ofStrand[n] + 0.02*r.NormFloat64()
		y[model.Weight] = math.Log(0.3*math.Exp(y[model.Shot]) + 0.7*math.Exp(y[model.Body]))
		y[model.Length] = stretch[m] + ofLength[n] + 0.01*r.NormFloat64()
		y[model.Strand] = stretch[m] + 0.5*ofLength[n] + 0.02*r.NormFloat64()
		use(i, model.Labels{Maker: maker[m], CoreBatch: core[c], StrandBatch: strand[n], ShotBatch: shot[h], Product: product[p]}, y)
	}
}

// log keeps every build.
func (w trade) log() *Rows {
	of := map[model.Quantity][]model.Observation{}
	w.builds(func(i int, l model.Labels, y map[model.Quantity]float64) {
		base := map[model.Quantity]float64{model.Shot: 100, model.Body: 300, model.Weight: 400, model.Length: 2000, model.Strand: 5000}
		for _, q := range model.Quantities {
			o := model.Observation{Key: model.RowKey{Kind: model.Builds, ID: fmt.Sprintf("B%07d", i)}, Date: day(i / 2), Labels: l, Y: y[q], Base: base[q], Planned: base[q], ShotBase: 100}
			o.Measured = o.Base * math.Exp(o.Y)
			of[q] = append(of[q], o)
		}
	})
	return NewRows(of)
}

// cells sums the builds up as they come, for logs too large to keep.
func (w trade) cells() *summed {
	s := &summed{rows: w.rows, cells: map[model.Quantity][]model.Cell{}, newest: map[model.Quantity][]model.Observation{}}
	at := map[model.Quantity]map[model.Labels]int{}
	w.builds(func(i int, l model.Labels, y map[model.Quantity]float64) {
		for _, q := range model.Quantities {
			var own model.Labels
			for _, e := range q.Effects() {
				own.Set(e, l.Get(e))
			}
			if at[q] == nil {
				at[q] = map[model.Labels]int{}
			}
			j, ok := at[q][own]
			if !ok {
				j = len(s.cells[q])
				at[q][own] = j
				s.cells[q] = append(s.cells[q], model.Cell{Kind: model.Builds, Labels: own})
			}
			c := &s.cells[q][j]
			c.N++
			d := y[q] - c.Mean
			c.Mean += d / float64(c.N)
			c.SS += d * (y[q] - c.Mean)
			if i >= w.rows-driftRows {
				s.newest[q] = append(s.newest[q], model.Observation{Key: model.RowKey{Kind: model.Builds, ID: fmt.Sprintf("B%07d", i)}, Date: day(i / 100), Labels: l, Y: y[q]})
			}
		}
	})
	return s
}

// summed is a Source of which only the sums are there: none of its rows is far
// from a fit.
type summed struct {
	Rows
	rows   int
	cells  map[model.Quantity][]model.Cell
	newest map[model.Quantity][]model.Observation
}

func (s *summed) Summary(context.Context) (model.Summary, error) {
	return model.Summary{Builds: s.rows, Weighed: s.rows, Split: s.rows, Through: time.Date(2025, 1, 1, 0, 0, 0, 0, time.UTC)}, nil
}

func (s *summed) Cells(_ context.Context, q model.Quantity, _ []model.RowKey) ([]model.Cell, error) {
	return s.cells[q], nil
}

func (s *summed) Screen(context.Context, model.Quantity, model.Fitted, []model.RowKey) (model.Screen, error) {
	return model.Screen{N: s.rows, Scale: 0.02}, nil
}

func (s *summed) Combinations(_ context.Context, q model.Quantity, _ []model.Effect) ([]model.Labels, error) {
	out := make([]model.Labels, len(s.cells[q]))
	for i := range out {
		out[i] = s.cells[q][i].Labels
	}
	return out, nil
}

func (s *summed) Newest(_ context.Context, q model.Quantity, n int) ([]model.Observation, error) {
	return slices.Clone(s.newest[q]), nil
}

// checkFit compares a fit of a trade with what it was made with.
func (w trade) checkFit(b *testing.B, c *Calibration) {
	b.Helper()
	for q, sigma := range map[model.Quantity]float64{model.Shot: 0.03, model.Body: 0.02, model.Length: 0.01, model.Strand: 0.02} {
		f := c.Quantity(q)
		if f.Rows < w.rows*99/100 || f.REML == nil || math.Abs(f.REML.Residual-sigma) > 0.1*sigma {
			b.Fatalf("%s: %d rows, fit %+v; want scatter %g", q, f.Rows, f.REML, sigma)
		}
		for _, x := range f.Factors {
			if !(x.Low < x.Median && x.Median < x.High) {
				b.Fatalf("%s: factor %+v", q, x)
			}
		}
	}
}

// Everything a calibration is, from rows in memory: scans included.
func BenchmarkFit(b *testing.B) {
	for _, w := range []trade{
		{rows: 500, makers: 5, batches: 20, shots: 5, products: 10},
		{rows: 10_000, makers: 5, batches: 60, shots: 10, products: 30},
		{rows: 10_000, makers: 5, batches: 300, shots: 50, products: 30},
	} {
		b.Run(w.String(), func(b *testing.B) {
			rows := w.log()
			b.ReportAllocs()
			var c *Calibration
			for b.Loop() {
				var err error
				if c, err = Fit(b.Context(), rows, Options{}); err != nil {
					b.Fatal(err)
				}
			}
			w.checkFit(b, c)
		})
	}
}

// The same from cells, for a million builds: batches used in turn by three
// makers each, and the worst case, every batch met by every maker. bare is a
// pass over the same cells.
func BenchmarkFitCells(b *testing.B) {
	for _, w := range []trade{
		{rows: 1_000_000, makers: 200, batches: 5_000, shots: 800, products: 30, hands: 3},
		{rows: 1_000_000, makers: 200, batches: 5_000, shots: 800, products: 1, crossed: true},
	} {
		var src *summed
		b.Run(fmt.Sprintf("%s/crossed=%v", w, w.crossed), func(b *testing.B) {
			src = w.cells()
			n := 0
			for _, c := range src.cells {
				n += len(c)
			}
			b.ReportAllocs()
			var c *Calibration
			for b.Loop() {
				var err error
				if c, err = Fit(b.Context(), src, Options{}); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(n), "cells")
			w.checkFit(b, c)
		})
		b.Run(fmt.Sprintf("bare/%s/crossed=%v", w, w.crossed), func(b *testing.B) {
			if src == nil {
				src = w.cells()
			}
			sum := 0.0
			for b.Loop() {
				sum = 0
				for _, cells := range src.cells {
					for i := range cells {
						sum += float64(cells[i].N)
					}
				}
			}
			if sum != float64(5*w.rows) {
				b.Fatalf("%g rows", sum)
			}
		})
	}
}
