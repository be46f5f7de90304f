package data

import (
	"context"
	_ "embed"
	"math"
	"slices"

	"trueplait/model"
)

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

//go:embed query/residual_stage.sql
var residualStage string

//go:embed query/residual_unstage.sql
var residualUnstage string

//go:embed query/residual_fill.sql
var residualFill string

//go:embed query/residual_far.sql
var residualFar string

//go:embed query/residual_correlation.sql
var residualCorrelation string

// setFitted fills the temporary table of what fits say of levels.
func (o *Observations) setFitted(ctx context.Context, conn *session, of ...model.Residuals) error {
	if err := o.setAside(ctx, conn, of...); err != nil {
		return err
	}
	if err := execAll(ctx, conn, fittedLevelStage, fittedLevelClear); err != nil {
		return err
	}
	var row struct {
		quantity, effect    string
		level               int
		value, theta2, lone float64
	}
	fields := []field{{"quantity", &row.quantity}, {"effect", &row.effect}, {"level", &row.level},
		{"value", &row.value}, {"theta2", &row.theta2}, {"lone", &row.lone}}
	return bulk(ctx, conn, fittedLevelAppend, fields, func(add func() error) error {
		for _, r := range of {
			row.quantity = string(r.Quantity)
			fitted := fittedLevels(r.Fitted)
			for i, e := range model.Effects {
				row.effect, row.level, row.value, row.theta2, row.lone = string(e), 0, 0, r.Fitted.Theta2[e], model.Unknown
				if err := add(); err != nil { // of a blank
					return err
				}
				if !slices.Contains(r.Quantity.Effects(), e) {
					continue
				}
				row.theta2 = 0
				for n, label := range o.log.compared.levels.label[i] {
					if n == 0 {
						continue
					}
					l := fitted[level{e, label}]
					row.level, row.value, row.lone = n, l.Value, model.Unknown
					if l.Rows <= 1 {
						row.lone = l.Value
					}
					if err := add(); err != nil {
						return err
					}
				}
			}
		}
		return nil
	})
}

// fittedLevels are the levels that a fit has.
func fittedLevels(f model.Fitted) map[level]model.LevelEffect {
	out := make(map[level]model.LevelEffect, len(f.Levels))
	for _, l := range f.Levels {
		out[level{l.Effect, l.Level}] = l
	}
	return out
}

