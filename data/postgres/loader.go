package postgres

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"fmt"
	"strings"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib"
)

// Loader takes many rows.
type Loader = interface {
	Append(row []driver.Value) error // of the columns it was made with
	Close() error                    // loads what is pending; a second one does nothing
	Discard()                        // forgets what is pending, after an error
}

// batchRows are copied at a time: enough that what a batch costs does not count,
// few enough to wait in memory.
const batchRows = 10_000

// loader copies rows into the temporary table appended, from which the statement
// takes them: SQL does the conversions and reports what does not fit.
type loader struct {
	ctx    context.Context
	conn   *sql.Conn
	query  string
	names  []string
	create string
	rows   [][]any
}

// Load prepares an INSERT that selects from the table appended, which has the
// columns of these names and SQL types.
func (Engine) Load(ctx context.Context, conn *sql.Conn, query string, names, types []string) (Loader, error) {
	columns := make([]string, len(names))
	for i := range names {
		columns[i] = pgx.Identifier{names[i]}.Sanitize() + " " + types[i]
		if types[i] == "text" {
			columns[i] += ` collate "C"`
		}
	}
	return &loader{
		ctx: ctx, conn: conn, query: query, names: names,
		create: "drop table if exists appended; create temporary table appended (" + strings.Join(columns, ", ") + ")",
	}, nil
}

// Append implements [Loader].
func (l *loader) Append(row []driver.Value) error {
	values := make([]any, len(row))
	for i, v := range row {
		values[i] = v
	}
	l.rows = append(l.rows, values)
	if len(l.rows) < batchRows {
		return nil
	}
	return l.Close()
}

// Close implements [Loader].
func (l *loader) Close() error {
	if len(l.rows) == 0 {
		return nil
	}
	rows := l.rows
	l.rows = l.rows[:0]
	err := l.conn.Raw(func(c any) error {
		conn := c.(*stdlib.Conn).Conn()
		if _, err := conn.Exec(l.ctx, l.create); err != nil {
			return err
		}
		if _, err := conn.CopyFrom(l.ctx, pgx.Identifier{"appended"}, l.names, pgx.CopyFromRows(rows)); err != nil {
			return err
		}
		if _, err := conn.Exec(l.ctx, l.query); err != nil {
			return err
		}
		_, err := conn.Exec(l.ctx, "drop table appended")
		return err
	})
	if err != nil {
		return fmt.Errorf("load rows: %w", err)
	}
	return nil
}

// Discard implements [Loader].
func (l *loader) Discard() { l.rows = nil }
