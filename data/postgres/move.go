package postgres

import (
	"context"
	"database/sql"
	_ "embed"
	"errors"
	"fmt"
	"io"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib"
)

//go:embed query/part_detach.sql
var partDetach string

//go:embed query/part_lock.sql
var partLock string

// Introduce makes a new server known to the log, and its workshops to the
// server.
func Introduce(ctx context.Context, db *sql.DB, keeper string, s Server) error {
	return transact(ctx, db, func(tx *sql.Tx) error { return s.introduce(ctx, tx, keeper) })
}

// Move moves a part of the log to another of its servers. Nobody reads or writes
// builds meanwhile. The rows are counted and summed up on both servers before
// the log reads the new one; those on the old one are dropped at the end.
func Move(ctx context.Context, db *sql.DB, p Part, parts int, from, to Server) (Sum, error) {
	if from.Place() == to.Place() {
		return Sum{}, ErrThere
	}
	if err := to.makePart(ctx, p.Number(), parts, false); err != nil {
		return Sum{}, fmt.Errorf("%s: %w", to.Place(), err)
	}
	var moved Sum
	err := transact(ctx, db, func(tx *sql.Tx) error {
		if _, err := tx.ExecContext(ctx, partLock); err != nil {
			return err
		}
		for _, table := range []string{"build", "build_history"} {
			if err := copyTable(ctx, from, to, pgx.Identifier{p.Schema, table}); err != nil {
				return err
			}
		}
		was, err := from.SumPart(ctx, p)
		if err != nil {
			return err
		}
		if moved, err = to.SumPart(ctx, p); err != nil {
			return err
		}
		if was != moved {
			return ErrCopy
		}
		if err := worded(ctx, tx, tx, partDetach, p.Schema); err != nil {
			return err
		}
		return attach(ctx, tx, p.Schema, to.Name, parts, p.Number())
	})
	if err != nil {
		return Sum{}, err
	}
	old, err := from.connect()
	if err != nil {
		return moved, err
	}
	defer old.Close()
	return moved, worded(ctx, old, old, partDrop, p.Schema)
}

// copyTable copies the rows of a table to the server of the same table.
func copyTable(ctx context.Context, from, to Server, table pgx.Identifier) (err error) {
	source, err := from.connect()
	if err != nil {
		return err
	}
	defer source.Close()
	target, err := to.connect()
	if err != nil {
		return err
	}
	defer target.Close()
	r, w := io.Pipe()
	sent := make(chan error, 1)
	go func() {
		err := raw(ctx, source, func(c *pgx.Conn) error {
			_, err := c.PgConn().CopyTo(ctx, w, "copy "+table.Sanitize()+" to stdout (format binary)")
			return err
		})
		w.CloseWithError(err)
		sent <- err
	}()
	err = raw(ctx, target, func(c *pgx.Conn) error {
		_, err := c.PgConn().CopyFrom(ctx, r, "copy "+table.Sanitize()+" from stdin (format binary)")
		return err
	})
	r.CloseWithError(err)
	return errors.Join(err, <-sent)
}

// raw runs do on a connection.
func raw(ctx context.Context, db *sql.DB, do func(*pgx.Conn) error) error {
	conn, err := db.Conn(ctx)
	if err != nil {
		return err
	}
	defer conn.Close()
	return conn.Raw(func(c any) error { return do(c.(*stdlib.Conn).Conn()) })
}
