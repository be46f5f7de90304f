package postgres

import (
	"context"
	"database/sql"
	_ "embed"
	"errors"
	"fmt"
)

//go:embed query/extension_make.sql
var extensionMake string

//go:embed query/divided.sql
var dividedQuery string

//go:embed query/build_count.sql
var buildCount string

//go:embed query/build_divide.sql
var buildDivide string

//go:embed query/part_make.sql
var partMake string

//go:embed query/part_attach.sql
var partAttach string

//go:embed query/part_drop.sql
var partDrop string

//go:embed query/part_exists.sql
var partExists string

//go:embed query/part_grant.sql
var partGrant string

//go:embed query/search_all.sql
var searchAll string

//go:embed query/part_view.sql
var partView string

// What is wrong with dividing a log.
var (
	ErrHolds   = errors.New("holds builds already: divide an empty log")
	ErrDivided = errors.New("is divided already: move its parts")
	ErrWhole   = errors.New("is not divided")
	ErrNoPart  = errors.New("no such part")
	ErrThere   = errors.New("the part is there already")
	ErrCopy    = errors.New("the copy is not what was copied: nothing was moved, try again")
)

// Divided reports whether the builds of a log are on other servers.
func Divided(ctx context.Context, db queryer) (is bool, err error) {
	err = db.QueryRowContext(ctx, dividedQuery).Scan(&is)
	return is, err
}

// Divide divides the builds of an empty log into parts, by the hash of their
// maker, and gives them to the servers in turn. All of these have the tables of a
// log. It takes a superuser, on the servers too, whose name is keeper.
func Divide(ctx context.Context, db *sql.DB, keeper string, servers []Server, parts int) error {
	switch is, err := Divided(ctx, db); {
	case err != nil:
		return err
	case is:
		return ErrDivided
	}
	var builds int
	switch err := db.QueryRowContext(ctx, buildCount).Scan(&builds); {
	case err != nil:
		return err
	case builds > 0:
		return ErrHolds
	}
	for at, s := range servers {
		for n := at; n < parts; n += len(servers) {
			if err := s.makePart(ctx, n, parts, true); err != nil {
				return fmt.Errorf("%s: %w", s.Place(), err)
			}
		}
	}
	return transact(ctx, db, func(tx *sql.Tx) error {
		if err := execAll(ctx, tx, extensionMake, buildDivide, migration0002); err != nil { // the views again
			return err
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
		return grant(ctx, tx)
	})
}

// attach makes a server's part one of the log's.
func attach(ctx context.Context, tx *sql.Tx, schema, server string, parts, number int) error {
	if err := worded(ctx, tx, tx, partAttach, schema, server, parts, number); err != nil {
		return err
	}
	return execAll(ctx, tx, migration0002, partGrant, searchAll)
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
	db, err := s.connect()
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
			switch sum, err := sumPart(ctx, tx, schema); {
			case err != nil:
				return err
			case sum.Builds+sum.Replaced > 0:
				return ErrHolds
			}
		}
		if err := worded(ctx, tx, tx, partDrop, schema); err != nil {
			return err
		}
		if err := worded(ctx, tx, tx, partMake, schema, parts, number); err != nil {
			return err
		}
		return execAll(ctx, tx, migration0002, partView)
	})
}
