package postgres

import (
	"context"
	"database/sql"
	_ "embed"
	"errors"
	"time"
)

//go:embed query/source_note.sql
var sourceNote string

//go:embed query/source_forget.sql
var sourceForget string

//go:embed query/import_begin.sql
var importBegin string

//go:embed query/import_undo.sql
var importUndo string

// Note writes down, for good, that a file is being imported under a number.
// Servers of a divided log commit one after the other, each with whole makers:
// where one fails, builds that others have kept belong to a file that is known,
// and the same import again brings the rest. A log in one place needs no note.
func (e Engine) Note(ctx context.Context, number int, name, kind string, at time.Time) error {
	if e.Beside == nil {
		return nil
	}
	_, err := e.Beside.ExecContext(ctx, sourceNote, number, name, kind, at)
	return err
}

// Tidy takes back the notes, from a number on, of files that brought nothing.
func (e Engine) Tidy(ctx context.Context, tx *sql.Tx, first int) error {
	if e.Beside == nil {
		return nil
	}
	_, err := tx.ExecContext(ctx, sourceForget, first)
	return err
}

// Forget undoes a transaction, and then takes back its notes from a number on
// before it gives up its lock.
func (e Engine) Forget(ctx context.Context, tx *sql.Tx, first int) error {
	if e.Beside == nil {
		return nil
	}
	// A transaction that ended by itself has undone everything.
	if _, err := tx.ExecContext(ctx, importUndo); err != nil && !errors.Is(err, sql.ErrTxDone) {
		return err
	}
	_, err := e.Beside.ExecContext(ctx, sourceForget, first)
	return err
}
