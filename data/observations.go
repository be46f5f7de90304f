package data

import (
	"context"
	"database/sql"
	_ "embed"
	"errors"
	"slices"
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

//go:embed query/combinations_split.sql
var combinationsSplit string

//go:embed query/newest.sql
var newestQuery string

//go:embed query/deviation.sql
var deviationQuery string

//go:embed query/observations.sql
var observationsQuery string

// Observations is what fits read of a log: rows up to a date, compared and
// summed up in SQL. The formulas are in the view observation
// (migration/0002_observation.sql). It sees the rows of a quantity as they are
// when it comes to that quantity.
type Observations struct {
	log        *Log
	through    time.Time
	everything bool
	split      bool // splits are in force
}

// Observations gives the observations dated through at the latest; with the
// zero time, all. With everything, unit slips and rows set aside by hand are
// not excluded; only rows without a ratio are.
func (l *Log) Observations(ctx context.Context, through time.Time, everything bool) (*Observations, error) {
	splits, err := l.Splits(ctx)
	if err != nil {
		return nil, err
	}
	o := &Observations{log: l, through: bound(through), everything: everything, split: len(splits) > 0}
	err = o.with(ctx, "prepare", nil, func(conn *sql.Conn) error {
		return execAll(ctx, conn, asideStage, fittedStage, fittedLevelStage, wantedStage)
	})
	return o, err
}

// Summary counts what the log holds.
func (o *Observations) Summary(ctx context.Context) (model.Summary, error) {
	var s model.Summary
	through, load := field{"through", &s.Through}, field{"load_g_mm", &s.BaseLoadGMM}
	err := o.with(ctx, "summary", nil, func(conn *sql.Conn) error {
		err := conn.QueryRowContext(ctx, summaryQuery, o.through).
			Scan(&s.Builds, &s.Fills, &s.Checks, &through, &s.Weighed, &s.Split, &load)
		if err != nil {
			return err
		}
		return conn.QueryRowContext(ctx, unpredictedQuery, 0, o.through).
			Scan(&s.UnpredictedBuilds, &s.UnpredictedFills, &s.UnpredictedChecks)
	})
	return s, err
}

// Excluded lists the observations of q that no fit may use, by date, then id.
func (o *Observations) Excluded(ctx context.Context, q model.Quantity) ([]model.Excluded, error) {
	var e model.Excluded
	note := field{"note", &e.Note}
	var out []model.Excluded
	err := o.with(ctx, "rows left out of "+string(q), []model.Quantity{q}, func(conn *sql.Conn) error {
		targets := []any{&e.Key.Kind, &e.Key.ID, &e.Date, &e.Ratio, &e.Reason, &note}
		return each(ctx, conn, excludedQuery, targets, func() error {
			out = append(out, e)
			return nil
		}, string(q))
	})
	return out, err
}

// Ratios reads measured/base of the named observations of q; keys without one
// are left out.
func (o *Observations) Ratios(ctx context.Context, q model.Quantity, keys []model.RowKey) (map[model.RowKey]float64, error) {
	var key model.RowKey
	var ratio float64
	out := map[model.RowKey]float64{}
	err := o.with(ctx, "ratios of "+string(q), []model.Quantity{q}, func(conn *sql.Conn) error {
		want := make([]wanted, len(keys))
		for i, k := range keys {
			want[i].key = k
		}
		if err := setWanted(ctx, conn, want); err != nil {
			return err
		}
		return each(ctx, conn, ratiosQuery, []any{&key.Kind, &key.ID, &ratio}, func() error {
			out[key] = ratio
			return nil
		}, string(q))
	})
	return out, err
}

// Deviation returns how far builds lie from the planner's figure: of |y| of q
// over the n eligible builds not in aside, the ⌈(n+1)·share⌉-th smallest; NaN
// where that is more than n.
func (o *Observations) Deviation(ctx context.Context, q model.Quantity, aside []model.RowKey, share float64) (float64, error) {
	const rounding = 1e-9 // 0.95 is no binary fraction
	y := model.Unknown
	err := o.with(ctx, "deviation of "+string(q), []model.Quantity{q}, func(conn *sql.Conn) error {
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

// labels are scanners of the five labels.
type labels struct {
	model.Labels
	fields [5]field
}

func newLabels() *labels {
	l := &labels{}
	l.fields = [5]field{
		{"maker", &l.Maker}, {"core_batch", &l.CoreBatch}, {"strand_batch", &l.StrandBatch},
		{"shot_batch", &l.ShotBatch}, {"product", &l.Product},
	}
	return l
}

// scanners returns the targets before the labels, the labels, and those after.
func (l *labels) scanners(before []any, after ...any) []any {
	out := append([]any{}, before...)
	for i := range l.fields {
		out = append(out, &l.fields[i])
	}
	return append(out, after...)
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
	l := newLabels()
	var out []model.Cell
	err := o.with(ctx, "cells of "+string(q), []model.Quantity{q}, func(conn *sql.Conn) error {
		if err := o.setAside(ctx, conn, model.Residuals{Quantity: q, Aside: aside}); err != nil {
			return err
		}
		return each(ctx, conn, cellsQuery, l.scanners([]any{&c.Kind}, &c.N, &c.Mean, &c.SS), func() error {
			c.Labels = l.Labels
			out = append(out, c)
			return nil
		}, chosen(q.Effects(), string(q))...)
	})
	return out, err
}

// Combinations lists the distinct labels of effects seen in builds and, for
// shot, in test fills, measured or not; none with a blank.
func (o *Observations) Combinations(ctx context.Context, q model.Quantity, effects []model.Effect) ([]model.Labels, error) {
	l := newLabels()
	var out []model.Labels
	err := o.with(ctx, "combinations of "+string(q), nil, func(conn *sql.Conn) error {
		query := combinationsQuery
		if o.split {
			query = combinationsSplit
		}
		return each(ctx, conn, query, l.scanners(nil), func() error {
			out = append(out, l.Labels)
			return nil
		}, chosen(effects, string(q), o.through)...)
	})
	return out, err
}

// Observations lists every observation of q, excluded ones too, by date, then
// id, then kind. Y is NaN where body is not positive.
func (o *Observations) Observations(ctx context.Context, q model.Quantity) ([]model.Observation, error) {
	var row model.Observation
	l := newLabels()
	started, y, shot := field{"started", &row.Started}, field{"y", &row.Y}, field{"shot_base", &row.ShotBase}
	reason := field{"excluded", (*string)(&row.Excluded)}
	targets := l.scanners(
		[]any{&row.Key.Kind, &row.Key.ID, &row.Date, &started},
		&row.Measured, &row.Base, &row.Planned, &shot, &y, &reason)
	var out []model.Observation
	err := o.with(ctx, "observations of "+string(q), []model.Quantity{q}, func(conn *sql.Conn) error {
		return each(ctx, conn, observationsQuery, targets, func() error {
			row.Labels = l.Labels
			out = append(out, row)
			return nil
		}, string(q))
	})
	return out, err
}

// Newest lists the newest n eligible observations of q, by date, id, kind, with
// key, date, labels and Y only.
func (o *Observations) Newest(ctx context.Context, q model.Quantity, n int) ([]model.Observation, error) {
	var row model.Observation
	l := newLabels()
	targets := l.scanners([]any{&row.Key.Kind, &row.Key.ID, &row.Date}, &row.Y)
	var out []model.Observation
	err := o.with(ctx, "newest of "+string(q), []model.Quantity{q}, func(conn *sql.Conn) error {
		return each(ctx, conn, newestQuery, targets, func() error {
			row.Labels = l.Labels
			out = append(out, row)
			return nil
		}, string(q), n)
	})
	slices.Reverse(out)
	return out, err
}
