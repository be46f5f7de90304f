package duckdb

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"

	"github.com/duckdb/duckdb-go/v2"
)

// Fill appends rows to a table of the same columns. Those of the rows that are
// integers must be so in the table too, and must fit into 32 bits.
func Fill(ctx context.Context, db *sql.DB, table string, rows *sql.Rows) error {
	columns, err := rows.Columns()
	if err != nil {
		return err
	}
	conn, err := db.Conn(ctx)
	if err != nil {
		return err
	}
	defer conn.Close()
	return conn.Raw(func(c any) error {
		// The values are of the columns' own types, so that they need no
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
		for i, v := range values {
			if n, ok := v.(int64); ok { // another database has one size for all
				values[i] = int32(n)
			}
		}
		if err := a.AppendRow(values...); err != nil {
			return err
		}
	}
	return rows.Err()
}
