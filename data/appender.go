package data

import (
	"database/sql"
	"database/sql/driver"
	"fmt"

	"github.com/duckdb/duckdb-go/v2"
)

// appender loads many rows through an INSERT … SELECT FROM appended, so that
// SQL does the conversions and reports what does not fit; DuckDB's plain
// appender corrupts such values without a word.
type appender struct {
	conn   *sql.Conn
	inner  *duckdb.Appender
	fields []field
	values []driver.Value
}

// newAppender prepares query for rows of the fields' columns.
func newAppender(conn *sql.Conn, query string, fields []field) (*appender, error) {
	names := make([]string, len(fields))
	types := make([]duckdb.TypeInfo, len(fields))
	for i := range fields {
		info, err := duckdb.NewTypeInfo(fields[i].sqlType())
		if err != nil {
			return nil, err
		}
		names[i], types[i] = fields[i].name, info
	}
	a := &appender{conn: conn, fields: fields, values: make([]driver.Value, len(fields))}
	err := conn.Raw(func(c any) error {
		var err error
		a.inner, err = duckdb.NewQueryAppender(c.(driver.Conn), query, "appended", types, names)
		return err
	})
	return a, err
}

// add appends a row of what the fields point to.
func (a *appender) add() error {
	if err := a.read(a.values); err != nil {
		return err
	}
	return a.append(a.values)
}

// append appends a row of values that read gave.
func (a *appender) append(row []driver.Value) error { return a.inner.AppendRow(row...) }

// read puts what the fields point to into row.
func (a *appender) read(row []driver.Value) error {
	for i := range a.fields {
		v, err := a.fields[i].value()
		if err != nil {
			return err
		}
		row[i] = v
	}
	return nil
}

// close loads what is pending. A second close does nothing.
func (a *appender) close() error {
	if a.inner == nil {
		return nil
	}
	inner := a.inner
	a.inner = nil
	if err := a.conn.Raw(func(any) error { return inner.Close() }); err != nil {
		return fmt.Errorf("load rows: %w", err)
	}
	return nil
}

// discard forgets what is pending and frees the appender, after an error.
func (a *appender) discard() {
	if a.inner == nil {
		return
	}
	// Either may say again what went wrong before.
	a.inner.Clear()
	a.inner.Close()
	a.inner = nil
}
