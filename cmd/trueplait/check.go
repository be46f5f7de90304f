package main

import (
	"errors"

	"trueplait/cmd/workshop"
	"trueplait/data"
	"trueplait/model"
)

// checkCmd is import without writing.
type checkCmd struct {
	Files []string `arg:"" name:"file" help:"CSV files to check."`
	Amend bool     `help:"Take differing rows for corrections, as import --amend would."`
	JSON  bool     `name:"json" help:"Print the result as JSON."`
	reading
}

// Help is the worked example.
func (checkCmd) Help() string {
	return `Example: trueplait check builds.csv

Reads the files as import would, compares them with the log where there is one,
and says what would happen. Nothing is written.`
}

// Run checks the files.
func (c *checkCmd) Run(p *program) error {
	log, err := c.open(p)
	if err != nil {
		return err
	}
	defer log.Close()
	opt, err := c.options()
	if err != nil {
		return err
	}
	bar := newProgress(p.stderr)
	inputs, closeAll, err := p.openFiles(c.Files, bar)
	defer closeAll()
	if err != nil {
		return err
	}
	im, err := log.Check(p.ctx)
	if err != nil {
		return err
	}
	files, clean, err := p.load(im, inputs, workshop.Taking{Read: opt, Amend: c.Amend})
	bar.done()
	if err := errors.Join(err, im.Rollback()); err != nil {
		return err
	}
	if !clean {
		return reportedError{exitData}
	}
	var results []model.Imported
	for _, f := range files {
		results = append(results, f.Imported)
	}
	return showImported(p, results, c.JSON)
}

// open opens the log to compare with, or an empty one where there is none.
func (c *checkCmd) open(p *program) (*data.Log, error) {
	log, err := data.Open(p.ctx, p.log, data.ReadOnly)
	if errors.Is(err, data.ErrNoLog) {
		return data.Memory(p.ctx)
	}
	return log, err
}
