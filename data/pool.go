package data

import (
	"context"
	"errors"
	"fmt"

	"trueplait/data/postgres"
	"trueplait/model"
)

// ErrNotShared is what a log in a file says when it is asked what others know.
var ErrNotShared = errors.New("is not shared with other workshops")

// Shared reports whether the log is on a server that other workshops may use.
func (l *Log) Shared() bool { return l.server }

// Pool reads what the other workshops of a shared log have in common, without
// anybody's rows: see [model.Pool]. Of parameters that fewer than
// [model.LeastPool] of them share, the server says nothing. [ErrNotShared].
func (l *Log) Pool(ctx context.Context) (model.Pool, error) {
	if !l.server {
		return model.Pool{}, fmt.Errorf("log %s %w", l.path, ErrNotShared)
	}
	p, err := postgres.Pool(ctx, l.db.DB)
	if err != nil {
		return model.Pool{}, serverError(l.path, err)
	}
	return p, nil
}

// SharePool lets the other workshops have what this one's own fit says, in place
// of what it let them have before. [ErrNotShared], [ErrReads].
func (l *Log) SharePool(ctx context.Context, figures []model.Shared) error {
	switch {
	case !l.server:
		return fmt.Errorf("log %s %w", l.path, ErrNotShared)
	case l.db.reads:
		return fmt.Errorf("log %s: %w", l.path, ErrReads)
	}
	if err := postgres.SharePool(ctx, l.db.DB, figures); err != nil {
		return serverError(l.path, err)
	}
	return nil
}
