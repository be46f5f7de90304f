package main

import (
	"bytes"
	"fmt"
	"slices"
	"strings"

	"trueplait/calibrate"
	"trueplait/data"
	"trueplait/model"
	"trueplait/report"
)

// calibrateCmd fits the factors and saves them.
type calibrateCmd struct {
	For     []string `placeholder:"K=V,…" sep:"none" help:"Give the factor of these labels too, e.g. maker=Arlo,core_batch=new (repeatable)."`
	Split   []string `placeholder:"K=LABEL@DATE" sep:"none" help:"A maker or batch changed under its label: from the date on it counts as a level of its own (repeatable)."`
	Unsplit []string `placeholder:"K=LABEL@DATE" sep:"none" help:"Undo a split (repeatable)."`
	analysis
}

// Help is the worked example.
func (calibrateCmd) Help() string {
	return `Example: trueplait calibrate --for maker=Arlo,core_batch=new

Works out packing (shot), cord mass (body), weight, stretch (length) and take-up
(strand) for each maker and batch, with 95 % limits, and saves them in the log
as a numbered calibration. The same data and options give the same number.

Where a batch changed without a new label, as drift may show, split it:
trueplait calibrate --split core_batch=HC12@2025-03-04. Splits are kept, listed
and undone with --unsplit.`
}

// Run fits, saves and shows.
func (c *calibrateCmd) Run(p *program) (err error) {
	var asked []model.Labels
	for _, text := range c.For {
		l, err := parseLabels(text)
		if err != nil {
			return usageError{err}
		}
		asked = append(asked, l)
	}
	splits, undone, err := c.splits()
	if err != nil {
		return err
	}
	w, err := c.open(p, data.ReadWrite)
	if err != nil {
		return err
	}
	defer w.close(&err)
	if err := c.resplit(p, w, splits, undone); err != nil {
		return err
	}
	if err := knownLabels(p.ctx, w, asked...); err != nil {
		return err
	}
	cal, err := calibrate.Fit(p.ctx, w.src, calibrate.Options{KeepAll: c.keepAll(), For: asked})
	if err != nil {
		return err
	}
	if len(c.From) == 0 {
		if cal.Number, err = c.save(p, w, cal); err != nil {
			return err
		}
	}
	if c.JSON {
		return report.CalibrationJSON(p.stdout, cal)
	}
	if err := report.CalibrationTable(p.stdout, cal, p.style(c.Units)); err != nil {
		return err
	}
	return listSplits(p, w)
}

// save stores the calibration and returns its number.
func (c *calibrateCmd) save(p *program, w *workshop, cal *calibrate.Calibration) (int, error) {
	print, err := w.log.Fingerprint(p.ctx, c.Through.Time)
	if err != nil {
		return 0, err
	}
	at, err := now()
	if err != nil {
		return 0, err
	}
	var result bytes.Buffer
	if err := report.CalibrationJSON(&result, cal); err != nil {
		return 0, err
	}
	saved := data.Calibration{
		Fingerprint: print,
		Options:     c.saveOptions(),
		Through:     cal.Through,
		Made:        at,
		JSON:        result.Bytes(),
	}
	for _, q := range cal.Quantities {
		for _, f := range q.Factors {
			saved.Factors = append(saved.Factors, data.SavedFactor{Quantity: q.Quantity, Labels: f.Labels, Factor: f.Median})
		}
	}
	return w.log.SaveCalibration(p.ctx, saved)
}

// parseLabels reads "maker=Arlo,core_batch=C14". A comma that no known name and
// = follow belongs to the label.
func parseLabels(text string) (model.Labels, error) {
	var l model.Labels
	var current model.Effect
	for _, part := range strings.Split(text, ",") {
		name, value, found := strings.Cut(part, "=")
		e := model.Effect(strings.TrimSpace(name))
		switch {
		case found && slices.Contains(model.Effects, e):
			if l.Get(e) != "" {
				return l, fmt.Errorf("--for %q: %s is given twice", text, e)
			}
			current = e
			l.Set(e, strings.TrimSpace(value))
		case current != "" && !found:
			l.Set(current, l.Get(current)+","+part)
		default:
			return l, fmt.Errorf("--for %q: %q is not maker, core_batch, strand_batch, shot_batch or product, followed by = and a label", text, part)
		}
	}
	return l, nil
}
