package data

import (
	"database/sql/driver"
	_ "embed"

	"trueplait/model"
)

//go:embed query/build_direct_append.sql
var buildDirectAppend string

//go:embed query/build_greatest.sql
var buildGreatest string

// ascent is the beginning of a long file of builds in which each id is greater
// than those before it and than any in the log. Such builds are new and stand
// once in the file, whatever comes behind them, so they go into the log as they
// are read: without it, a log as large as the file is stored twice. Where the
// ids stop rising, or a build is to be completed from a plan or a calibration,
// the rest is staged.
type ascent struct {
	file     *File
	started  bool
	over     bool
	greatest string // id so far
	appender *appender
}

// rise is what an ascent asks of a batch.
type rise struct {
	first, last string // id
	broken      bool   // an id is not greater than the one before it, or a build has more to look up
}

// add takes in the next row of the batch.
func (r *rise) add(row model.Row) {
	b, ok := row.(*model.Build)
	switch {
	case !ok, b.Calibration != 0, b.ID <= r.last:
		r.broken = true
	case r.first == "":
		r.first = b.ID
	}
	if ok {
		r.last = b.ID
	}
}

// takes reports whether a batch goes on with the ascent. A file of less than a
// batch never begins one: looking at all ids of the log takes longer than
// staging a few rows.
func (a *ascent) takes(b batch) (bool, error) {
	a.over = a.over || b.rise.broken || !a.started && len(b.lines) < batchRows
	if !a.over && !a.started {
		if err := a.start(); err != nil {
			return false, err
		}
	}
	if a.over = a.over || b.rise.first <= a.greatest; a.over {
		return false, nil
	}
	a.greatest = b.rise.last
	return true, nil
}

// start asks the log where the ascent begins.
func (a *ascent) start() error {
	f := a.file
	a.started = true
	if err := f.im.get(f.im.ctx, f.name, openBuildCount, &f.plans); err != nil {
		return err
	}
	if a.over = f.plans > 0; a.over {
		return nil
	}
	if err := f.im.get(f.im.ctx, f.name, buildGreatest, &a.greatest); err != nil {
		return err
	}
	var err error
	if a.appender, err = newAppender(f.im.ctx, f.im.conn, buildDirectAppend, f.record.added(&f.number)); err != nil {
		return f.im.fail(f.name, err)
	}
	return nil
}

// append adds a row of the file to the log.
func (a *ascent) append(row []driver.Value) error {
	copy(a.appender.values, row)
	a.appender.values[len(row)] = int32(a.file.number)
	return a.appender.Append(a.appender.values)
}

// close adds what is pending.
func (a *ascent) close() error {
	if a.appender == nil {
		return nil
	}
	return a.appender.Close()
}

// discard forgets what is pending.
func (a *ascent) discard() {
	if a.appender != nil {
		a.appender.Discard()
	}
}
