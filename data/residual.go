package data

import (
	"context"
	"database/sql"
	_ "embed"
	"errors"
	"math"
	"slices"

	"trueplait/model"
)

//go:embed query/fitted_stage.sql
var fittedStage string

//go:embed query/fitted_add.sql
var fittedAdd string

//go:embed query/fitted_clear.sql
var fittedClear string

//go:embed query/fitted_level_stage.sql
var fittedLevelStage string

//go:embed query/fitted_level_append.sql
var fittedLevelAppend string

//go:embed query/fitted_level_clear.sql
var fittedLevelClear string

//go:embed query/wanted_stage.sql
var wantedStage string

//go:embed query/wanted_append.sql
var wantedAppend string

//go:embed query/wanted_clear.sql
var wantedClear string

//go:embed query/wanted_places.sql
var wantedPlaces string

//go:embed query/residual_clear.sql
var residualClear string

//go:embed query/residual_fill.sql
var residualFill string

//go:embed query/residual_scale.sql
var residualScale string

//go:embed query/residual_far.sql
var residualFar string

//go:embed query/residual_correlation.sql
var residualCorrelation string

// setFitted fills the temporary table of residuals.
func (o *Observations) setFitted(ctx context.Context, conn *sql.Conn, of ...model.Residuals) error {
	if err := o.setAside(ctx, conn, of...); err != nil {
		return err
	}
	for _, query := range []string{fittedClear, fittedLevelClear} {
		if _, err := conn.ExecContext(ctx, query); err != nil {
			return err
		}
	}
	for _, r := range of {
		args := []any{string(r.Quantity), r.Fitted.Mean}
		for _, e := range model.Effects {
			args = append(args, r.Fitted.Theta2[e])
		}
		if _, err := conn.ExecContext(ctx, fittedAdd, args...); err != nil {
			return err
		}
	}
	var quantity, effect, level string
	var value float64
	fields := []field{{"quantity", &quantity}, {"effect", &effect}, {"level", &level}, {"value", &value}}
	err := bulk(conn, fittedLevelAppend, fields, func(add func() error) error {
		for _, r := range of {
			quantity = string(r.Quantity)
			for _, l := range r.Fitted.Levels {
				effect, level, value = string(l.Effect), l.Level, l.Value
				if err := add(); err != nil {
					return err
				}
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	return execAll(ctx, conn, residualClear, residualFill)
}

// bulk loads the rows that fill adds, each as the fields are at that moment.
func bulk(conn *sql.Conn, query string, fields []field, fill func(add func() error) error) error {
	a, err := newAppender(conn, query, fields)
	if err != nil {
		return err
	}
	return errors.Join(fill(a.add), a.close())
}

// far is a row that stands out, or would as the only one of a level.
type far struct {
	model.Flagged
	out  bool                  // |t| is over the limit
	lone map[model.Effect]bool // where only the other effects speak, it is far off
}

// Screen scans every eligible observation of q against fitted effects: see
// [model.Screen]. Where a row is the only one of several levels, Lone is the
// first of them in the order of q's effects.
func (o *Observations) Screen(ctx context.Context, q model.Quantity, f model.Fitted, aside []model.RowKey) (model.Screen, error) {
	var s model.Screen
	err := o.with(ctx, "screen "+string(q), []model.Quantity{q}, func(conn *sql.Conn) error {
		if err := o.setFitted(ctx, conn, model.Residuals{Quantity: q, Fitted: f, Aside: aside}); err != nil {
			return err
		}
		err := conn.QueryRowContext(ctx, residualScale, string(q), model.MinScale).Scan(&s.N, &s.Scale)
		if err != nil {
			return err
		}
		rows, err := o.far(ctx, conn, q, s.Scale)
		if err != nil {
			return err
		}
		if s.Flagged, err = o.flag(ctx, conn, q, rows); err != nil {
			return err
		}
		return o.place(ctx, conn, q, s.Flagged)
	})
	return s, err
}

// far lists the rows that may be flagged, in the order of [model.Screen].
func (o *Observations) far(ctx context.Context, conn *sql.Conn, q model.Quantity, scale float64) ([]far, error) {
	var r far
	l := newLabels()
	var lone [5]bool // in the order of model.Effects
	targets := l.scanners(
		[]any{&r.Key.Kind, &r.Key.ID, &r.Date},
		&r.Ratio, &r.T, &r.out, &lone[0], &lone[1], &lone[2], &lone[3], &lone[4])
	args := chosen(q.Effects(), string(q), model.FlagAt*scale, math.Log(model.LoneAt))
	var out []far
	err := each(ctx, conn, residualFar, targets, func() error {
		next := r
		next.Labels = l.Labels
		next.lone = map[model.Effect]bool{}
		for i, e := range model.Effects {
			if lone[i] {
				next.lone[e] = true
			}
		}
		out = append(out, next)
		return nil
	}, args...)
	return out, err
}

// level is one label of one effect.
type level struct {
	effect model.Effect
	label  string
}

// wanted is a row to be placed among the rows of one of its levels.
type wanted struct {
	level
	key model.RowKey
}

// flag returns the rows that stand out, and those that are the only eligible
// row of a level and far from what the other effects say.
func (o *Observations) flag(ctx context.Context, conn *sql.Conn, q model.Quantity, rows []far) ([]model.Flagged, error) {
	// A level with two such rows is not one with a single row, so only the
	// others need counting.
	candidates := map[level]int{}
	for _, r := range rows {
		for e := range r.lone {
			candidates[level{e, r.Labels.Get(e)}]++
		}
	}
	var want []wanted
	for _, r := range rows {
		for e := range r.lone {
			if at := (level{e, r.Labels.Get(e)}); candidates[at] == 1 {
				want = append(want, wanted{at, r.Key})
			}
		}
	}
	type mark struct {
		key    model.RowKey
		effect model.Effect
	}
	only := map[mark]bool{}
	err := o.places(ctx, conn, q, want, func(e model.Effect, key model.RowKey, _, rows int) {
		if rows == 1 {
			only[mark{key, e}] = true
		}
	})
	if err != nil {
		return nil, err
	}
	var out []model.Flagged
	for _, r := range rows {
		for _, e := range q.Effects() {
			if r.Lone == "" && only[mark{r.Key, e}] {
				r.Lone = e
			}
		}
		if r.out || r.Lone != "" {
			out = append(out, r.Flagged)
		}
	}
	return out, nil
}

// place fills in the places of flagged rows among those of their maker and
// batches, for labels that several of them share.
func (o *Observations) place(ctx context.Context, conn *sql.Conn, q model.Quantity, flagged []model.Flagged) error {
	shared := map[level]int{}
	batches := slices.DeleteFunc(slices.Clone(q.Effects()), func(e model.Effect) bool { return e == model.Product })
	for _, r := range flagged {
		for _, e := range batches {
			shared[level{e, r.Labels.Get(e)}]++
		}
	}
	var want []wanted
	index := map[model.RowKey]int{}
	for i, r := range flagged {
		index[r.Key] = i
		for _, e := range batches {
			if at := (level{e, r.Labels.Get(e)}); at.label != "" && shared[at] > 1 {
				want = append(want, wanted{at, r.Key})
			}
		}
	}
	return o.places(ctx, conn, q, want, func(e model.Effect, key model.RowKey, place, _ int) {
		r := &flagged[index[key]]
		if r.Place == nil {
			r.Place = map[model.Effect]int{}
		}
		r.Place[e] = place
	})
}

// setWanted fills the temporary table of rows asked for.
func setWanted(ctx context.Context, conn *sql.Conn, want []wanted) error {
	if _, err := conn.ExecContext(ctx, wantedClear); err != nil {
		return err
	}
	var effect, label, kind, id string
	fields := []field{{"effect", &effect}, {"label", &label}, {"kind", &kind}, {"id", &id}}
	return bulk(conn, wantedAppend, fields, func(add func() error) error {
		for _, w := range want {
			effect, label, kind, id = string(w.effect), w.label, string(w.key.Kind), w.key.ID
			if err := add(); err != nil {
				return err
			}
		}
		return nil
	})
}

// places calls found with the place of each wanted row among the eligible rows
// of its level, and how many those are.
func (o *Observations) places(ctx context.Context, conn *sql.Conn, q model.Quantity, want []wanted,
	found func(e model.Effect, key model.RowKey, place, rows int)) error {
	if len(want) == 0 {
		return nil
	}
	if err := setWanted(ctx, conn, want); err != nil {
		return err
	}
	var effect, kind, id string
	var place, rows int
	return each(ctx, conn, wantedPlaces, []any{&effect, &kind, &id, &place, &rows}, func() error {
		found(model.Effect(effect), model.RowKey{Kind: model.Kind(kind), ID: id}, place, rows)
		return nil
	}, string(q))
}

// Correlation returns Pearson's correlation of the residuals of two quantities
// over the builds that both fits used, and their number; NaN where it is not
// defined.
func (o *Observations) Correlation(ctx context.Context, a, b model.Residuals) (float64, int, error) {
	var r float64
	var n int
	scan := field{"correlation", &r}
	err := o.with(ctx, "correlation", []model.Quantity{a.Quantity, b.Quantity}, func(conn *sql.Conn) error {
		if err := o.setFitted(ctx, conn, a, b); err != nil {
			return err
		}
		return conn.QueryRowContext(ctx, residualCorrelation, string(a.Quantity), string(b.Quantity)).Scan(&scan, &n)
	})
	return r, n, err
}
