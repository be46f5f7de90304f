package data

import (
	"context"
	_ "embed"

	"trueplait/model"
)

//go:embed query/fill_compute.sql
var fillCompute string

//go:embed query/fill_by_parts.sql
var fillByParts string

//go:embed query/cord_check_by_parts.sql
var checkByParts string

//go:embed query/unit_slips.sql
var unitSlips string

//go:embed query/slip_medians.sql
var slipMedians string

// SettleOptions are the figures that parts lists give to rows without a
// prediction. NaN, and 0: none, because the lists do not share one.
type SettleOptions struct {
	ShotGMM   float64 // load of the core that all products share, g/mm
	StrandGMM float64 // mass per length of the strand cord that all products share, g/mm
}

// Settled is what is known once all files of an import are in.
type Settled struct {
	FillsComputed   int        // test fills whose base was worked out from builds
	FillsFromParts  int        // test fills whose base was worked out from parts lists
	ChecksFromParts int        // cord checks whose base was worked out from parts lists
	Slips           []UnitSlip // by file and line

	// Unpredicted counts the rows of the import, per kind, that state no
	// prediction for anything they measured: kept, but not fitted.
	Unpredicted map[model.Kind]int
}

// UnitSlip is a measured figure that looks like another unit.
type UnitSlip struct {
	Key    model.RowKey
	Origin model.Origin
	Column string // of the CSV: weight, length, shot_used, strand_cut, shot_mass, checked_mass
	Ratio  float64
	Median float64 // of the column's ratio over the log's rows that are no slip; NaN without any
}

// Dimension says which units the column is written in.
func (u UnitSlip) Dimension() model.Dimension {
	if u.Column == "length" || u.Column == "strand_cut" {
		return model.LengthDimension
	}
	return model.MassDimension
}

// Settle does what needs all files of the import. Test fills that state no
// prediction, older ones too, get
//
//	filled length · median of predicted shot/load length
//
// over the builds that state both, with the factors taken out; where no build
// does, filled length · opt.ShotGMM. Cord checks that state none get checked
// length · opt.StrandGMM. What was worked out once is never worked out again.
func (im *Import) Settle(ctx context.Context, opt SettleOptions) (Settled, error) {
	var s Settled
	var err error
	if s.FillsComputed, err = im.exec(ctx, "test fills without a prediction", fillCompute); err != nil {
		return s, err
	}
	// Any fill that is still without a figure is so because no build gives a load.
	if s.FillsFromParts, err = im.fromParts(ctx, "test fills without a prediction", fillByParts, opt.ShotGMM); err != nil {
		return s, err
	}
	if s.ChecksFromParts, err = im.fromParts(ctx, "cord checks without a prediction", checkByParts, opt.StrandGMM); err != nil {
		return s, err
	}
	var builds, fills, checks int
	err = im.each(ctx, "rows without a prediction", unpredictedQuery, []any{&builds, &fills, &checks}, func() {
		s.Unpredicted = map[model.Kind]int{model.Builds: builds, model.Fills: fills, model.Checks: checks}
	}, im.first, forever)
	if err != nil {
		return s, err
	}
	s.Slips, err = im.slips(ctx)
	return s, err
}

// fromParts gives rows without a prediction what parts lists say per length,
// if they say anything, and returns how many rows that were.
func (im *Import) fromParts(ctx context.Context, what, query string, perMM float64) (int, error) {
	if !(perMM > 0) {
		return 0, nil
	}
	figure := field{"mass per length", &perMM}
	v, err := figure.value()
	if err != nil {
		return 0, im.fail(what, err)
	}
	return im.exec(ctx, what, query, v)
}

// slips lists the unit slips among the rows of the import.
func (im *Import) slips(ctx context.Context) ([]UnitSlip, error) {
	var u UnitSlip
	var out []UnitSlip
	targets := []any{&u.Key.Kind, &u.Key.ID, &u.Origin.File, &u.Origin.Line, &u.Column, &u.Ratio}
	err := im.each(ctx, "unit slips", unitSlips, targets, func() { out = append(out, u) }, im.first)
	if err != nil || len(out) == 0 {
		return nil, err
	}
	type column struct {
		kind model.Kind
		name string
	}
	medians := map[column]float64{}
	var c column
	var median float64
	err = im.each(ctx, "ratios", slipMedians, []any{&c.kind, &c.name, &median}, func() { medians[c] = median })
	if err != nil {
		return nil, err
	}
	for i := range out {
		out[i].Median = model.Unknown
		if m, ok := medians[column{out[i].Key.Kind, out[i].Column}]; ok {
			out[i].Median = m
		}
	}
	return out, nil
}
