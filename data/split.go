package data

import (
	"context"
	_ "embed"
	"errors"
	"fmt"
	"time"

	"trueplait/model"
)

//go:embed query/split_add.sql
var splitAdd string

//go:embed query/split_undo.sql
var splitUndo string

//go:embed query/split_list.sql
var splitList string

// ErrNoSplit is what Unsplit says of a split that is not in force.
var ErrNoSplit = errors.New("no such split is in force")

// Split splits a label; one in force already is left as it is.
func (l *Log) Split(ctx context.Context, s model.Split, now time.Time) error {
	if _, err := l.db.ExecContext(ctx, splitAdd, string(s.Effect), s.Label, s.Since, now.UTC()); err != nil {
		return fmt.Errorf("data: split %s %s: %w", s.Effect, s.Label, err)
	}
	return nil
}

// Unsplit undoes a split; it stays in the table as undone.
func (l *Log) Unsplit(ctx context.Context, s model.Split, now time.Time) error {
	res, err := l.db.ExecContext(ctx, splitUndo, string(s.Effect), s.Label, s.Since, now.UTC())
	if err != nil {
		return fmt.Errorf("data: undo split %s %s: %w", s.Effect, s.Label, err)
	}
	if n, err := res.RowsAffected(); err != nil || n == 0 {
		return errors.Join(fmt.Errorf("%s %q from %s: %w", s.Effect.Word(), s.Label, s.Since.Format(time.DateOnly), ErrNoSplit), err)
	}
	return nil
}

// Splits lists the splits in force.
func (l *Log) Splits(ctx context.Context) ([]model.Split, error) { return splitsInForce(ctx, l.db) }

// splitsInForce is [Log.Splits] of what q reads.
func splitsInForce(ctx context.Context, q queryer) ([]model.Split, error) {
	var s model.Split
	var out []model.Split
	err := each(ctx, q, splitList, []any{(*string)(&s.Effect), &s.Label, &s.Since}, func() error {
		out = append(out, s)
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("data: splits: %w", err)
	}
	return out, nil
}
