package postgres

import (
	"context"
	"database/sql"
	_ "embed"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib"
)

//go:embed query/extension_make.sql
var extensionMake string

//go:embed query/sharded.sql
var sharded string

//go:embed query/build_count.sql
var buildCount string

//go:embed query/build_divide.sql
var buildDivide string

//go:embed query/part_make.sql
var partMake string

//go:embed query/part_attach.sql
var partAttach string

//go:embed query/part_detach.sql
var partDetach string

//go:embed query/part_drop.sql
var partDrop string

//go:embed query/part_exists.sql
var partExists string

//go:embed query/part_grant.sql
var partGrant string

//go:embed query/search_all.sql
var searchAll string

//go:embed query/part_of_maker.sql
var partOfMaker string

//go:embed query/part_list.sql
var partList string

//go:embed query/part_lock.sql
var partLock string

//go:embed query/part_view.sql
var partView string

//go:embed query/part_sum.sql
var partSum string

// What is wrong with dividing a log.
var (
	ErrHolds   = errors.New("holds builds already: divide an empty log")
	ErrDivided = errors.New("is divided already: move its parts")
	ErrWhole   = errors.New("is not divided")
	ErrNoPart  = errors.New("no such part")
	ErrThere   = errors.New("the part is there already")
	ErrCopy    = errors.New("the copy is not what was copied: nothing was moved, try again")
)

// Part is a share of the builds: those of the makers whose names have the same
// hash. It has a schema of its own, by the same name on its server and, where the
// tables stand for those there, on the coordinator.
type Part struct {
	Schema string
	Server string // by name
}

// Number is the part's, from 0.
func (p Part) Number() int {
	n, _ := strconv.Atoi(strings.TrimPrefix(p.Schema, partPrefix)) // partSchema wrote it
	return n
}

const partPrefix = "trueplait_p"

// partSchema is the schema of a part.
func partSchema(number int) string { return fmt.Sprintf("%s%03d", partPrefix, number) }

// Sharded reports whether the builds of a log are on other servers.
func Sharded(ctx context.Context, db queryer) (is bool, err error) {
	err = db.QueryRowContext(ctx, sharded).Scan(&is)
	return is, err
}

// Parts lists the parts of a divided log, by number.
func Parts(ctx context.Context, db queryer) ([]Part, error) {
	rows, err := db.QueryContext(ctx, partList)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var out []Part
	for rows.Next() {
		var p Part
		if err := rows.Scan(&p.Schema, &p.Server); err != nil {
			return nil, err
		}
		out = append(out, p)
	}
	return out, rows.Err()
}

// PartOf finds the part of a maker; [ErrWhole].
func PartOf(ctx context.Context, db queryer, maker string) (p Part, err error) {
	is, err := Sharded(ctx, db)
	if err != nil || !is {
		return p, errors.Join(err, onlyIf(!is, ErrWhole))
	}
	err = db.QueryRowContext(ctx, partOfMaker, maker).Scan(&p.Schema, &p.Server)
	return p, err
}

// Divide divides the builds of an empty log into parts, by the hash of their
// maker, and gives them to the servers in turn. All of these have the tables of a
// log. It takes a superuser, on the servers too, whose name is keeper.
func Divide(ctx context.Context, db *sql.DB, keeper string, servers []Server, parts int) error {
	if is, err := Sharded(ctx, db); err != nil || is {
		return errors.Join(err, onlyIf(is, ErrDivided))
	}
	var builds int
	if err := db.QueryRowContext(ctx, buildCount).Scan(&builds); err != nil || builds > 0 {
		return errors.Join(err, onlyIf(builds > 0, ErrHolds))
	}
	for at, s := range servers {
		for n := at; n < parts; n += len(servers) {
			if err := s.makePart(ctx, n, parts, true); err != nil {
				return fmt.Errorf("%s: %w", s.Place(), err)
			}
		}
	}
	return transact(ctx, db, func(tx *sql.Tx) error {
		if _, err := tx.ExecContext(ctx, extensionMake); err != nil {
			return err
		}
		for _, query := range []string{buildDivide, migration0002} { // the views again
			if _, err := tx.ExecContext(ctx, query); err != nil {
				return err
			}
		}
		for _, s := range servers {
			if err := s.introduce(ctx, tx, keeper); err != nil {
				return err
			}
		}
		for n := range parts {
			s := servers[n%len(servers)]
			if err := attach(ctx, tx, partSchema(n), s.Name, parts, n); err != nil {
				return err
			}
		}
		for _, query := range []string{groupGrant, groupRevoke, groupRevokeWorkshop} {
			if _, err := tx.ExecContext(ctx, query); err != nil {
				return err
			}
		}
		return nil
	})
}

