package data

import (
	"context"
	"errors"
	"fmt"
	"iter"
	"time"

	"trueplait/model"
)

// errEnough ends a listing whose reader wants no more.
var errEnough = errors.New("enough")

// Rows lists every row of a kind as a file would state it, dated through at
// the latest (with the zero time, all): builds, test fills and cord checks by
// date then id, products by name, parts by product and place. The factors that
// a build's calibration stands for are filled in, and figures that were worked
// out at import, so that a log made of them predicts and learns the same.
//
// The log answers nothing else until the loop ends. After an error there are
// no more rows.
func (l *Log) Rows(ctx context.Context, kind model.Kind, through time.Time) iter.Seq2[model.Row, error] {
	return func(yield func(model.Row, error) bool) {
		t, err := tableOf(kind)
		if err != nil {
			yield(nil, err)
			return
		}
		r := t.record()
		err = each(ctx, l.db, t.rows, r.scanners(&r.origin.File, &r.origin.Line), func() error {
			if !yield(r.row(), nil) {
				return errEnough
			}
			return nil
		}, t.rowsArgs("", through)...)
		if err != nil && err != errEnough {
			yield(nil, fmt.Errorf("data: read %s: %w", kind, err))
		}
	}
}

// rowsArgs are the parameters of t.rows: the row's id, or "" for all, and the
// last date where rows have one.
func (t table) rowsArgs(id string, through time.Time) []any {
	if t.kind == model.Products || t.kind == model.Parts {
		return []any{id}
	}
	return []any{id, bound(through)}
}
