package data

import (
	"context"
	"database/sql"
	_ "embed"
	"errors"
	"fmt"
	"time"
)

//go:embed query/source_next.sql
var sourceNext string

//go:embed query/source_shadow.sql
var sourceShadow string

// Import is one transaction over any number of files: all of it is kept by
// Commit, or nothing. It holds the log's connection until Commit or Rollback,
// one of which must be called.
//
// After any error the import cannot be committed: DuckDB would drop what came
// before the error and report success.
type Import struct {
	ctx    context.Context // bounds the transaction
	log    *Log
	conn   *session
	tx     *sql.Tx // on it
	now    time.Time
	check  bool  // nothing is to be written
	first  int   // number of its first source
	noted  bool  // files may have been written down
	failed error // the first failure
	done   bool
	file   *File // the one being read; nil: none
}

// ErrCheckOnly is what Commit says on an import that [Log.Check] began.
var ErrCheckOnly = errors.New("a check writes nothing")

// Begin starts an import at the time now, which its files and what they
// replace are dated with. ctx bounds the whole import: when it ends, the
// import is undone.
func (l *Log) Begin(ctx context.Context, now time.Time) (*Import, error) {
	conn, err := l.db.session(ctx)
	if err != nil {
		return nil, fmt.Errorf("log %s: %w", l.path, err)
	}
	tx, err := conn.BeginTx(ctx, nil)
	if err != nil {
		return nil, errors.Join(fmt.Errorf("log %s: %w", l.path, err), conn.Close())
	}
	im := &Import{ctx: ctx, log: l, conn: conn, tx: tx, now: now.UTC()}
	if err := l.db.engine.Lock(ctx, tx); err != nil {
		return nil, errors.Join(im.fail("wait for others who write", err), im.Rollback())
	}
	if err := im.get(ctx, "number the files", sourceNext, &im.first); err != nil {
		return nil, errors.Join(err, im.Rollback())
	}
	return im, nil
}

// within runs do in a transaction of its own at the time now, which is kept
// unless do returns an error.
func (l *Log) within(ctx context.Context, now time.Time, do func(*Import) error) error {
	im, err := l.Begin(ctx, now)
	if err != nil {
		return err
	}
	if err := do(im); err != nil {
		return errors.Join(err, im.Rollback())
	}
	return im.Commit(ctx)
}

// Check starts an import that compares files with the log, one opened ReadOnly
// too, and never writes: in a file it works on temporary copies of the tables,
// which have their names and so stand in front of them, views included. On a
// server it works on the tables, and its end undoes all of it. Rollback ends it.
func (l *Log) Check(ctx context.Context) (*Import, error) {
	im, err := l.Begin(ctx, time.Time{})
	if err != nil {
		return nil, err
	}
	im.check = true
	if !l.db.engine.Shadows() {
		return im, nil
	}
	statements := []string{sourceShadow, openBuildShadow}
	for _, t := range tables() {
		statements = append(statements, t.shadow)
	}
	for _, s := range statements {
		if _, err := im.exec(ctx, "copy the log", s); err != nil {
			return nil, errors.Join(err, im.Rollback())
		}
	}
	return im, nil
}

// Commit keeps the import.
func (im *Import) Commit(ctx context.Context) error {
	if f := im.file; f != nil {
		f.discard()
		im.fail(f.name, errors.New("the file was not finished"))
	}
	switch {
	case im.failed != nil:
		return errors.Join(fmt.Errorf("data: nothing was imported: %w", im.failed), im.Rollback())
	case im.check:
		return errors.Join(fmt.Errorf("data: %w", ErrCheckOnly), im.Rollback())
	case im.log.db.reads:
		return errors.Join(fmt.Errorf("log %s: %w", im.log.path, ErrReads), im.Rollback())
	case ctx.Err() != nil:
		return errors.Join(ctx.Err(), im.Rollback())
	}
	if err := im.log.checkRoom(); err != nil {
		return errors.Join(err, im.Rollback())
	}
	if err := im.log.db.engine.Tidy(ctx, im.tx, im.first); err != nil {
		return errors.Join(im.fail("keep the import", err), im.Rollback())
	}
	im.done = true
	if err := im.tx.Commit(); err != nil {
		return errors.Join(fmt.Errorf("data: %w: %w", errCommit, diskError(im.log.db.engine.Blame(ctx, err))), im.conn.Close())
	}
	return im.conn.Close()
}

// Rollback undoes the import. After Commit it does nothing.
func (im *Import) Rollback() error {
	if im.done {
		return nil
	}
	im.done = true
	if im.file != nil {
		im.file.discard()
		im.file = nil
	}
	var err error
	if im.noted {
		err = im.log.db.engine.Forget(context.WithoutCancel(im.ctx), im.tx, im.first)
	}
	err = errors.Join(err, im.tx.Rollback())
	if errors.Is(err, sql.ErrTxDone) { // the context ended first
		err = nil
	}
	return errors.Join(err, im.conn.Close())
}

// fail remembers the first failure, after which there is no commit.
func (im *Import) fail(what string, err error) error {
	if im.failed != nil {
		return fmt.Errorf("data: %s: %w", what, diskError(err))
	}
	im.failed = fmt.Errorf("data: %s: %w", what, diskError(im.log.db.engine.Blame(im.ctx, err)))
	return im.failed
}

// exec runs a statement and returns how many rows it touched.
func (im *Import) exec(ctx context.Context, what, query string, args ...any) (int, error) {
	res, err := im.tx.ExecContext(ctx, im.log.db.word(query), args...)
	if err != nil {
		return 0, im.fail(what, err)
	}
	n, err := res.RowsAffected()
	if err != nil {
		return 0, im.fail(what, err)
	}
	return int(n), nil
}

// get runs a query of one row of one column.
func (im *Import) get(ctx context.Context, what, query string, into any, args ...any) error {
	if err := im.tx.QueryRowContext(ctx, im.log.db.word(query), args...).Scan(into); err != nil {
		return im.fail(what, err)
	}
	return nil
}

// each runs a query and calls row after each row was scanned into targets.
func (im *Import) each(ctx context.Context, what, query string, targets []any, row func(), args ...any) error {
	if err := each(ctx, im.tx, im.log.db.word(query), targets, func() error { row(); return nil }, args...); err != nil {
		return im.fail(what, err)
	}
	return nil
}

// queryer is a connection or a transaction on it.
type queryer interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
}

// each runs a query and calls row after each row was scanned into targets,
// until row returns an error.
func each(ctx context.Context, q queryer, query string, targets []any, row func() error, args ...any) error {
	rows, err := q.QueryContext(ctx, query, args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		if err := rows.Scan(targets...); err != nil {
			return err
		}
		if err := row(); err != nil {
			return err
		}
	}
	return rows.Err()
}
