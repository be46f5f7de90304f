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
		var args []any
		if kind != model.Products && kind != model.Parts {
			args = append(args, bound(through))
		}
		r := t.record()
		err = each(ctx, l.db, t.rows, r.scanners(&r.origin.File, &r.origin.Line), func() error {
			if !yield(r.row(), nil) {
				return errEnough
			}
			return nil
		}, args...)
		if err != nil && err != errEnough {
			yield(nil, fmt.Errorf("data: read %s: %w", kind, err))
		}
	}
}

// Amendment is a row that was replaced.
type Amendment struct {
	Row  model.Row // as it was
	When time.Time
	By   string // the file that replaced it
}

// Amendments lists the rows that amendments replaced, by kind in the order of
// [model.Kinds], then by time.
func (l *Log) Amendments(ctx context.Context) ([]Amendment, error) {
	var out []Amendment
	for _, t := range tables() {
		var a Amendment
		r := t.record()
		err := each(ctx, l.db, t.replaced, r.scanners(&r.origin.File, &r.origin.Line, &a.When, &a.By), func() error {
			a.Row = r.row()
			out = append(out, a)
			return nil
		})
		if err != nil {
			return nil, fmt.Errorf("data: amendments of %s: %w", t.kind, err)
		}
	}
	return out, nil
}
