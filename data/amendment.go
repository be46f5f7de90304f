package data

import (
	"context"
	"fmt"
	"time"

	"trueplait/model"
)

// Amendment is a row that was replaced.
type Amendment struct {
	Row  model.Row // as it was stated
	When time.Time
	By   string // the file that replaced it
}

// Amendments lists the rows that amendments replaced, by kind in the order of
// [model.Kinds], then in the order they came, whatever the clock said.
func (l *Log) Amendments(ctx context.Context) ([]Amendment, error) {
	var out []Amendment
	for _, t := range tables() {
		of, err := l.amendments(ctx, t, "")
		if err != nil {
			return nil, err
		}
		out = append(out, of...)
	}
	return out, nil
}

// History lists what one row was before amendments replaced it, the oldest
// first; of parts, the lists that the product of that name had.
func (l *Log) History(ctx context.Context, kind model.Kind, id string) ([]Amendment, error) {
	t, err := tableOf(kind)
	if err != nil || id == "" {
		return nil, err
	}
	return l.amendments(ctx, t, id)
}

// amendments lists the history of one row, or with "" of all.
func (l *Log) amendments(ctx context.Context, t table, id string) ([]Amendment, error) {
	var a Amendment
	var out []Amendment
	r := t.record()
	err := each(ctx, l.db, t.replaced, r.scanners(&r.origin.File, &r.origin.Line, &a.When, &a.By), func() error {
		a.Row = r.row()
		out = append(out, a)
		return nil
	}, id)
	if err != nil {
		return nil, fmt.Errorf("data: amendments of %s: %w", t.kind, err)
	}
	return out, nil
}
