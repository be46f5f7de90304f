package main

import (
	"fmt"

	"trueplait/calibrate"
	"trueplait/cmd/workshop"
	"trueplait/data"
	"trueplait/ingest"
	"trueplait/model"
	"trueplait/report"
)

// promiseCmd works out what can be promised a customer.
type promiseCmd struct {
	labelFlags
	PredictedShot   string  `placeholder:"MASS" help:"The planner's shot, without corrections (default: from the parts list, else the last build)."`
	PredictedLength string  `placeholder:"LENGTH" help:"The planner's finished length, likewise."`
	PredictedWeight string  `placeholder:"MASS" help:"The planner's finished weight, likewise."`
	Coverage        float64 `default:"0.95" help:"How often the promise must hold."`
	Of              int     `default:"1" placeholder:"K" help:"Promise that all of K whips of one batch are inside."`
	Within          string  `placeholder:"MASS" help:"Ask whether the next whip comes out within this of the planned weight, and what would make it so."`
	Around          string  `placeholder:"MASS" help:"With --within: around this weight instead of the planned one."`
	analysis
}

// Help is the worked example.
func (promiseCmd) Help() string {
	return `Example: trueplait promise --product "6 ft bull, 12 plait" --core-batch new --within "1/2 oz"

Says which weight and length can be promised, beside what the plan alone would
need and the least that is ever possible; where the spread comes from; and what
to measure to narrow it. A label not given is that of the product's latest
build; new is a batch or maker not seen yet. Planned figures come from the
options, else from the product's parts list, else from its last build.
Exit code 3: no number of test fills or cord checks reaches --within.`
}

// Run promises and shows.
func (c *promiseCmd) Run(p *program) (err error) {
	opt, planned, err := c.checked()
	if err != nil {
		return err
	}
	w, err := c.open(p, data.ReadOnly)
	if err != nil {
		return err
	}
	defer w.Close(&err)
	labels, from, err := w.Complete(p.ctx, c.labels())
	if err != nil {
		return err
	}
	if err := c.known(p, w, labels, planned); err != nil {
		return err
	}
	if planned.From == "" {
		ok := false
		if planned, ok, err = w.Planned(p.ctx, c.Product); err != nil {
			return err
		}
		if !ok {
			return fmt.Errorf("product %q has no planned figures: give --predicted-weight, --predicted-shot and --predicted-length, or import its parts list", c.Product)
		}
	}
	cal, err := w.Fit(p.ctx)
	if err != nil {
		return err
	}
	opt.Labels = labels
	promise, err := cal.Promise(p.ctx, w.Src, planned, opt)
	if err != nil {
		return err
	}
	promise.LabelsFrom = from
	if c.JSON {
		err = report.PromiseJSON(p.stdout, promise)
	} else {
		err = report.PromiseTable(p.stdout, promise, p.style(c.Units))
	}
	if err == nil && promise.Within != nil && !promise.Within.Reached() {
		err = reportedError{exitLimit}
	}
	return err
}

// checked reads the options that have a range or a unit. Planned figures are
// those of the options if there is one among them; else planned.From is "".
func (c *promiseCmd) checked() (opt calibrate.PromiseOptions, planned calibrate.Planned, err error) {
	planned = calibrate.Planned{BodyG: model.Unknown}
	opt = calibrate.PromiseOptions{Coverage: c.Coverage, Of: c.Of}
	switch {
	case !(c.Coverage > 0 && c.Coverage < 1):
		return opt, planned, usagef("--coverage %v: must be above 0 and below 1, as 0.95", c.Coverage)
	case c.Of < 1:
		return opt, planned, usagef("--of %d: must be 1 or more", c.Of)
	case c.Around != "" && c.Within == "":
		return opt, planned, usagef("--around needs --within: how far from it is still good")
	}
	for _, f := range []struct {
		name, text string
		parse      func(string, ingest.Decimal) (float64, error)
		into       *float64
		planned    bool
	}{
		{"--predicted-weight", c.PredictedWeight, ingest.ParseMass, &planned.WeightG, true},
		{"--predicted-shot", c.PredictedShot, ingest.ParseMass, &planned.ShotG, true},
		{"--predicted-length", c.PredictedLength, ingest.ParseLength, &planned.LengthMM, true},
		{"--within", c.Within, ingest.ParseMass, &opt.WithinG, false},
		{"--around", c.Around, ingest.ParseMass, &opt.AroundG, false},
	} {
		if f.text == "" {
			*f.into = model.Unknown
			continue
		}
		if *f.into, err = f.parse(f.text, ingest.DecimalAuto); err != nil {
			return opt, planned, usagef("%s: %w", f.name, err)
		}
		if !(*f.into > 0) {
			return opt, planned, usagef("%s: %q must be above zero", f.name, f.text)
		}
		if f.planned {
			planned.From = "options"
		}
	}
	if planned.WeightG <= planned.ShotG {
		return opt, planned, usagef("--predicted-weight %q is not above --predicted-shot %q", c.PredictedWeight, c.PredictedShot)
	}
	planned.BodyG = planned.WeightG - planned.ShotG
	return opt, planned, nil
}

// known refuses labels that the log does not know. A log without any product
// has nothing that a label could be mistaken for.
func (c *promiseCmd) known(p *program, w *workshop.Workshop, labels model.Labels, planned calibrate.Planned) error {
	products, err := w.Log.Labels(p.ctx, model.Product)
	if err != nil || len(products) == 0 && planned.From != "" {
		return err
	}
	return w.Known(p.ctx, labels)
}
