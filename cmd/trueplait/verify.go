package main

import (
	"fmt"

	"trueplait/cmd/workshop"
	"trueplait/data"
	"trueplait/report"
)

// verifyCmd checks the log against everything it was made from.
type verifyCmd struct {
	JSON bool `name:"json" help:"Print what was checked, and what is wrong, as JSON."`
}

// Help is the worked example.
func (verifyCmd) Help() string {
	return `Example: trueplait verify --log backup-2026-03.duckdb

Checks the rules of the log's tables, reads every imported file again from the
bytes the log keeps and compares it row by row, works out again what was worked
out at import, and fits every saved calibration again from the rows as they
stood then. Says how often each was checked. Nothing is written.

What is wrong is told with what to do about it, and the exit code is then 1.
Verify a backup when you make it: a damaged one is no backup.`
}

// Run verifies the log.
func (c *verifyCmd) Run(p *program) (err error) {
	w, err := workshop.Open(p.ctx, p.log, data.ReadOnly, workshop.Options{Clock: now, Program: versionText()})
	if err != nil {
		return err
	}
	defer w.Close(&err)
	v, err := w.Verify(p.ctx)
	if err != nil {
		return err
	}
	v.Log = p.logName()
	for _, checked := range v.Checks {
		for _, f := range checked.Faults {
			fmt.Fprintln(p.stderr, report.Label(f.String()))
		}
		if checked.More > 0 {
			fmt.Fprintf(p.stderr, "%s: not so %d times more\n", checked.Holds, checked.More)
		}
	}
	if err := c.show(p, v); err != nil {
		return err
	}
	if !v.Sound() {
		return reportedError{exitData}
	}
	return nil
}

// show prints what was checked, sound or not: it is what was asked for.
func (c *verifyCmd) show(p *program, v *report.Verification) error {
	if c.JSON {
		return report.VerificationJSON(p.stdout, v)
	}
	return report.VerificationTable(p.stdout, v, p.style("both"))
}
