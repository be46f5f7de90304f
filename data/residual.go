package data

import (
	"cmp"
	"context"
	_ "embed"
	"math"
	"slices"
	"time"

	"trueplait/model"
)

//go:embed query/fitted_level_stage.sql
var fittedLevelStage string

//go:embed query/fitted_level_append.sql
var fittedLevelAppend string

//go:embed query/fitted_level_clear.sql
var fittedLevelClear string

//go:embed query/wanted_rows.sql
var wantedRows string

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
		found, scale, err := o.scatter(ctx, conn, q, f)
		if err != nil {
			return err
		}
		s.N, s.Scale = found.n, scale
		rows, err := o.far(ctx, conn, q, f, found.far, scale)
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

// stated is what a row says of a quantity.
type stated struct {
	key      model.RowKey
	date     time.Time
	labels   model.Labels
	y, ratio float64
}

// far lists which of the rows that a scan found may be flagged, in the order of
// [model.Screen].
func (o *Observations) far(ctx context.Context, conn *session, q model.Quantity, f model.Fitted, found map[int64]float64, scale float64) ([]far, error) {
	rows, err := o.stated(ctx, conn, q, found)
	if err != nil {
		return nil, err
	}
	fitted, alone := fittedLevels(f), math.Log(model.LoneAt)
	var out []far
	for n, t := range found {
		row := rows[n]
		r := far{out: math.Abs(t) > model.FlagAt*scale, lone: map[model.Effect]bool{}}
		r.Key, r.Date, r.Labels, r.Ratio, r.T = row.key, row.date, row.labels, row.ratio, t
		left := row.y - f.Mean
		for _, e := range q.Effects() {
			left -= fitted[level{e, r.Labels.Get(e)}].Value
		}
		for _, e := range q.Effects() {
			l := level{e, r.Labels.Get(e)}
			if l.label != "" && fitted[l].Rows <= 1 && math.Abs(left+fitted[l].Value) > alone {
				r.lone[e] = true
			}
		}
		if r.out || len(r.lone) > 0 {
			out = append(out, r)
		}
	}
	slices.SortFunc(out, func(a, b far) int {
		return cmp.Or(cmp.Compare(math.Abs(b.T), math.Abs(a.T)), a.Date.Compare(b.Date),
			cmp.Compare(a.Key.ID, b.Key.ID), cmp.Compare(a.Key.Kind, b.Key.Kind))
	})
	return out, nil
}

// stated returns what rows say of q, by their numbers. It is kept while the rows
// are at work: from one scan to the next hardly any others stand out.
func (o *Observations) stated(ctx context.Context, conn *session, q model.Quantity, found map[int64]float64) (map[int64]stated, error) {
	at := &o.log.compared
	known := at.stated[q]
	if known == nil {
		known = map[int64]stated{}
		at.stated[q] = known
	}
	var unknown []wanted
	for n := range found {
		if _, ok := known[n]; !ok {
			unknown = append(unknown, wanted{n: n})
		}
	}
	if len(unknown) == 0 {
		return known, nil
	}
	if err := o.setWanted(ctx, conn, unknown); err != nil {
		return nil, err
	}
	var n int64
	var r stated
	var labels numbered
	targets := labels.scanners([]any{&n, &r.key.Kind, &r.key.ID, &r.date}, &r.y, &r.ratio)
	err := each(ctx, conn, wantedRows, targets, func() error {
		r.labels = at.levels.labels(&labels)
		known[n], at.numbers[r.key] = r, n
		return nil
	})
	return known, err
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
				want = append(want, wanted{key: r.Key, date: r.Date, level: at})
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
			if r.Lone == "" && r.lone[e] && candidates[at] == 1 && places[seat{at, r.Key}].rows == 1 {
				r.Lone = e
			}
		}
		if r.out || r.Lone != "" {
			out = append(out, r.Flagged)
		}
	}
	return out, nil
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
