package main

import (
	"bytes"
	"fmt"
	"io"

	"trueplait/calibrate"
	"trueplait/data"
	"trueplait/ingest"
	"trueplait/model"
	"trueplait/report"
)

// planCmd works out a build sheet.
type planCmd struct {
	labelFlags
	TargetWeight string  `placeholder:"MASS" help:"Plan the load for this finished weight, e.g. \"14 1/2 oz\"."`
	ShortRisk    float64 `default:"0.01" help:"Accepted chance that a strand cut to the safe length is too short."`
	Save         string  `placeholder:"BUILD" help:"Open a build of this id with the plan's figures, to be finished with measurements."`
	Output       string  `short:"o" placeholder:"FILE" help:"Write the sheet for the bench as one HTML page."`
	analysis
}

// Help is the worked example.
func (planCmd) Help() string {
	return `Example: trueplait plan --product "6 ft bull, 12 plait" --maker Arlo --core-batch HC12 -o sheet.html

Works out from the product's parts list, corrected for the maker and the
batches, how much shot to weigh out and how far to load, how long to cut each
strand so that it is not too short, where strands drop, and what the whip will
weigh and measure. A label not given is that of the product's latest build.
Exit code 3: no load reaches the target weight; the nearest plan is shown.`
}

// Run plans and shows.
func (c *planCmd) Run(p *program) (err error) {
	target, err := c.checked()
	if err != nil {
		return err
	}
	mode := data.ReadOnly
	if c.Save != "" {
		mode = data.ReadWrite
	}
	w, err := c.open(p, mode)
	if err != nil {
		return err
	}
	defer w.Close(&err)
	d, err := w.Design(p.ctx, c.Product)
	if err != nil {
		return err
	}
	labels, from, err := w.Complete(p.ctx, c.labels())
	if err != nil {
		return err
	}
	if err := w.Known(p.ctx, labels); err != nil {
		return err
	}
	cal, err := w.Fit(p.ctx)
	if err != nil {
		return err
	}
	plan := cal.Plan(d, calibrate.PlanOptions{Labels: labels, ShortRisk: c.ShortRisk, TargetG: target})
	plan.LabelsFrom = from
	if err := c.writeSheet(p, plan); err != nil {
		return err
	}
	if c.Save != "" {
		if err := w.OpenBuild(p.ctx, c.Save, plan, false); err != nil {
			return err
		}
	}
	if err := c.show(p, plan); err != nil {
		return err
	}
	if c.Save != "" {
		fmt.Fprintf(p.stderr, "build %s is open: finish it with its weight, length and shot used\n", c.Save)
	}
	if !plan.Reached {
		return reportedError{exitLimit}
	}
	return nil
}

// checked reads the options that have a range.
func (c *planCmd) checked() (targetG float64, err error) {
	switch {
	case !(c.ShortRisk > 0 && c.ShortRisk < 0.5):
		return 0, usagef("--short-risk %v: must be above 0 and below 0.5", c.ShortRisk)
	case c.Save != "" && len(c.From) > 0:
		return 0, usagef("--save and --from exclude each other: a build is opened in a log")
	case c.TargetWeight == "":
		return model.Unknown, nil
	}
	if targetG, err = ingest.ParseMass(c.TargetWeight, ingest.DecimalAuto); err != nil {
		return 0, usagef("--target-weight: %w", err)
	}
	return targetG, nil
}

// writeSheet writes the sheet, if asked.
func (c *planCmd) writeSheet(p *program, plan *calibrate.Plan) error {
	if c.Output == "" {
		return nil
	}
	var sheet bytes.Buffer
	if err := report.PlanSheet(&sheet, plan, p.style(c.Units)); err != nil {
		return err
	}
	return replaceFile(c.Output, func(w io.Writer) error { _, err := sheet.WriteTo(w); return err })
}

// show prints the plan.
func (c *planCmd) show(p *program, plan *calibrate.Plan) error {
	if c.JSON {
		return report.PlanJSON(p.stdout, plan)
	}
	if err := report.PlanTable(p.stdout, plan, p.style(c.Units)); err != nil {
		return err
	}
	if c.Output != "" {
		_, err := fmt.Fprintf(p.stdout, "\nwrote %s\n", c.Output)
		return err
	}
	return nil
}
