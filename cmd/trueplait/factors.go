package main

import (
	"trueplait/data"
	"trueplait/report"
)

// factorsCmd shows the factors without saving them.
type factorsCmd struct{ analysis }

// Help is the worked example.
func (factorsCmd) Help() string {
	return `Example: trueplait factors --units imperial

Shows the factor of every maker and batch seen, with 95 % limits: the planner's
figure times the factor is what to expect. Nothing is saved.`
}

// Run fits and shows.
func (c *factorsCmd) Run(p *program) (err error) {
	w, err := c.open(p, data.ReadOnly)
	if err != nil {
		return err
	}
	defer w.Close(&err)
	cal, err := w.Fit(p.ctx)
	if err != nil {
		return err
	}
	if c.JSON {
		return report.CalibrationJSON(p.stdout, cal)
	}
	return report.FactorsTable(p.stdout, cal, p.style(c.Units))
}
