package data

import (
	"context"
	_ "embed"
	"slices"
	"time"

	"trueplait/model"
)

//go:embed query/wanted_stage.sql
var wantedStage string

//go:embed query/wanted_append.sql
var wantedAppend string

//go:embed query/wanted_clear.sql
var wantedClear string

//go:embed query/wanted_numbers.sql
var wantedNumbers string

//go:embed query/wanted_places.sql
var wantedPlaces string

// wanted is a row asked for; what a question does not need is blank.
type wanted struct {
	n     int64 // its number
	key   model.RowKey
	date  time.Time
	level level // one that it has, among whose rows it is to be placed
}

// level is one label of one effect.
type level struct {
	effect model.Effect
	label  string
}

// setWanted fills the temporary table of rows asked for.
func (o *Observations) setWanted(ctx context.Context, conn *session, want []wanted) error {
	if err := execAll(ctx, conn, wantedStage, wantedClear); err != nil {
		return err
	}
	var w wanted
	var place, n int
	kind, effect := (*string)(&w.key.Kind), (*string)(&w.level.effect)
	fields := []field{{"place", &place}, {"n", &w.n}, {"kind", kind}, {"id", &w.key.ID}, {"date", &w.date},
		{"effect", effect}, {"level", &n}}
	return bulk(ctx, conn, wantedAppend, fields, func(add func() error) error {
		for place, w = range want {
			place++
			n = o.log.compared.levels.number[w.level.effect][w.level.label]
			if err := add(); err != nil {
				return err
			}
		}
		return nil
	})
}

// numbers returns the numbers of rows, without those that are not there.
func (o *Observations) numbers(ctx context.Context, conn *session, keys []model.RowKey) ([]int64, error) {
	known := o.log.compared.numbers
	var unknown []wanted
	for _, key := range keys {
		if _, ok := known[key]; !ok {
			unknown = append(unknown, wanted{key: key})
		}
	}
	if len(unknown) > 0 {
		if err := o.setWanted(ctx, conn, unknown); err != nil {
			return nil, err
		}
		var i int
		var n int64
		err := each(ctx, conn, wantedNumbers, []any{&i, &n}, func() error {
			known[unknown[i-1].key] = n
			return nil
		})
		if err != nil {
			return nil, err
		}
	}
	out := make([]int64, 0, len(keys))
	for _, key := range keys {
		if n, ok := known[key]; ok {
			out = append(out, n)
		}
	}
	return out, nil
}

// seat is a row at one of its levels.
type seat struct {
	level level
	key   model.RowKey
}

// place is where a row stands among the eligible rows of a level, from 1, and
// how many those are.
type place struct{ at, rows int }

// places returns the place of each wanted row among the eligible rows of its
// level. It stays what it is while the rows are at work.
func (o *Observations) places(ctx context.Context, conn *session, q model.Quantity, want []wanted) (map[seat]place, error) {
	known := o.log.compared.places[q]
	if known == nil {
		known = map[seat]place{}
		o.log.compared.places[q] = known
	}
	for _, e := range model.Effects {
		var unknown []wanted
		for _, w := range want {
			if _, ok := known[seat{w.level, w.key}]; w.level.effect == e && !ok {
				unknown = append(unknown, w)
			}
		}
		if len(unknown) == 0 {
			continue
		}
		if err := o.setWanted(ctx, conn, unknown); err != nil {
			return nil, err
		}
		var i int
		var p place
		err := each(ctx, conn, wantedPlaces, []any{&i, &p.at, &p.rows}, func() error {
			known[seat{unknown[i-1].level, unknown[i-1].key}] = p
			return nil
		}, string(e))
		if err != nil {
			return nil, err
		}
	}
	return known, nil
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
				want = append(want, wanted{key: r.Key, date: r.Date, level: at})
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
				r.Place[e] = places[seat{at, r.Key}].at
			}
		}
	}
	return nil
}
