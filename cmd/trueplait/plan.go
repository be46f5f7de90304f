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
	defer w.close(&err)
	d, err := design(p, w.log, c.Product)
	if err != nil {
		return err
	}
	labels, from, err := c.resolve(p, w)
	if err != nil {
		return err
	}
	if err := knownLabels(p.ctx, w, labels); err != nil {
		return err
	}
	cal, err := c.fit(p.ctx, w)
	if err != nil {
		return err
	}
	plan := cal.Plan(d, calibrate.PlanOptions{Labels: labels, ShortRisk: c.ShortRisk, TargetG: target})
	plan.LabelsFrom = from
	if err := c.write(p, plan); err != nil {
		return err
	}
	if c.Save != "" {
		if err := c.save(p, w, plan); err != nil {
			return err
		}
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

// write shows the plan and, if asked, writes the sheet.
func (c *planCmd) write(p *program, plan *calibrate.Plan) error {
	if c.Output != "" {
		var sheet bytes.Buffer
		if err := report.PlanSheet(&sheet, plan, p.style(c.Units)); err != nil {
			return err
		}
		err := replaceFile(c.Output, func(w io.Writer) error { _, err := sheet.WriteTo(w); return err })
		if err != nil {
			return err
		}
	}
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

// save opens a build with the plan's figures. What they contain is stated, so
// that the build is compared with the base figures once it is finished.
func (c *planCmd) save(p *program, w *workshop, plan *calibrate.Plan) error {
	at, err := now()
	if err != nil {
		return err
	}
	weight, shot, length := plan.Calibrated.Weight.Median, plan.Calibrated.Shot.Median, plan.Calibrated.Length.Median
	open := data.OpenBuild{
		ID: c.Save, Saved: at, Started: at, Labels: plan.Labels,
		PredictedWeightG: weight, PredictedLengthMM: length, PredictedShotG: shot, PredictedStrandMM: plan.Base.StrandMM,
		Calibration:   plan.Calibration,
		ShotFactor:    shot / plan.Base.ShotG,
		BodyFactor:    (weight - shot) / plan.Base.BodyG,
		LengthFactor:  length / plan.Base.LengthMM,
		LoadLengthMM:  plan.LoadLengthMM(),
		TargetWeightG: plan.TargetG,
	}
	splits, err := w.log.Splits(p.ctx)
	if err != nil {
		return err
	}
	for _, e := range model.Effects {
		label := unsplit(open.Labels.Get(e), e, splits)
		if label == model.NewLevel { // not bought yet, so not recorded
			label = ""
		}
		open.Labels.Set(e, label)
	}
	if err := w.log.SavePlan(p.ctx, open); err != nil {
		return err
	}
	_, err = fmt.Fprintf(p.stderr, "build %s is open: finish it with its weight, length and shot used\n", c.Save)
	return err
}
