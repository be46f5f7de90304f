package data

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"time"
)

// engine is what a log needs of a database beside database/sql. There are two,
// in the folders duckdb and postgres, which hold all that differs between them.
type engine interface {
	// Migrations are the changes that its tables have had, in order.
	Migrations() []migration

	// Words are the statements of query/ that it words in its own way, by the name
	// of the file.
	Words() map[string]string

	// Load prepares an INSERT that selects from the table appended, whose rows are
	// given to what it returns. names and types are its columns.
	Load(ctx context.Context, conn *sql.Conn, query string, names, types []string) (loader, error)

	// Lock makes a transaction the only one that writes to the log.
	Lock(ctx context.Context, tx *sql.Tx) error

	// Note writes down, before rows of a file may be kept apart from it, that the
	// file is being imported under a number. Tidy, before the transaction is kept,
	// takes back the notes from a number on of files that brought nothing; Forget
	// undoes the transaction and takes back all of them.
	Note(ctx context.Context, number int, name, kind string, at time.Time) error
	Tidy(ctx context.Context, tx *sql.Tx, first int) error
	Forget(ctx context.Context, tx *sql.Tx, first int) error

	// Blame adds to an error which of several databases does not answer, if it is
	// about that.
	Blame(ctx context.Context, err error) error

	// Scan prepares a connection for statements that join all rows with all levels,
	// or, afterwards, for those that look a few rows up.
	Scan(ctx context.Context, conn *sql.Conn, all bool) error

	// Shadows reports whether a temporary table stands in front of a table of its
	// name, views of it included.
	Shadows() bool
}

// migration is a change of the tables. Once released it is never edited: a
// later one changes what it did.
type migration = struct{ Name, SQL string }

// loader takes many rows; see [engine].
type loader = interface {
	Append(row []driver.Value) error
	Close() error // loads what is pending; a second one does nothing
	Discard()     // forgets what is pending, after an error
}
