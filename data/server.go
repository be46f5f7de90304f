package data

import (
	"context"
	"errors"
	"fmt"

	"trueplait/data/postgres"
)

// openServer opens the workshop's log on a server. ReadWrite makes its tables
// where there are none, or brings them up to date, if the role may.
//
// An address may name a maker of a divided log, ?maker=NAME: then the log is that
// of the makers of the same part, and only the server that keeps it is asked.
func openServer(ctx context.Context, address string, mode Mode) (*Log, error) {
	address, maker := postgres.OfMaker(address)
	l, err := connectServer(address)
	if err != nil {
		return nil, err
	}
	err = l.prepareServer(ctx, mode)
	if err == nil {
		err = serverError(l.path, l.divide(ctx, address))
	}
	if err == nil && maker != "" {
		err = l.turnTo(ctx, address, maker)
	}
	if err != nil {
		return nil, errors.Join(err, l.Close())
	}
	l.db.reads = mode == ReadOnly
	return l, nil
}

// connectServer is a log on a server of which nothing is known yet.
func connectServer(address string) (*Log, error) {
	l := &Log{path: postgres.Name(address), server: true}
	db, err := postgres.Connect(address, l.forget)
	if err != nil {
		return nil, fmt.Errorf("log %w", err)
	}
	l.db = newDatabase(db, postgres.Engine{})
	return l, nil
}

// forget forgets what goes with a connection: its temporary tables.
func (l *Log) forget() { l.compared = compared{} }

// turnTo makes the log that of the part of a maker.
func (l *Log) turnTo(ctx context.Context, address, maker string) error {
	part, err := postgres.PartOf(ctx, l.db.DB, maker)
	if errors.Is(err, postgres.ErrWhole) {
		return fmt.Errorf("log %s %w: leave maker=%s out of its address", l.path, err, maker)
	}
	if err != nil {
		return serverError(l.path, err)
	}
	db, err := postgres.Connect(address, l.forget, part)
	if err != nil {
		return fmt.Errorf("log %w", err)
	}
	was := l.db
	l.db = newDatabase(db, was.engine)
	return was.Close()
}

// prepareServer looks who is connected, and brings the tables up to date.
func (l *Log) prepareServer(ctx context.Context, mode Mode) error {
	who, err := postgres.Whoami(ctx, l.db.DB)
	if err != nil {
		return serverError(l.path, err)
	}
	if who.Above {
		return fmt.Errorf("log %s: role %q sees the rows of every workshop, so it cannot be one: "+
			"connect as the role of your workshop", l.path, who.Name)
	}
	return l.bringUpToDate(ctx, mode, who)
}

// bringUpToDate makes the tables, or changes them, if the role may.
func (l *Log) bringUpToDate(ctx context.Context, mode Mode, who postgres.Role) error {
	known := l.db.engine.Migrations()
	version, name, err := schemaVersion(ctx, l.db)
	if err != nil {
		return serverError(l.path, err)
	}
	switch {
	case version > len(known):
		return fmt.Errorf("log %s: %w (its tables are %q, the newest known here is %q): use the newer program; nothing was changed",
			l.path, ErrNewer, name, known[len(known)-1].Name)
	case version == len(known):
		return nil
	case mode == ReadOnly && version == 0:
		return fmt.Errorf("%w at %s: import a file first, or name the log with --log", ErrNoLog, l.path)
	case mode == ReadOnly:
		return fmt.Errorf("log %s: %w: import a file (an unchanged one will do) to bring its tables up to date", l.path, ErrOlder)
	case !who.Makes:
		return fmt.Errorf("log %s: its tables are not there or not up to date, and role %q may not make them: "+
			"ask who keeps the server to run trueplait server setup", l.path, who.Name)
	}
	if err := l.migrate(ctx, version, known); err != nil {
		return serverError(l.path, err)
	}
	return nil
}

// divide takes the engine of a divided log, if this is one.
func (l *Log) divide(ctx context.Context, address string) error {
	is, err := postgres.Divided(ctx, l.db.DB)
	if err != nil || !is {
		return err
	}
	e := postgres.Engine{Divided: true}
	if e.Beside, err = postgres.Connect(address, func() {}); err != nil {
		return err
	}
	l.db = newDatabase(l.db.DB, e)
	l.beside = e.Beside
	return nil
}
