// Package duckdb is the engine of a log that is one file, or in memory: how
// DuckDB is opened and shut off, how rows are loaded into it, and the tables of
// a log in its words.
package duckdb

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"fmt"
	"runtime"
	"strings"
	"sync"
	"time"

	"github.com/duckdb/duckdb-go/v2"
)

// Engine is DuckDB.
type Engine struct{}

// Words returns the statements that DuckDB words differently: none.
func (Engine) Words() map[string]string { return nil }

// Shadows reports whether a temporary table stands in front of a table of its
// name, views of it included. It does.
func (Engine) Shadows() bool { return true }

// Lock does nothing: only one program at a time has the file open to write, on
// one connection.
func (Engine) Lock(context.Context, *sql.Tx) error { return nil }

// Note does nothing: a file and its rows are kept together or not at all.
func (Engine) Note(context.Context, int, string, string, time.Time) error { return nil }

// Tidy does nothing: nothing was noted.
func (Engine) Tidy(context.Context, *sql.Tx, int) error { return nil }

// Forget does nothing: nothing was noted.
func (Engine) Forget(context.Context, *sql.Tx, int) error { return nil }

// Blame returns the error: there is one database.
func (Engine) Blame(_ context.Context, err error) error { return err }

// Scan does nothing: DuckDB joins by hashing either way.
func (Engine) Scan(context.Context, *sql.Conn, bool) error { return nil }

// DuckDB's own memory is bounded. A log in a file spills to its temporary
// folder beyond that: measured, an import of three million builds takes as long
// with 350 MB as with 1 GB. A log in memory has nowhere to spill to.
const (
	fileLimit   = "350MB"
	memoryLimit = "2GB"
)

// Reach is what statements may read and write beside the database itself.
// "" is nothing.
type Reach struct {
	Temp   string // folder for what does not fit in memory
	Folder string // every file in it
	Copy   string // one file, a DuckDB database, and what DuckDB keeps beside it
}

// Ends are what the names of a database and its write-ahead logs end in.
var Ends = [...]string{"", ".wal", ".wal.checkpoint", ".wal.recovery"}

// Connect opens a database, "" in memory, and shuts everything off that a log
// does not need. It has one connection.
//
// The order matters: the temporary and the allowed paths must be set before
// external access goes, everything before the lock, and only the access mode
// may stand in the DSN because its options are applied in random order. The
// settings belong to the database, not to the connection, and are refused
// after the lock, so they are made once.
func Connect(dsn string, files Reach) (*sql.DB, error) {
	limit := fileLimit
	if dsn == "" {
		limit = memoryLimit
	}
	settings := []string{
		"SET TimeZone = 'UTC'",
		fmt.Sprintf("SET threads = %d", runtime.GOMAXPROCS(0)),
		"SET memory_limit = '" + limit + "'",
		"SET temp_directory = " + Literal(files.Temp),
		"SET autoinstall_known_extensions = false",
		"SET autoload_known_extensions = false",
		"SET allow_community_extensions = false",
		"SET allow_persistent_secrets = false",
	}
	if files.Folder != "" {
		settings = append(settings, "SET allowed_directories = ["+Literal(files.Folder)+"]")
	}
	if files.Copy != "" {
		var names []string
		for _, end := range Ends {
			names = append(names, Literal(files.Copy+end))
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

// Identifier is a name as SQL takes it for one.
func Identifier(name string) string {
	return `"` + strings.ReplaceAll(name, `"`, `""`) + `"`
}

// Literal is text as an SQL string.
func Literal(text string) string {
	return "'" + strings.ReplaceAll(text, "'", "''") + "'"
}