// attach makes a server's part one of the log's.
func attach(ctx context.Context, tx *sql.Tx, schema, server string, parts, number int) error {
	if err := worded(ctx, tx, tx, partAttach, schema, server, parts, number); err != nil {
		return err
	}
	for _, query := range []string{migration0002, partGrant} {
		if _, err := tx.ExecContext(ctx, query); err != nil {
			return err
		}
	}
	_, err := tx.ExecContext(ctx, searchAll)
	return err
}

// onlyIf is err where it holds.
func onlyIf(holds bool, err error) error {
	if holds {
		return err
	}
	return nil
}

// transact runs do in a transaction, which is kept unless do fails.
func transact(ctx context.Context, db *sql.DB, do func(*sql.Tx) error) error {
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer tx.Rollback() // nothing to undo after Commit
	if err := do(tx); err != nil {
		return err
	}
	return tx.Commit()
}

// makePart makes the tables of a part on the server. What is there of that name
// is replaced: the coordinator does not read it. With first, it must be empty.
func (s Server) makePart(ctx context.Context, number, parts int, first bool) error {
	schema := partSchema(number)
	db, err := Connect(s.Address(), func() {})
	if err != nil {
		return err
	}
	defer db.Close()
	return transact(ctx, db, func(tx *sql.Tx) error {
		var there bool
		if err := tx.QueryRowContext(ctx, partExists, schema).Scan(&there); err != nil {
			return err
		}
		if there && first {
			sum, err := sumPart(ctx, tx, schema)
			if err != nil || sum.Builds+sum.Replaced > 0 {
				return errors.Join(err, onlyIf(sum.Builds+sum.Replaced > 0, ErrHolds))
			}
		}
		if err := worded(ctx, tx, tx, partDrop, schema); err != nil {
			return err
		}
		if err := worded(ctx, tx, tx, partMake, schema, parts, number); err != nil {
			return err
		}
		for _, query := range []string{migration0002, partView} {
			if _, err := tx.ExecContext(ctx, query); err != nil {
				return err
			}
		}
		return nil
	})
}

// Sum is what two copies of a part have in common.
type Sum struct {
	Builds, Replaced     int
	buildSum, historySum string
}

// sumPart counts and sums up a part.
func sumPart(ctx context.Context, db queryer, schema string) (s Sum, err error) {
	var query string
	if err := db.QueryRowContext(ctx, partSum, schema).Scan(&query); err != nil {
		return s, err
	}
	err = db.QueryRowContext(ctx, query).Scan(&s.Builds, &s.Replaced, &s.buildSum, &s.historySum)
	return s, err
}

// SumPart counts and sums up a part on the server.
func (s Server) SumPart(ctx context.Context, p Part) (Sum, error) {
	db, err := Connect(s.Address(), func() {})
	if err != nil {
		return Sum{}, err
	}
	defer db.Close()
	return sumPart(ctx, db, p.Schema)
}

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
	old, err := Connect(from.Address(), func() {})
	if err != nil {
		return moved, err
	}
	defer old.Close()
	return moved, worded(ctx, old, old, partDrop, p.Schema)
}

// copyTable copies the rows of a table to the server of the same table.
func copyTable(ctx context.Context, from, to Server, table pgx.Identifier) (err error) {
	source, err := Connect(from.Address(), func() {})
	if err != nil {
		return err
	}
	defer source.Close()
	target, err := Connect(to.Address(), func() {})
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
