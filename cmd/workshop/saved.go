package workshop

import (
	"context"
	"fmt"
	"slices"

	"trueplait/calibrate"
	"trueplait/data"
	"trueplait/model"
	"trueplait/report"
)

// saved fits anew after a row and says what changed. The row is saved: what
// goes wrong from here on is a warning.
func (b *Bench) saved(ctx context.Context, c committed) *report.Saved {
	b.after.Lock()
	defer b.after.Unlock()
	row := c.row
	out := &report.Saved{Row: row, Amended: c.taken.Amended > 0, Warnings: c.taken.bare()}
	warn := func(err error) {
		if err != nil {
			out.Warnings = append(out.Warnings, fmt.Sprintf("the row is saved, but what follows from it could not be worked out: %v", data.InWords(b.opt.Path, err)))
		}
	}
	before, now, err := b.learn(ctx, c.write)
	warn(err)
	b.log.Lock()
	defer b.log.Unlock()
	full, _, err := b.workshop.Log.Full(ctx, row.Kind(), row.Key())
	warn(err)
	if full != nil {
		out.Row = full
	}
	out.Calibration, out.BaseLoadGMM = now.Calibration.Number, now.Calibration.Summary.BaseLoadGMM
	out.Changes, err = b.changes(ctx, before, now, out.Row)
	warn(err)
	if !out.Amended { // the moment to measure is when the whip is on the bench
		out.Reminders, err = b.reminders(ctx, out.Row)
		warn(err)
	}
	return out
}

// changes are those of the factors that the row bears on.
func (b *Bench) changes(ctx context.Context, before, now *state, row model.Row) ([]calibrate.Change, error) {
	var l model.Labels
	var of []model.Quantity
	switch r := row.(type) {
	case *model.Build:
		l = levels(now, r.Labels, r.Date)
		of = model.Quantities
	case *model.Fill:
		l = levels(now, r.Labels, r.Date)
		of = []model.Quantity{model.Shot}
	case *model.Check:
		l = levels(now, now.Latest, now.Today)
		l.StrandBatch = level(now, model.StrandBatch, r.StrandBatch, r.Date)
		of = []model.Quantity{model.Body}
	}
	var out []calibrate.Change
	for _, c := range calibrate.Changes(before.Calibration, now.Calibration, l) {
		if !slices.Contains(of, c.Quantity) {
			continue
		}
		kinds, err := b.kindsBehind(ctx, now, c)
		if err != nil {
			return nil, err
		}
		c.Kinds = kinds
		out = append(out, c)
	}
	return out, nil
}

// kindsBehind are the kinds of row that a factor was learnt from.
func (b *Bench) kindsBehind(ctx context.Context, s *state, c calibrate.Change) ([]model.Kind, error) {
	informs := map[model.Quantity]model.Kind{model.Shot: model.Fills, model.Body: model.Checks}[c.Quantity]
	if informs == "" {
		return []model.Kind{model.Builds}, nil
	}
	if c.Of == "" {
		n := s.Calibration
		return present(map[model.Kind]int{model.Builds: n.Builds, model.Fills: n.Fills, model.Checks: n.Checks}, informs), nil
	}
	uses, err := b.workshop.Log.Uses(ctx, c.Of, model.Unsplit(c.Labels.Get(c.Of), c.Of, s.Splits))
	return present(uses, informs), err
}

// present are builds and the other kind, as far as there are any.
func present(rows map[model.Kind]int, other model.Kind) []model.Kind {
	var out []model.Kind
	for _, kind := range []model.Kind{model.Builds, other} {
		if rows[kind] > 0 {
			out = append(out, kind)
		}
	}
	return out
}
