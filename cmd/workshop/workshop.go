// Package workshop is a log at work: files go into it, factors come out of it,
// plans and promises are made with them. It carries values between the packages
// that do not know each other, for the commands and for the bench page.
//
//   - Workshop is an open log with the options of one analysis: Take, Fit,
//     Design, Planned, Promises, Page, Calibrate.
//   - Bench is a workshop in daily use, by one person at the prompt or by
//     several browsers at once: entries are read, saved, and the factors fitted
//     anew after each.
package workshop

import (
	"context"
	"errors"
	"os"
	"runtime/debug"
	"time"

	"trueplait/calibrate"
	"trueplait/data"
	"trueplait/data/postgres"
	"trueplait/model"
)

// Options say what is read of a log, and how.
type Options struct {
	Through time.Time                 // rows up to this date only; zero: all
	KeepAll bool                      // fit rows that look wrong, too
	Seed    uint64                    // of what is drawn at random
	Clock   func() (time.Time, error) // the time of imports and the default of dates
	Program string                    // the program's version, for pages and saved calibrations
}

// memory is that in bytes from which garbage is collected without delay: far
// above what fits of a shop's log need. With the log's own beside it and what
// neither counts, it is less than 2 GB.
const memory = 5 << 28

// Workshop is an open log and what is read of it.
type Workshop struct {
	Log   *data.Log
	Src   *data.Observations
	opt   Options
	guild Guild // the log, where several workshops share it; else nil
}

var _ calibrate.Source = (*data.Observations)(nil)

// Absent reports whether a log would be a file that is not there yet. One on a
// server never is: who keeps the server makes room for it.
func Absent(log string) bool {
	if postgres.Is(log) {
		return false
	}
	_, err := os.Stat(log)
	return errors.Is(err, os.ErrNotExist)
}

// Open opens the log at path, or at an address. A log that is not there is not
// made.
func Open(ctx context.Context, path string, mode data.Mode, opt Options) (*Workshop, error) {
	if Absent(path) {
		mode = data.ReadOnly // says that there is no log: only rows make one
	}
	log, err := data.Open(ctx, path, mode)
	if err != nil {
		return nil, err
	}
	return New(ctx, log, opt)
}

// Make opens the log at path, or at an address, for rows to be written, and makes it where there
// is none.
func Make(ctx context.Context, path string, opt Options) (*Workshop, error) {
	log, err := data.Open(ctx, path, data.ReadWrite)
	if err != nil {
		return nil, err
	}
	return New(ctx, log, opt)
}

// New puts an open log to work. It closes the log where it fails.
func New(ctx context.Context, log *data.Log, opt Options) (*Workshop, error) {
	debug.SetGCPercent(400) // a fit keeps little, and ends before collecting pays
	debug.SetMemoryLimit(memory)
	w := &Workshop{Log: log, opt: opt}
	if log.Shared() {
		w.guild = log
	}
	if err := w.Reread(ctx); err != nil {
		return nil, errors.Join(err, log.Close())
	}
	return w, nil
}

// Reread takes in what changed since the log was opened: rows and splits.
func (w *Workshop) Reread(ctx context.Context) (err error) {
	w.Src, err = w.Log.Observations(ctx, w.opt.Through, w.opt.KeepAll)
	return err
}

// Close closes the log, keeping an earlier error.
func (w *Workshop) Close(err *error) { *err = errors.Join(*err, w.Log.Close()) }

// Fit calibrates from what the log holds, and works out the factors of the
// labels asked for as well, which must be known. A calibration of the same rows
// and options that was saved before lends its number.
func (w *Workshop) Fit(ctx context.Context, asked ...model.Labels) (*calibrate.Calibration, error) {
	if err := w.Known(ctx, asked...); err != nil {
		return nil, err
	}
	c, err := w.fit(ctx, asked...)
	if err != nil {
		return nil, err
	}
	saved, err := w.Log.Calibrations(ctx)
	if err != nil || len(saved) == 0 {
		return c, err
	}
	print, err := w.Log.Fingerprint(ctx, w.opt.Through)
	if err != nil {
		return nil, err
	}
	c.Number, err = w.Log.CalibrationNumber(ctx, print, w.saveOptions(nil))
	return c, err
}

// fit is Fit without a number.
func (w *Workshop) fit(ctx context.Context, asked ...model.Labels) (*calibrate.Calibration, error) {
	return calibrate.Fit(ctx, w.Src, calibrate.Options{KeepAll: w.opt.KeepAll, For: asked})
}

// How options that a saved calibration depends on are written down.
const (
	autoOption    = "set-aside=auto"
	keepAllOption = "set-aside=off"
	poolOption    = " pool=" // then the print of what was borrowed
)

// saveOptions are the options that a saved calibration depends on: which rows it
// leaves out, and what it borrowed, if it did.
func (w *Workshop) saveOptions(pool *model.Pool) string {
	options := autoOption
	if w.opt.KeepAll {
		options = keepAllOption
	}
	if pool != nil {
		options += poolOption + poolPrint(pool)
	}
	return options
}

// Products reads what is promised today.
func (w *Workshop) Products(ctx context.Context) ([]*model.ProductLine, error) {
	var out []*model.ProductLine
	for row, err := range w.Log.Rows(ctx, model.Products, w.opt.Through) {
		if err != nil {
			return nil, err
		}
		out = append(out, row.(*model.ProductLine))
	}
	return out, nil
}
