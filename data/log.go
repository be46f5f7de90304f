// Package data keeps the log: one DuckDB file with the planned and the
// measured figures of every build, where each row came from, what was
// replaced, and the calibrations made from it.
//
//   - [Open] and [Memory] give a [Log]; its tables are in migration/*.sql.
//   - [Log.Begin] starts an [Import], one transaction for any number of files.
//   - [Log.SavePlan] keeps the plan of a build until the import that brings it,
//     [Log.ReplacePlan] changes and [Log.DropPlan] gives it up.
//   - [Log.Observations] is what fits read: sums over rows, made in SQL.
//   - [Log.Rows], [Log.Amendments] and [Log.Calibrations], with [Log.WriteResult]
//     and [Log.SavedFactors], give back what was put in; [Log.Search], [Log.Row] and [Log.History] a part of it.
//   - [Log.Backup] copies it; [Log.Invariants], [Log.Versions] and [Log.AsOf] are
//     what it takes to verify it.
//
// A log has one connection. What lists rows (an iterator) or imports them
// holds it until it is finished; other calls wait for it, so they must not be
// made from inside.
//
// Every statement is a file of query/, embedded, and keeps to what DuckDB and
// PostgreSQL share, so that a log can live on a shared server later.
package data

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"trueplait/data/duckdb"
	"trueplait/data/postgres"
)

// Mode says what a log is opened for.
type Mode int

// The modes.
const (
	ReadOnly  Mode = iota // any number of programs at a time; the file must be there
	ReadWrite             // one program at a time; created and migrated where needed
)

// Log is an open log.
type Log struct {
	db       *database
	path     string // or address on a server, for people; "": in memory
	server   bool
	beside   io.Closer // a second connection; nil: none
	copyPath string    // the one other file that the connection may write, see Backup; "": none
	backup   sync.Mutex
	compared compared
}

// Open opens the log at path. ReadWrite creates the file where there is none
// (its folder must exist) and brings its tables up to date; while it does, a
// copy of the older file is kept beside it as path + ".before-NNNN", N being the
// number of the newest migration.
//
// After opening, the connection reads and writes nothing but the log, its
// write-ahead log, path + ".tmp" for what does not fit in memory and, opened
// ReadWrite, path + ".backup-part" for [Log.Backup]; it loads no extensions and
// its settings cannot be changed. Times are UTC.
//
// Errors: [ErrNoLog], [ErrInUse], [ErrNotLog], [ErrNewer], [ErrOlder],
// [ErrDamaged], and what the file system says.
func Open(ctx context.Context, path string, mode Mode) (*Log, error) {
	if postgres.Is(path) {
		return openServer(ctx, path, mode)
	}
	if err := checkPath(path, mode); err != nil {
		return nil, err
	}
	if _, err := os.Stat(path); errors.Is(err, os.ErrNotExist) { // to be written, or checkPath would have refused
		if err := makeLog(ctx, path, duckdb.Engine{}.Migrations()); err != nil {
			return nil, err
		}
	}
	return openUpTo(ctx, path, mode, duckdb.Engine{}.Migrations())
}

// openUpTo is [Open] with the migrations that are known.
func openUpTo(ctx context.Context, path string, mode Mode, known []migration) (*Log, error) {
	l, err := openFile(path, mode)
	if err != nil {
		return nil, err
	}
	version, err := l.version(ctx, mode, known)
	switch {
	case err != nil:
	case version == 0:
		err = l.migrate(ctx, 0, known)
	case version < len(known):
		return l.upgrade(ctx, version, known)
	case mode == ReadWrite:
		err = removeIfThere(copyBefore(path, known)) // of an upgrade that was cut off at its end
	}
	if err != nil {
		return nil, errors.Join(err, l.db.Close())
	}
	return l, nil
}

// openFile opens the file at path, whatever is in it.
func openFile(path string, mode Mode) (*Log, error) {
	// An absolute path cannot be taken for one of DuckDB's own names, such as
	// :memory:.
	dsn, err := filepath.Abs(path)
	if err != nil {
		return nil, fmt.Errorf("log %s: %w", path, err)
	}
	files := duckdb.Reach{Temp: dsn + ".tmp"}
	if strings.ContainsAny(dsn, "?%") {
		return nil, fmt.Errorf("log %q: a path may not hold ? or %%: rename the file or its folder", dsn)
	}
	if mode == ReadOnly {
		dsn += "?access_mode=READ_ONLY"
	} else {
		files.Copy = dsn + ".backup-part"
	}
	db, err := duckdb.Connect(dsn, files)
	if err != nil {
		return nil, openError(path, err)
	}
	return &Log{db: newDatabase(db, duckdb.Engine{}), path: path, copyPath: files.Copy}, nil
}

// Memory returns an empty log that is kept in memory: nothing is left behind
// when it is closed.
func Memory(ctx context.Context) (*Log, error) {
	return memory(ctx, "")
}

// memory is [Memory] with one folder, where not "", that statements may read
// and write files in.
func memory(ctx context.Context, folder string) (*Log, error) {
	db, err := duckdb.Connect("", duckdb.Reach{Folder: folder})
	if err != nil {
		return nil, fmt.Errorf("data: %w", err)
	}
	l := &Log{db: newDatabase(db, duckdb.Engine{})}
	if err := l.migrate(ctx, 0, duckdb.Engine{}.Migrations()); err != nil {
		return nil, errors.Join(err, db.Close())
	}
	return l, nil
}

// Close writes what is pending into the file and releases it.
func (l *Log) Close() error {
	err := l.db.Close()
	if l.beside != nil {
		err = errors.Join(err, l.beside.Close())
	}
	if err != nil {
		return fmt.Errorf("data: close %s: %w", l.path, err)
	}
	return nil
}

// forever is a date after every row's: the bound that leaves nothing out.
var forever = time.Date(9999, 12, 31, 0, 0, 0, 0, time.UTC)

// bound is the last date that a reader asked for.
func bound(through time.Time) time.Time {
	if through.IsZero() {
		return forever
	}
	return through
}

// checkPath finds what is wrong with a path before DuckDB does, whose words
// for it are no help.
func checkPath(path string, mode Mode) error {
	if path == "" {
		return errors.New(`log "": the name is empty: name a file with --log`)
	}
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, os.ErrNotExist) && mode == ReadOnly:
		return fmt.Errorf("%w at %s: import a file first, or name the log with --log", ErrNoLog, path)
	case errors.Is(err, os.ErrNotExist):
		if _, err := os.Stat(filepath.Dir(path)); err != nil {
			return fmt.Errorf("log %s: %w: its folder is not there, create it first", path, os.ErrNotExist)
		}
		return nil
	case err != nil:
		return fmt.Errorf("log %s: %w", path, err)
	case info.IsDir():
		return fmt.Errorf("log %s: is a folder: name the file in it, such as %s/workshop.duckdb", path, strings.TrimRight(path, "/"))
	}
	return checkMagic(path)
}

// checkMagic makes sure that an existing file is DuckDB's: it would open a CSV
// as a database in memory that shows it, and what is written would be lost.
func checkMagic(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return openError(path, err)
	}
	defer f.Close()
	// After an 8-byte checksum, the file begins with the word DUCK.
	head := make([]byte, 12)
	if _, err := io.ReadFull(f, head); err != nil || string(head[8:]) != "DUCK" {
		return fmt.Errorf("log %s: %w: it is no DuckDB file; name another file with --log, or import a CSV with: import %s",
			path, ErrNotLog, path)
	}
	return nil
}
