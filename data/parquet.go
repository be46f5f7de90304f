package data

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"
	"fmt"
	"path/filepath"
	"strings"

	"github.com/duckdb/duckdb-go/v2"
)

// ExportParquet writes builds.parquet, fills.parquet, checks.parquet,
// products.parquet and parts.parquet into the folder dir, which must exist: the
// tables as the log holds them, in g and mm, with what was worked out at
// import. Files of these names are replaced.
//
// The log itself may touch no other file, and its settings are locked. So the
// rows pass through a second database, in memory, which may write in dir and
// nowhere else.
func (l *Log) ExportParquet(ctx context.Context, dir string) (err error) {
	dir, err = filepath.Abs(dir)
	if err != nil {
		return fmt.Errorf("data: export: %w", err)
	}
	scratch, err := memory(ctx, dir)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, scratch.Close()) }()
	for _, t := range tables() {
		path := filepath.Join(dir, string(t.kind)+".parquet")
		if err := scratch.copyFrom(ctx, l, t.name, t.export); err != nil {
			return fmt.Errorf("data: export %s: %w", t.kind, err)
		}
		// COPY takes the SELECT without the semicolon that ends its file.
		selection := strings.TrimRight(t.export, ";\n")
		if _, err := scratch.db.ExecContext(ctx, "COPY (\n"+selection+"\n) TO "+literal(path)+" (FORMAT parquet, COMPRESSION zstd)"); err != nil {
			return fmt.Errorf("data: export %s: %w", path, err)
		}
	}
	return nil
}

// copyFrom fills an empty table with what a query gives of another log's table
// of the same name.
func (l *Log) copyFrom(ctx context.Context, from *Log, table, query string, args ...any) error {
	rows, err := from.db.QueryContext(ctx, query, args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	columns, err := rows.Columns()
	if err != nil {
		return err
	}
	conn, err := l.db.Conn(ctx)
	if err != nil {
		return err
	}
	defer conn.Close()
	return conn.Raw(func(c any) error {
		// Both tables come from the same migrations, so that values need no
		// conversion and the plain appender is safe here.
		a, err := duckdb.NewAppenderWithColumns(c.(driver.Conn), "", "", table, columns)
		if err != nil {
			return err
		}
		return errors.Join(appendAll(a, rows, len(columns)), a.Close())
	})
}

// appendAll appends every row.
func appendAll(a *duckdb.Appender, rows *sql.Rows, columns int) error {
	values, targets := make([]driver.Value, columns), make([]any, columns)
	for i := range values {
		targets[i] = (*any)(&values[i])
	}
	for rows.Next() {
		if err := rows.Scan(targets...); err != nil {
			return err
		}
		if err := a.AppendRow(values...); err != nil {
			return err
		}
	}
	return rows.Err()
}
