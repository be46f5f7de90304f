package calibrate

import (
	"context"
	"math"
	"slices"
	"testing"
	"time"
	"unique"

	"trueplait/model"
	"trueplait/model/trade"
)

// observed is the y of a build's quantities, in the order of
// model.Quantities.
func observed(b *model.Build) [5]float64 {
	return [5]float64{
		math.Log(b.ShotUsedG / b.PredictedShotG),
		math.Log((b.WeightG - b.ShotUsedG) / (b.PredictedWeightG - b.PredictedShotG)),
		math.Log(b.WeightG / b.PredictedWeightG),
		math.Log(b.LengthMM / b.PredictedLengthMM),
		math.Log((b.StrandCutMM - b.StrandLeftMM) / b.PredictedStrandMM),
	}
}

// rowsOf keeps every build of a trade.
func rowsOf(w trade.Trade) *Rows {
	of := map[model.Quantity][]model.Observation{}
	for b := range w.Builds() {
		base := [5]float64{b.PredictedShotG, b.PredictedWeightG - b.PredictedShotG, b.PredictedWeightG, b.PredictedLengthMM, b.PredictedStrandMM}
		for i, y := range observed(b) {
			q := model.Quantities[i]
			of[q] = append(of[q], model.Observation{
				Key: model.RowKey{Kind: model.Builds, ID: b.ID}, Date: b.Date, Labels: b.Labels,
				Y: y, Base: base[i], Measured: base[i] * math.Exp(y), Planned: base[i], ShotBase: b.PredictedShotG,
			})
		}
	}
	return NewRows(of)
}

// summed is a trade too large to keep, as a Source of sums: of all rows, and
// of those that are no typing errors, which are what stands out of any fit.
type summed struct {
	Rows
	rows      int
	all, kept map[model.Quantity][]model.Cell
	errors    map[model.Quantity][]model.Flagged
	newest    map[model.Quantity][]model.Observation
}

// sumUp sums the builds of a trade up.
func sumUp(w trade.Trade) *summed {
	const error = 0.27 // log units from the plan
	s := &summed{
		rows: w.Rows,
		all:  map[model.Quantity][]model.Cell{}, kept: map[model.Quantity][]model.Cell{},
		errors: map[model.Quantity][]model.Flagged{}, newest: map[model.Quantity][]model.Observation{},
	}
	type place struct{ all, kept int32 } // 1 + where a cell is; 0: nowhere
	at := map[model.Quantity]map[model.Labels]place{}
	for _, q := range model.Quantities {
		at[q] = map[model.Labels]place{}
	}
	add := func(cells *[]model.Cell, i *int32, l model.Labels, y float64) {
		if *i == 0 {
			*cells = append(*cells, model.Cell{Kind: model.Builds, Labels: l})
			*i = int32(len(*cells))
		}
		c := &(*cells)[*i-1]
		c.N++
		d := y - c.Mean
		c.Mean += d / float64(c.N)
		c.SS += d * (y - c.Mean)
	}
	n := 0
	for b := range w.Builds() {
		n++
		var labels model.Labels
		for _, e := range model.Effects {
			labels.Set(e, unique.Make(b.Labels.Get(e)).Value())
		}
		for i, y := range observed(b) {
			q := model.Quantities[i]
			own := onlyEffects(&labels, q)
			p := at[q][own]
			all, kept := s.all[q], s.kept[q]
			add(&all, &p.all, own, y)
			key := model.RowKey{Kind: model.Builds, ID: b.ID}
			if math.Abs(y) < error {
				add(&kept, &p.kept, own, y)
			} else {
				s.errors[q] = append(s.errors[q], model.Flagged{Key: key, Date: b.Date, Labels: labels, Ratio: math.Exp(y), T: y})
			}
			s.all[q], s.kept[q] = all, kept
			at[q][own] = p
			if n > w.Rows-driftRows {
				s.newest[q] = append(s.newest[q], model.Observation{Key: key, Date: b.Date, Labels: labels, Y: y})
			}
		}
	}
	for _, cells := range []map[model.Quantity][]model.Cell{s.all, s.kept} {
		for q := range cells {
			slices.SortFunc(cells[q], func(a, b model.Cell) int { return compareLabels(&a.Labels, &b.Labels, model.Effects) })
		}
	}
	return s
}

