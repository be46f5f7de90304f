package data

import (
	"context"
	"database/sql"
	_ "embed"
	"errors"
	"fmt"
	"slices"
	"sync/atomic"
	"time"

	"trueplait/model"
)

//go:embed query/summary.sql
var summaryQuery string

//go:embed query/unpredicted.sql
var unpredictedQuery string

//go:embed query/excluded.sql
var excludedQuery string

//go:embed query/ratios.sql
var ratiosQuery string

//go:embed query/cells.sql
var cellsQuery string

//go:embed query/combinations.sql
var combinationsQuery string

//go:embed query/newest.sql
var newestQuery string

//go:embed query/deviation.sql
var deviationQuery string

//go:embed query/observations.sql
var observationsQuery string

// Observations is what fits read of a log: rows up to a date, compared and
// summed up in SQL. The formulas are in the view observation and those it is
// made of (migration/0002_observation.sql). It sees the rows as they are when it
// is first asked about them.
type Observations struct {
	log        *Log
	through    time.Time
	everything bool
	splits     []model.Split // in force
	listed     atomic.Int64  // observations of the quantity that was listed last
}

// Observations gives the observations dated through at the latest; with the
// zero time, all. With everything, unit slips and rows set aside by hand are
// not excluded; only rows without a ratio are.
func (l *Log) Observations(ctx context.Context, through time.Time, everything bool) (*Observations, error) {
	splits, err := l.Splits(ctx)
	if err != nil {
		return nil, err
	}
	return &Observations{log: l, through: bound(through), everything: everything, splits: splits}, nil
}

// Summary counts what the log holds.
func (o *Observations) Summary(ctx context.Context) (model.Summary, error) {
	var s model.Summary
	through, load := field{"through", &s.Through}, field{"load_g_mm", &s.BaseLoadGMM}
	err := o.log.db.QueryRowContext(ctx, summaryQuery, o.through).
		Scan(&s.Builds, &s.Fills, &s.Checks, &through, &s.Weighed, &s.Split, &load)
	if err == nil {
		err = o.log.db.QueryRowContext(ctx, unpredictedQuery, 0, o.through).
			Scan(&s.UnpredictedBuilds, &s.UnpredictedFills, &s.UnpredictedChecks)
	}
	if err != nil {
		return s, fmt.Errorf("data: summary: %w", err)
	}
	return s, nil
}

// Excluded lists the observations of q that no fit may use, by date, then id.
func (o *Observations) Excluded(ctx context.Context, q model.Quantity) ([]model.Excluded, error) {
	var e model.Excluded
	note := field{"note", &e.Note}
	var out []model.Excluded
	err := o.with(ctx, "rows left out of "+string(q), q, func(conn *session) error {
		targets := []any{&e.Key.Kind, &e.Key.ID, &e.Date, &e.Ratio, &e.Reason, &note}
		return each(ctx, conn, excludedQuery, targets, func() error {
			out = append(out, e)
			return nil
		})
	})
	return out, err
}

// Ratios reads measured/base of the named observations of q; keys without one
// are left out.
func (o *Observations) Ratios(ctx context.Context, q model.Quantity, keys []model.RowKey) (map[model.RowKey]float64, error) {
	var key model.RowKey
	var ratio float64
	out := map[model.RowKey]float64{}
	err := o.with(ctx, "ratios of "+string(q), q, func(conn *session) error {
		want := make([]wanted, len(keys))
		for i, k := range keys {
			want[i].key = k
		}
		if err := o.setWanted(ctx, conn, want); err != nil {
			return err
		}
		return each(ctx, conn, ratiosQuery, []any{&key.Kind, &key.ID, &ratio}, func() error {
			out[key] = ratio
			return nil
		})
	})
	return out, err
}

// Deviation returns how far builds lie from the planner's figure: of |y| of q
// over the n eligible builds not in aside, the ⌈(n+1)·share⌉-th smallest; NaN
// where that is more than n.
func (o *Observations) Deviation(ctx context.Context, q model.Quantity, aside []model.RowKey, share float64) (float64, error) {
	const rounding = 1e-9 // 0.95 is no binary fraction
	y := model.Unknown
	err := o.with(ctx, "deviation of "+string(q), q, func(conn *session) error {
		if err := o.setAside(ctx, conn, model.Residuals{Quantity: q, Aside: aside}); err != nil {
			return err
		}
		err := conn.QueryRowContext(ctx, deviationQuery, string(q), share, rounding).Scan(&y)
		if errors.Is(err, sql.ErrNoRows) {
			return nil
		}
		return err
	})
	return y, err
}

