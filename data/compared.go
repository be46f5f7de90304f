package data

import (
	"context"
	"database/sql"
	_ "embed"
	"fmt"
	"slices"

	"trueplait/model"
)

//go:embed query/compared_stage.sql
var comparedStage string

//go:embed query/build_count.sql
var buildCount string

//go:embed query/compared_load.sql
var comparedLoad string

//go:embed query/compared_split.sql
var comparedSplit string

//go:embed query/compared_keep.sql
var comparedKeep string

//go:embed query/aside_stage.sql
var asideStage string

//go:embed query/aside_append.sql
var asideAppend string

//go:embed query/aside_clear.sql
var asideClear string

//go:embed query/compared_unstage.sql
var comparedUnstage string

//go:embed query/residual_stage.sql
var residualStage string

//go:embed query/residual_unstage.sql
var residualUnstage string

// compared says whose observations the temporary table of that name holds. It
// belongs to who has the log's connection.
type compared struct {
	staged     bool // there is such a table
	by         *Observations
	quantities []model.Quantity
	aside      map[model.Quantity][]model.RowKey // rows that are not kept
}

// with runs do on the log's connection, which nobody else has meanwhile, with
// the observations of the quantities at work: the temporary tables are its own
// until it returns.
func (o *Observations) with(ctx context.Context, what string, quantities []model.Quantity, do func(*sql.Conn) error) error {
	conn, err := o.log.db.Conn(ctx)
	if err != nil {
		return fmt.Errorf("data: %s: %w", what, err)
	}
	defer conn.Close()
	if err := o.load(ctx, conn, quantities); err != nil {
		return fmt.Errorf("data: %s: %w", what, err)
	}
	if err := do(conn); err != nil {
		return fmt.Errorf("data: %s: %w", what, err)
	}
	return nil
}

// smallLog is the number of builds up to which all quantities are put to work
// at once. Beyond it they take turns: all quantities of ten million builds would
// not fit in memory.
const smallLog = 200_000

// load puts the observations of the quantities at work, unless they are there.
func (o *Observations) load(ctx context.Context, conn *sql.Conn, quantities []model.Quantity) error {
	at := &o.log.compared
	there := at.by == o
	for _, q := range quantities {
		there = there && slices.Contains(at.quantities, q)
	}
	if there || len(quantities) == 0 {
		return nil
	}
	if err := at.restart(ctx, conn); err != nil {
		return err
	}
	var builds int
	if err := conn.QueryRowContext(ctx, buildCount).Scan(&builds); err != nil {
		return err
	}
	if builds <= smallLog {
		quantities = model.Quantities
	}
	// The statement has a place for every quantity; a name may be said twice.
	args := []any{o.through}
	for i := range model.Quantities {
		args = append(args, string(quantities[min(i, len(quantities)-1)]))
	}
	args = append(args, o.everything)
	if _, err := conn.ExecContext(ctx, comparedLoad, args...); err != nil {
		return err
	}
	if o.split {
		if _, err := conn.ExecContext(ctx, comparedSplit); err != nil {
			return err
		}
	}
	at.by, at.quantities = o, quantities
	return nil
}

// restart empties the table.
func (c *compared) restart(ctx context.Context, conn *sql.Conn) error {
	if c.staged { // only ever our own table, not one that somebody else put into the file
		if err := execAll(ctx, conn, residualUnstage, comparedUnstage); err != nil {
			return err
		}
	}
	*c = compared{}
	if err := execAll(ctx, conn, comparedStage, residualStage); err != nil {
		return err
	}
	*c = compared{staged: true, aside: map[model.Quantity][]model.RowKey{}}
	return nil
}

// setAside marks the rows that fits left out, and those they did not.
func (o *Observations) setAside(ctx context.Context, conn *sql.Conn, of ...model.Residuals) error {
	at := &o.log.compared
	there := true
	for _, r := range of {
		there = there && slices.Equal(at.aside[r.Quantity], r.Aside)
	}
	if there {
		return nil
	}
	if _, err := conn.ExecContext(ctx, asideClear); err != nil {
		return err
	}
	at.by = nil // until it is done
	var quantity, kind, id string
	err := bulk(conn, asideAppend, []field{{"quantity", &quantity}, {"kind", &kind}, {"id", &id}}, func(add func() error) error {
		for _, r := range of {
			quantity = string(r.Quantity)
			for _, key := range r.Aside {
				kind, id = string(key.Kind), key.ID
				if err := add(); err != nil {
					return err
				}
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	if _, err := conn.ExecContext(ctx, comparedKeep); err != nil {
		return err
	}
	clear(at.aside)
	for _, r := range of {
		at.aside[r.Quantity] = slices.Clone(r.Aside)
	}
	at.by = o
	return nil
}

// execAll runs statements without parameters.
func execAll(ctx context.Context, conn *sql.Conn, statements ...string) error {
	for _, s := range statements {
		if _, err := conn.ExecContext(ctx, s); err != nil {
			return err
		}
	}
	return nil
}
