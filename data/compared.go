package data

import (
	"context"
	_ "embed"
	"errors"
	"fmt"
	"slices"

	"trueplait/model"
)

//go:embed query/compared_stage.sql
var comparedStage string

//go:embed query/compared_load.sql
var comparedLoad string

//go:embed query/compared_count.sql
var comparedCount string

//go:embed query/compared_split.sql
var comparedSplit string

//go:embed query/compared_unstage.sql
var comparedUnstage string

//go:embed query/observed_shot.sql
var observedShot string

//go:embed query/observed_body.sql
var observedBody string

//go:embed query/observed_weight.sql
var observedWeight string

//go:embed query/observed_length.sql
var observedLength string

//go:embed query/observed_strand.sql
var observedStrand string

//go:embed query/observed_unstage.sql
var observedUnstage string

//go:embed query/aside_stage.sql
var asideStage string

//go:embed query/aside_append.sql
var asideAppend string

//go:embed query/aside_clear.sql
var asideClear string

// compared says whose rows the temporary table of that name holds. It belongs
// to who has the log's connection.
type compared struct {
	staged bool // there are its tables
	rows   int  // in it
	by     *Observations
	shown  model.Quantity // which one the view observed shows; "": there is none
	levels levels
	aside  map[model.Quantity][]model.RowKey // rows that fits left out
	places map[model.Quantity]map[seat]place
	stated map[model.Quantity]map[int64]stated // by rows' numbers
	spread map[model.Quantity]spread           // of the residuals last scanned

	numbers map[model.RowKey]int64 // of rows
}

// with runs do on the log's connection, which nobody else has meanwhile, with
// the rows at work: the temporary tables are its own until it returns. The view
// observed shows q, if q is one.
func (o *Observations) with(ctx context.Context, what string, q model.Quantity, do func(*session) error) error {
	conn, err := o.log.db.session(ctx)
	if err != nil {
		return fmt.Errorf("data: %s: %w", what, err)
	}
	defer conn.Close()
	if err := o.work(ctx, conn, q, do); err != nil {
		return fmt.Errorf("data: %s: %w", what, err)
	}
	return nil
}

// work is with, on the connection.
func (o *Observations) work(ctx context.Context, conn *session, q model.Quantity, do func(*session) error) (err error) {
	scan := conn.of.engine.Scan
	if err := scan(ctx, conn.Conn, true); err != nil {
		return err
	}
	defer func() { err = errors.Join(err, scan(context.WithoutCancel(ctx), conn.Conn, false)) }()
	if err := o.load(ctx, conn); err != nil {
		return err
	}
	if err := o.log.compared.show(ctx, conn, q); err != nil {
		return err
	}
	return do(conn)
}

// load puts the rows to work, unless they are.
func (o *Observations) load(ctx context.Context, conn *session) error {
	at := &o.log.compared
	if at.by == o {
		return nil
	}
	if err := at.restart(ctx, conn); err != nil {
		return err
	}
	if err := at.levels.fill(ctx, conn, o.through); err != nil {
		return err
	}
	if _, err := conn.ExecContext(ctx, comparedLoad, o.through, o.everything); err != nil {
		return err
	}
	if len(o.splits) > 0 {
		if _, err := conn.ExecContext(ctx, comparedSplit); err != nil {
			return err
		}
	}
	if err := conn.QueryRowContext(ctx, comparedCount).Scan(&at.rows); err != nil {
		return err
	}
	at.by = o
	return nil
}

// restart empties the tables.
func (c *compared) restart(ctx context.Context, conn *session) error {
	// Only ever our own tables, not those that somebody else put into the file.
	if c.shown != "" {
		if err := execAll(ctx, conn, observedUnstage); err != nil {
			return err
		}
		c.shown = ""
	}
	if c.staged {
		if err := execAll(ctx, conn, comparedUnstage, levelUnstage); err != nil {
			return err
		}
	}
	*c = compared{}
	err := execAll(ctx, conn, levelStage, comparedStage, asideStage, asideClear)
	if err != nil {
		return err
	}
	*c = compared{
		staged:  true,
		aside:   map[model.Quantity][]model.RowKey{},
		places:  map[model.Quantity]map[seat]place{},
		stated:  map[model.Quantity]map[int64]stated{},
		spread:  map[model.Quantity]spread{},
		numbers: map[model.RowKey]int64{},
	}
	return nil
}

// show makes observed the view of a quantity; "" asks for none. A view of its
// own for each reads only the columns that it needs.
func (c *compared) show(ctx context.Context, conn *session, q model.Quantity) error {
	if q == "" || q == c.shown {
		return nil
	}
	view := observedShot
	switch q {
	case model.Body:
		view = observedBody
	case model.Weight:
		view = observedWeight
	case model.Length:
		view = observedLength
	case model.Strand:
		view = observedStrand
	}
	if _, err := conn.ExecContext(ctx, view); err != nil {
		return err
	}
	c.shown = q
	return nil
}

// setAside marks the rows that fits left out, and those they did not.
func (o *Observations) setAside(ctx context.Context, conn *session, of ...model.Residuals) error {
	at := &o.log.compared
	there := true
	for _, r := range of {
		there = there && slices.Equal(at.aside[r.Quantity], r.Aside)
	}
	if there {
		return nil
	}
	clear(at.aside) // until it is done
	if _, err := conn.ExecContext(ctx, asideClear); err != nil {
		return err
	}
	rows := make([][]int64, len(of))
	for i, r := range of {
		var err error
		if rows[i], err = o.numbers(ctx, conn, r.Aside); err != nil {
			return err
		}
	}
	var quantity string
	var n int64
	err := bulk(ctx, conn, asideAppend, []field{{"quantity", &quantity}, {"n", &n}}, func(add func() error) error {
		for i, r := range of {
			quantity = string(r.Quantity)
			for _, n = range rows[i] {
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
	for _, r := range of {
		at.aside[r.Quantity] = slices.Clone(r.Aside)
	}
	return nil
}

// bulk loads the rows that fill adds, each as the fields are at that moment.
func bulk(ctx context.Context, conn *session, query string, fields []field, fill func(add func() error) error) error {
	a, err := newAppender(ctx, conn, query, fields)
	if err != nil {
		return err
	}
	return errors.Join(fill(a.add), a.Close())
}

// execAll runs statements without parameters.
func execAll(ctx context.Context, conn *session, statements ...string) error {
	for _, s := range statements {
		if _, err := conn.ExecContext(ctx, s); err != nil {
			return err
		}
	}
	return nil
}