// Screen scans every eligible observation of q against fitted effects: see
// [model.Screen]. Where a row is the only one of several levels, Lone is the
// first of them in the order of q's effects.
func (o *Observations) Screen(ctx context.Context, q model.Quantity, f model.Fitted, aside []model.RowKey) (model.Screen, error) {
	var s model.Screen
	err := o.with(ctx, "screen "+string(q), q, func(conn *session) error {
		if err := o.setFitted(ctx, conn, model.Residuals{Quantity: q, Fitted: f, Aside: aside}); err != nil {
			return err
		}
		if err := o.log.compared.newResidual(ctx, conn); err != nil {
			return err
		}
		if _, err := conn.ExecContext(ctx, residualFill, chosen(q.Effects(), string(q), f.Mean)...); err != nil {
			return err
		}
		var err error
		if s.N, s.Scale, err = scatter(ctx, conn, f.Sigma); err != nil {
			return err
		}
		s.Scale = max(1.4826*s.Scale, model.MinScale)
		rows, err := o.far(ctx, conn, q, f, s.Scale)
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

// far is a row that stands out, or would as the only one of a level.
type far struct {
	model.Flagged
	out  bool                  // |t| is over the limit
	lone map[model.Effect]bool // where only the other effects speak, it is far off
}

// far lists the rows that may be flagged, in the order of [model.Screen].
func (o *Observations) far(ctx context.Context, conn *session, q model.Quantity, f model.Fitted, scale float64) ([]far, error) {
	fitted := fittedLevels(f)
	outside, alone := model.FlagAt*scale, math.Log(model.LoneAt)
	var r far
	var at numbered
	var y float64
	targets := at.scanners([]any{&r.Key.Kind, &r.Key.ID, &r.Date}, &y, &r.Ratio, &r.T)
	var out []far
	err := each(ctx, conn, residualFar, targets, func() error {
		next := r
		next.Labels = o.log.compared.levels.labels(&at)
		next.out = math.Abs(r.T) > outside
		left := y - f.Mean
		for _, e := range q.Effects() {
			left -= fitted[level{e, next.Labels.Get(e)}].Value
		}
		next.lone = map[model.Effect]bool{}
		for _, e := range q.Effects() {
			l := level{e, next.Labels.Get(e)}
			if l.label != "" && fitted[l].Rows <= 1 && math.Abs(left+fitted[l].Value) > alone {
				next.lone[e] = true
			}
		}
		out = append(out, next)
		return nil
	}, outside, alone)
	return out, err
}

// level is one label of one effect.
type level struct {
	effect model.Effect
	label  string
}

// wanted is a row to be placed among the rows of one of its levels, or asked
// for as it is where that is none.
type wanted struct {
	level
	key model.RowKey
}

// flag returns the rows that stand out, and those that are the only eligible
// row of a level and far from what the other effects say.
func (o *Observations) flag(ctx context.Context, conn *session, q model.Quantity, rows []far) ([]model.Flagged, error) {
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
	places, err := o.places(ctx, conn, q, want)
	if err != nil {
		return nil, err
	}
	var out []model.Flagged
	for _, r := range rows {
		for _, e := range q.Effects() {
			at := level{e, r.Labels.Get(e)}
			if r.Lone == "" && r.lone[e] && candidates[at] == 1 && places[wanted{at, r.Key}].rows == 1 {
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
func (o *Observations) place(ctx context.Context, conn *session, q model.Quantity, flagged []model.Flagged) error {
	shared := map[level]int{}
	batches := slices.DeleteFunc(slices.Clone(q.Effects()), func(e model.Effect) bool { return e == model.Product })
	for _, r := range flagged {
		for _, e := range batches {
			shared[level{e, r.Labels.Get(e)}]++
		}
	}
	var want []wanted
	for _, r := range flagged {
		for _, e := range batches {
			if at := (level{e, r.Labels.Get(e)}); at.label != "" && shared[at] > 1 {
				want = append(want, wanted{at, r.Key})
			}
		}
	}
	places, err := o.places(ctx, conn, q, want)
	if err != nil {
		return err
	}
	for i := range flagged {
		r := &flagged[i]
		r.Place = map[model.Effect]int{}
		for _, e := range batches {
			if at := (level{e, r.Labels.Get(e)}); at.label != "" && shared[at] > 1 {
				r.Place[e] = places[wanted{at, r.Key}].at
			}
		}
	}
	return nil
}

// setWanted fills the temporary table of rows asked for.
func (o *Observations) setWanted(ctx context.Context, conn *session, want []wanted) error {
	if err := execAll(ctx, conn, wantedStage, wantedClear); err != nil {
		return err
	}
	var effect, kind, id string
	var place, n int
	fields := []field{{"place", &place}, {"effect", &effect}, {"level", &n}, {"kind", &kind}, {"id", &id}}
	return bulk(ctx, conn, wantedAppend, fields, func(add func() error) error {
		for i, w := range want {
			place, effect, kind, id = i+1, string(w.effect), string(w.key.Kind), w.key.ID
			n = o.log.compared.levels.number[w.effect][w.label]
			if err := add(); err != nil {
				return err
			}
		}
		return nil
	})
}

// place is where a row stands among the eligible rows of a level, from 1, and
// how many those are.
type place struct{ at, rows int }

// places returns the place of each wanted row among the eligible rows of its
// level. It stays what it is while the rows are at work.
func (o *Observations) places(ctx context.Context, conn *session, q model.Quantity, want []wanted) (map[wanted]place, error) {
	known := o.log.compared.places[q]
	if known == nil {
		known = map[wanted]place{}
		o.log.compared.places[q] = known
	}
	var unknown []wanted
	for _, w := range want {
		if _, ok := known[w]; !ok {
			unknown = append(unknown, w)
		}
	}
	if len(unknown) == 0 {
		return known, nil
	}
	if err := o.setWanted(ctx, conn, unknown); err != nil {
		return nil, err
	}
	var i int
	var p place
	err := each(ctx, conn, wantedPlaces, []any{&i, &p.at, &p.rows}, func() error {
		known[unknown[i-1]] = p
		return nil
	})
	return known, err
}

// Correlation returns Pearson's correlation of the residuals of shot and body
// over the builds that both fits used, and their number; NaN where it is not
// defined.
func (o *Observations) Correlation(ctx context.Context, shot, body model.Residuals) (float64, int, error) {
	var r float64
	var n int
	scan := field{"correlation", &r}
	err := o.with(ctx, "correlation", "", func(conn *session) error {
		if err := o.setFitted(ctx, conn, shot, body); err != nil {
			return err
		}
		return conn.QueryRowContext(ctx, residualCorrelation, shot.Fitted.Mean, body.Fitted.Mean).Scan(&scan, &n)
	})
	return r, n, err
}