func (s *summed) Summary(context.Context) (model.Summary, error) {
	return model.Summary{Builds: s.rows, Weighed: s.rows, Split: s.rows, Through: time.Date(2025, 1, 1, 0, 0, 0, 0, time.UTC)}, nil
}

func (s *summed) Cells(_ context.Context, q model.Quantity, aside []model.RowKey) ([]model.Cell, error) {
	if len(aside) == 0 {
		return slices.Clone(s.all[q]), nil
	}
	return slices.Clone(s.kept[q]), nil
}

func (s *summed) Screen(_ context.Context, q model.Quantity, _ model.Fitted, _ []model.RowKey) (model.Screen, error) {
	return model.Screen{N: s.rows, Scale: 0.02, Flagged: s.errors[q]}, nil
}

func (s *summed) Combinations(_ context.Context, q model.Quantity, effects []model.Effect) ([]model.Labels, error) {
	var out []model.Labels
	for i := range s.all[q] {
		l := s.all[q][i].Labels
		if !slices.ContainsFunc(effects, func(e model.Effect) bool { return l.Get(e) == "" }) {
			out = append(out, l)
		}
	}
	return out, nil
}

func (s *summed) Newest(_ context.Context, q model.Quantity, n int) ([]model.Observation, error) {
	return slices.Clone(s.newest[q]), nil
}

// checkFit compares a fit of a trade with what it was made with.
func checkFit(b *testing.B, w trade.Trade, c *Calibration) {
	b.Helper()
	scatter := map[model.Quantity]float64{
		model.Shot: trade.ShotScatter, model.Body: trade.BodyScatter,
		model.Length: trade.LengthScatter, model.Strand: trade.StrandScatter,
	}
	for q, sigma := range scatter {
		f := c.Quantity(q)
		if f.Rows < w.Rows*99/100 || f.REML == nil || math.Abs(f.REML.Residual-sigma) > 0.1*sigma {
			b.Fatalf("%s: %d rows, residual %+v; want scatter %g", q, f.Rows, f.REML, sigma)
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
	for _, w := range []trade.Trade{
		{Rows: 500, Makers: 5, Batches: 20, Products: 10},
		{Rows: 10_000, Makers: 5, Batches: 60, Products: 30},
		{Rows: 10_000, Makers: 5, Batches: 300, Products: 30},
	} {
		b.Run(w.String(), func(b *testing.B) {
			rows := rowsOf(w)
			b.ReportAllocs()
			var c *Calibration
			for b.Loop() {
				var err error
				if c, err = Fit(b.Context(), rows, Options{}); err != nil {
					b.Fatal(err)
				}
			}
			checkFit(b, w, c)
		})
	}
}

// The same from cells, for a million builds. bare is a pass over the same
// cells.
func BenchmarkFitCells(b *testing.B) {
	for _, crossed := range []bool{false, true} {
		w := trade.Large(1_000_000, crossed)
		var src *summed
		b.Run(w.String(), func(b *testing.B) {
			src = sumUp(w)
			n := 0
			for _, c := range src.all {
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
			checkFit(b, w, c)
		})
		b.Run("bare/"+w.String(), func(b *testing.B) {
			if src == nil {
				src = sumUp(w)
			}
			sum := 0.0
			for b.Loop() {
				sum = 0
				for _, cells := range src.all {
					for i := range cells {
						sum += float64(cells[i].N)
					}
				}
			}
			if sum != float64(5*w.Rows) {
				b.Fatalf("%g rows", sum)
			}
		})
	}
}
