package main

import (
	"errors"
	"os"

	"golang.org/x/term"

	"trueplait/cmd/workshop"
	"trueplait/data"
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

// options are those of the workshop that an analysis works in.
func (a *analysis) options() workshop.Options {
	return workshop.Options{Through: a.Through.Time, KeepAll: a.keepAll(), Seed: a.Seed, Clock: now, Program: versionText()}
}

// open opens the log in the given mode, or reads the files of --from into one
// in memory.
func (a *analysis) open(p *program, mode data.Mode) (*workshop.Workshop, error) {
	if len(a.From) == 0 {
		return workshop.Open(p.ctx, p.log, mode, a.options())
	}
	log, err := a.source(p)
	if err != nil {
		return nil, err
	}
	return workshop.New(p.ctx, log, a.options())
}

// source reads the files of --from into a log in memory.
func (a *analysis) source(p *program) (*data.Log, error) {
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