// chosen returns args followed by whether each effect, in the order of
// columns, is among effects.
func chosen(effects []model.Effect, args ...any) []any {
	for _, e := range model.Effects {
		args = append(args, slices.Contains(effects, e))
	}
	return args
}

// Cells sums up the eligible observations of q that are not in aside, per
// kind of row and combination of the labels of q's effects, ordered by those.
func (o *Observations) Cells(ctx context.Context, q model.Quantity, aside []model.RowKey) ([]model.Cell, error) {
	var c model.Cell
	var n numbered
	var built bool
	var out []model.Cell
	err := o.with(ctx, "cells of "+string(q), q, func(conn *session) error {
		if err := o.setAside(ctx, conn, model.Residuals{Quantity: q, Aside: aside}); err != nil {
			return err
		}
		return each(ctx, conn, cellsQuery, n.scanners([]any{&built}, &c.N, &c.Mean, &c.SS), func() error {
			c.Kind, c.Labels = kindOf(q, built), o.log.compared.levels.labels(&n)
			out = append(out, c)
			return nil
		}, chosen(q.Effects(), string(q))...)
	})
	return out, err
}

// kindOf is the kind of a row with an observation of q that is a build, or is
// none.
func kindOf(q model.Quantity, built bool) model.Kind {
	switch {
	case built:
		return model.Builds
	case q == model.Shot:
		return model.Fills
	}
	return model.Checks
}

// Combinations lists the distinct labels of effects seen in builds and, for
// shot, in test fills, measured or not; none with a blank.
func (o *Observations) Combinations(ctx context.Context, q model.Quantity, effects []model.Effect) ([]model.Labels, error) {
	var n numbered
	var out []model.Labels
	err := o.with(ctx, "combinations of "+string(q), "", func(conn *session) error {
		return each(ctx, conn, combinationsQuery, n.scanners(nil), func() error {
			out = append(out, o.log.compared.levels.labels(&n))
			return nil
		}, chosen(effects, string(q))...)
	})
	return out, err
}

// Observations lists every observation of q, excluded ones too, by date, then
// id, then kind. Y is NaN where body is not positive.
func (o *Observations) Observations(ctx context.Context, q model.Quantity) ([]model.Observation, error) {
	var row model.Observation
	started, y, shot := field{"started", &row.Started}, field{"y", &row.Y}, field{"shot_base", &row.ShotBase}
	reason := field{"excluded", (*string)(&row.Excluded)}
	l := newLabels()
	targets := l.scanners([]any{&row.Key.Kind, &row.Key.ID, &row.Date, &started},
		&row.Measured, &row.Base, &row.Planned, &shot, &y, &reason)
	out := make([]model.Observation, 0, o.listed.Load()) // one quantity has about as many as another
	err := each(ctx, o.log.db, observationsQuery, targets, func() error {
		row.Labels = model.SplitLevels(l.Labels, row.Date, o.splits)
		out = append(out, row)
		return nil
	}, string(q), o.through, o.everything)
	if err != nil {
		return nil, fmt.Errorf("data: observations of %s: %w", q, err)
	}
	o.listed.Store(int64(len(out)))
	return out, nil
}

// Newest lists the newest n eligible observations of q, by date, id, kind, with
// key, date, labels and Y only.
func (o *Observations) Newest(ctx context.Context, q model.Quantity, n int) ([]model.Observation, error) {
	var row model.Observation
	var at numbered
	targets := at.scanners([]any{&row.Key.Kind, &row.Key.ID, &row.Date}, &row.Y)
	var out []model.Observation
	err := o.with(ctx, "newest of "+string(q), q, func(conn *session) error {
		return each(ctx, conn, newestQuery, targets, func() error {
			row.Labels = o.log.compared.levels.labels(&at)
			out = append(out, row)
			return nil
		}, n)
	})
	slices.Reverse(out)
	return out, err
}
