package data

import (
	"context"
	"database/sql"
	_ "embed" // queries
	"fmt"
)

//go:embed query/migration_exists.sql
var migrationExists string

//go:embed query/migration_newest.sql
var migrationNewest string

//go:embed query/migration_add.sql
var migrationAdd string

//go:embed query/table_count.sql
var tableCount string

// version returns how many of the known migrations an open log has had, 0 if it
// is a new file. A log of a newer program is refused by the name of its newest
// migration, an older one that is opened to read too.
func (l *Log) version(ctx context.Context, mode Mode, known []migration) (int, error) {
	version, name, err := schemaVersion(ctx, l.db)
	if err != nil {
		return 0, openError(l.path, err)
	}
	switch {
	case version > len(known):
		return 0, fmt.Errorf("log %s: %w (its tables are %q, the newest known here is %q): use the newer program; the file is unchanged",
			l.path, ErrNewer, name, known[len(known)-1].Name)
	case version == 0:
		var tables int
		if err := l.db.QueryRowContext(ctx, tableCount).Scan(&tables); err != nil {
			return 0, openError(l.path, err)
		}
		if tables == 0 && mode == ReadOnly { // its first import was cut off
			return 0, fmt.Errorf("%w in %s yet, which is empty: import a file first, or name the log with --log", ErrNoLog, l.path)
		}
		if tables > 0 {
			return 0, fmt.Errorf("log %s: %w: it is a DuckDB file of something else; name another file with --log", l.path, ErrNotLog)
		}
	case version < len(known) && mode == ReadOnly:
		return 0, fmt.Errorf("log %s: %w: import a file (an unchanged one will do) to bring its tables up to date", l.path, ErrOlder)
	}
	return version, nil
}

// migrate applies the known migrations from version on, all of them or nothing.
func (l *Log) migrate(ctx context.Context, version int, known []migration) error {
	tx, err := l.db.BeginTx(ctx, nil)
	if err != nil {
		return openError(l.path, err)
	}
	defer tx.Rollback() // nothing to undo after Commit
	for i, m := range known[version:] {
		if _, err := tx.ExecContext(ctx, m.SQL); err != nil {
			return fmt.Errorf("data: migration %s: %w", m.Name, diskError(err))
		}
		if _, err := tx.ExecContext(ctx, migrationAdd, version+i+1, m.Name); err != nil {
			return fmt.Errorf("data: migration %s: %w", m.Name, err)
		}
	}
	if err := tx.Commit(); err != nil {
		return fmt.Errorf("data: migrate %s: %w", l.path, diskError(err))
	}
	return nil
}

// schemaVersion returns the number and name of the newest migration a file has
// had; 0 where it has none.
func schemaVersion(ctx context.Context, db *database) (int, string, error) {
	var tables int
	if err := db.QueryRowContext(ctx, migrationExists).Scan(&tables); err != nil || tables == 0 {
		return 0, "", err
	}
	var version int
	var name string
	err := db.QueryRowContext(ctx, migrationNewest).Scan(&version, &name)
	if err == sql.ErrNoRows {
		err = nil
	}
	return version, name, err
}
