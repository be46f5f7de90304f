package data

import (
	"context"
	"database/sql/driver"
)

// appender loads many rows of fields.
type appender struct {
	loader
	fields []field
	values []driver.Value
}

// newAppender prepares query for rows of the fields' columns, which it reads as
// the table appended.
func newAppender(ctx context.Context, conn *session, query string, fields []field) (*appender, error) {
	names, types := make([]string, len(fields)), make([]string, len(fields))
	for i := range fields {
		names[i], types[i] = fields[i].name, fields[i].sqlType()
	}
	l, err := conn.of.engine.Load(ctx, conn.Conn, conn.of.word(query), names, types)
	if err != nil {
		return nil, err
	}
	return &appender{l, fields, make([]driver.Value, len(fields))}, nil
}

// add appends a row of what the fields point to.
func (a *appender) add() error {
	if err := a.read(a.values); err != nil {
		return err
	}
	return a.Append(a.values)
}

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
