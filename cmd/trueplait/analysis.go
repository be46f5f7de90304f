package main

import (
	"context"
	"errors"
	"os"
	"runtime/debug"

	"golang.org/x/term"

	"trueplait/calibrate"
	"trueplait/data"
	"trueplait/model"
	"trueplait/report"
)

// analysis are the options of every command that fits.
type analysis struct {
	From     []string `placeholder:"FILE" sep:"none" help:"Read this CSV instead of a log (repeatable); nothing is left behind."`
	Through  dateFlag `placeholder:"DATE" help:"Use rows up to this date only."`
	JSON     bool     `name:"json" help:"Print the result as JSON."`
	Units    string   `enum:"both,metric,imperial" default:"both" help:"Units shown: metric, imperial or both."`
	SetAside string   `enum:"auto,off" default:"auto" help:"auto leaves out rows that look wrong, and lists them; off fits everything."`
	Seed     uint64   `default:"1" help:"Seed of what is drawn at random."`
	reading
}

func (a *analysis) keepAll() bool { return a.SetAside == "off" }

// workshop is an open log and what is read of it.
type workshop struct {
	log *data.Log
	src *data.Observations
}

var _ calibrate.Source = (*data.Observations)(nil)

// open opens the log in the given mode, or reads the files of --from into one
// in memory.
func (a *analysis) open(p *program, mode data.Mode) (*workshop, error) {
	debug.SetGCPercent(400) // a fit keeps little, and ends before collecting pays
	log, err := a.source(p, mode)
	if err != nil {
		return nil, err
	}
	src, err := log.Observations(p.ctx, a.Through.Time, a.keepAll())
	if err != nil {
		return nil, errors.Join(err, log.Close())
	}
	return &workshop{log, src}, nil
}

func (a *analysis) source(p *program, mode data.Mode) (*data.Log, error) {
	if len(a.From) == 0 {
		if _, err := os.Stat(p.log); errors.Is(err, os.ErrNotExist) {
			mode = data.ReadOnly // says that there is no log: only rows make one
		}
		return data.Open(p.ctx, p.log, mode)
	}
	if p.named {
		return nil, usagef("--from and --log exclude each other: name files or a log")
	}
	log, err := data.Memory(p.ctx)
	if err != nil {
		return nil, err
	}
	c := importCmd{Files: a.From, reading: a.reading}
	_, clean, err := c.into(p, log)
	if err == nil && !clean {
		err = reportedError{exitData}
	}
	if err != nil {
		return nil, errors.Join(err, log.Close())
	}
	return log, nil
}

// close closes the log, keeping an earlier error.
func (w *workshop) close(err *error) { *err = errors.Join(*err, w.log.Close()) }

// fit calibrates from what was opened. A calibration of the same rows and
// options that was saved before lends its number.
func (a *analysis) fit(ctx context.Context, w *workshop, asked ...model.Labels) (*calibrate.Calibration, error) {
	if err := knownLabels(ctx, w, asked...); err != nil {
		return nil, err
	}
	c, err := calibrate.Fit(ctx, w.src, calibrate.Options{KeepAll: a.keepAll(), For: asked})
	if err != nil {
		return nil, err
	}
	saved, err := w.log.Calibrations(ctx)
	if err != nil || len(saved) == 0 {
		return c, err
	}
	print, err := w.log.Fingerprint(ctx, a.Through.Time)
	for _, s := range saved {
		if s.Fingerprint == print && s.Options == a.saveOptions() {
			c.Number = s.Number
		}
	}
	return c, err
}

// saveOptions are the options that a saved calibration depends on.
func (a *analysis) saveOptions() string { return "set-aside=" + a.SetAside }

// style is how tables are printed: as wide as the terminal, if there is one.
func (p *program) style(units string) report.Style {
	s := report.Style{Units: report.Units(units)}
	if f, ok := p.stdout.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
		if width, _, err := term.GetSize(int(f.Fd())); err == nil {
			s.Width = min(width, 120)
		}
	}
	return s
}
