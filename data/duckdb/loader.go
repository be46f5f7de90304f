package duckdb

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"fmt"

	"github.com/duckdb/duckdb-go/v2"
)

// Loader takes many rows.
type Loader = interface {
	Append(row []driver.Value) error // of the columns it was made with
	Close() error                    // loads what is pending; a second one does nothing
	Discard()                        // forgets what is pending, after an error
}

// types of columns, as the shared statements name them.
var types = map[string]duckdb.Type{
	"text":             duckdb.TYPE_VARCHAR,
	"double precision": duckdb.TYPE_DOUBLE,
	"integer":          duckdb.TYPE_INTEGER,
	"bigint":           duckdb.TYPE_BIGINT,
	"date":             duckdb.TYPE_DATE,
}

// loader loads rows through an INSERT … SELECT FROM appended, so that SQL does
// the conversions and reports what does not fit; DuckDB's plain appender
// corrupts such values without a word.
type loader struct {
	conn  *sql.Conn
	inner *duckdb.Appender
}

// Load prepares an INSERT that selects from the table appended, which has the
// columns of these names and SQL types.
func (Engine) Load(_ context.Context, conn *sql.Conn, query string, names, columns []string) (Loader, error) {
	infos := make([]duckdb.TypeInfo, len(columns))
	for i, column := range columns {
		info, err := duckdb.NewTypeInfo(types[column])
		if err != nil {
			return nil, fmt.Errorf("column %s: %w", names[i], err)
		}
		infos[i] = info
	}
	l := &loader{conn: conn}
	err := conn.Raw(func(c any) (err error) {
		l.inner, err = duckdb.NewQueryAppender(c.(driver.Conn), query, "appended", infos, names)
		return err
	})
	if err != nil {
		return nil, err
	}
	return l, nil
}

// Append implements [Loader].
func (l *loader) Append(row []driver.Value) error { return l.inner.AppendRow(row...) }

// Close implements [Loader].
func (l *loader) Close() error {
	if l.inner == nil {
		return nil
	}
	inner := l.inner
	l.inner = nil
	if err := l.conn.Raw(func(any) error { return inner.Close() }); err != nil {
		return fmt.Errorf("load rows: %w", err)
	}
	return nil
}

// Discard implements [Loader]: it frees the appender too.
func (l *loader) Discard() {
	if l.inner == nil {
		return
	}
	// Either may say again what went wrong before.
	l.inner.Clear()
	l.inner.Close()
	l.inner = nil
}
