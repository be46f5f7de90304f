// Package data keeps the log: one DuckDB file with the planned and the
// measured figures of every build, where each row came from, what was
// replaced, and the calibrations made from it.
//
//   - [Open] and [Memory] give a [Log]; its tables are in migration/*.sql.
//   - [Log.Begin] starts an [Import], one transaction for any number of files.
//   - [Log.SavePlan] keeps the plan of a build until the import that brings it,
//     [Log.ReplacePlan] changes and [Log.DropPlan] gives it up.
//   - [Log.Observations] is what fits read: sums over rows, made in SQL.
//   - [Log.Rows], [Log.Amendments] and [Log.Calibrations] give back what was
//     put in; [Log.Search], [Log.Row] and [Log.History] a part of it.
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
	"database/sql"
	"database/sql/driver"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"time"

	"github.com/duckdb/duckdb-go/v2"
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
	db       *sql.DB
	path     string // "": in memory
	copyPath string // the one other file that the connection may write, see Backup; "": none
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
	if err := checkPath(path, mode); err != nil {
		return nil, err
	}
	if _, err := os.Stat(path); errors.Is(err, os.ErrNotExist) { // to be written, or checkPath would have refused
		if err := makeLog(ctx, path, migrations()); err != nil {
			return nil, err
		}
	}
	return openUpTo(ctx, path, mode, migrations())
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
	files := reach{temp: dsn + ".tmp"}
	if strings.ContainsAny(dsn, "?%") {
		return nil, fmt.Errorf("log %q: a path may not hold ? or %%: rename the file or its folder", dsn)
	}
	if mode == ReadOnly {
		dsn += "?access_mode=READ_ONLY"
	} else {
		files.copy = dsn + ".backup-part"
	}
	db, err := connect(dsn, files)
	if err != nil {
		return nil, openError(path, err)
	}
	return &Log{db: db, path: path, copyPath: files.copy}, nil
}

// Memory returns an empty log that is kept in memory: nothing is left behind
// when it is closed.
func Memory(ctx context.Context) (*Log, error) {
	return memory(ctx, "")
}

// memory is [Memory] with one folder, where not "", that statements may read
// and write files in.
func memory(ctx context.Context, folder string) (*Log, error) {
	db, err := connect("", reach{folder: folder})
	if err != nil {
		return nil, fmt.Errorf("data: %w", err)
	}
	l := &Log{db: db}
	if err := l.migrate(ctx, 0, migrations()); err != nil {
		return nil, errors.Join(err, db.Close())
	}
	return l, nil
}

// Close writes what is pending into the file and releases it.
func (l *Log) Close() error {
	if err := l.db.Close(); err != nil {
		return fmt.Errorf("data: close %s: %w", l.path, err)
	}
	return nil
}

// DuckDB's own memory is bounded. A log in a file spills to its temporary
// folder beyond that: measured, an import of three million builds takes as long
// with 350 MB as with 1 GB. A log in memory has nowhere to spill to.
const (
	fileLimit   = "350MB"
	memoryLimit = "2GB"
)

// reach is what statements may read and write beside the database itself.
// "" is nothing.
type reach struct {
	temp   string // folder for what does not fit in memory
	folder string // every file in it
	copy   string // one file, a DuckDB database, and what DuckDB keeps beside it
}

// copyEnds are what the names of a database and its write-ahead logs end in.
var copyEnds = [...]string{"", ".wal", ".wal.checkpoint", ".wal.recovery"}

// connect opens a database and shuts everything off that a log does not need.
//
// The order matters: the temporary and the allowed paths must be set before
// external access goes, everything before the lock, and only the access mode
// may stand in the DSN because its options are applied in random order. The
// settings belong to the database, not to the connection, and are refused
// after the lock, so they are made once.
func connect(dsn string, files reach) (*sql.DB, error) {
	limit := fileLimit
	if dsn == "" {
		limit = memoryLimit
	}
	settings := []string{
		"SET TimeZone = 'UTC'",
		fmt.Sprintf("SET threads = %d", runtime.GOMAXPROCS(0)),
		"SET memory_limit = '" + limit + "'",
		"SET temp_directory = " + literal(files.temp),
		"SET autoinstall_known_extensions = false",
		"SET autoload_known_extensions = false",
		"SET allow_community_extensions = false",
		"SET allow_persistent_secrets = false",
	}
	if files.folder != "" {
		settings = append(settings, "SET allowed_directories = ["+literal(files.folder)+"]")
	}
	if files.copy != "" {
		var names []string
		for _, end := range copyEnds {
			names = append(names, literal(files.copy+end))
		}
		settings = append(settings, "SET allowed_paths = ["+strings.Join(names, ", ")+"]")
	}
	settings = append(settings, "SET enable_external_access = false", "SET lock_configuration = true")

	var once sync.Once
	var failed error
	c, err := duckdb.NewConnector(dsn, func(conn driver.ExecerContext) error {
		once.Do(func() {
			for _, s := range settings {
				_, err := conn.ExecContext(context.Background(), s, nil)
				if locked(err) {
					return // this process has the file open already, set up by these very lines
				}
				if err != nil {
					failed = fmt.Errorf("%s: %w", s, err)
					return
				}
			}
		})
		return failed
	})
	if err != nil {
		return nil, err
	}
	db := sql.OpenDB(c)
	// Temporary tables belong to a connection. With a single one they are
	// always there, and whoever holds it has them to itself.
	db.SetMaxOpenConns(1)
	return db, nil
}

// locked reports whether a setting was refused because of lock_configuration.
func locked(err error) bool {
	return err != nil && strings.Contains(err.Error(), "configuration has been locked")
}

// identifier is a name as SQL takes it for one.
func identifier(name string) string {
	return `"` + strings.ReplaceAll(name, `"`, `""`) + `"`
}

// literal is text as an SQL string.
func literal(text string) string {
	return "'" + strings.ReplaceAll(text, "'", "''") + "'"
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
