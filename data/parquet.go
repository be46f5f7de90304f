package data

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"strings"

	"trueplait/data/duckdb"
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
		if _, err := scratch.db.ExecContext(ctx, "COPY (\n"+selection+"\n) TO "+duckdb.Literal(path)+" (FORMAT parquet, COMPRESSION zstd)"); err != nil {
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
	return duckdb.Fill(ctx, l.db.DB, table, rows)
}
