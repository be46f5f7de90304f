package data

import (
	"context"
	_ "embed"
	"errors"
	"fmt"
)

//go:embed query/source_as_of.sql
var sourceAsOf string

//go:embed query/split_as_of.sql
var splitAsOf string

// AsOf returns a log in memory with the rows and the splits of this one as they
// stood when a calibration was saved: later files are not in it, what they
// amended is as it was, and the calibration's fingerprint is its own. The caller
// closes it. Kept files, plans and calibrations are not in it.
//
// Rows are told by the numbers of their files, which follow each other whatever
// the clock says; splits by the time. Two things may be on the wrong side, and
// the fingerprint tells: a split, where a clock was set back between it and the
// calibration; and the prediction of a test fill or cord check that parts lists
// gave only after they came to share one core or cord. It counts as known from
// the first parts list on.
func (l *Log) AsOf(ctx context.Context, c Calibration) (past *Log, err error) {
	past, err = Memory(ctx)
	if err != nil {
		return nil, err
	}
	defer func() {
		if err != nil {
			err = errors.Join(fmt.Errorf("data: the log as of calibration %d: %w", c.Number, err), past.Close())
			past = nil
		}
	}()
	if err := past.copyFrom(ctx, l, "source", sourceAsOf, c.NewestSource); err != nil {
		return past, err
	}
	for _, t := range tables() {
		if err := past.copyFrom(ctx, l, t.name, t.asOf, c.NewestSource); err != nil {
			return past, err
		}
	}
	return past, past.copyFrom(ctx, l, "split", splitAsOf, c.Made.UTC())
}
