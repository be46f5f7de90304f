package main

import (
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
	Pool    bool     `help:"Borrow the means and spreads of the other workshops in a shared log, without seeing their builds."`
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
and undone with --unsplit.

With few rows of your own, borrow what the other workshops of a shared log have
in common: trueplait calibrate --pool --log postgres://…
At least five others must have calibrated there, so that nobody's figures show
through. Nobody's builds are seen, and what was borrowed is said in the result.`
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
	if c.Pool && len(c.From) > 0 {
		return usagef("--pool and --from exclude each other: files have no other workshops to borrow from")
	}
	w, err := c.open(p, data.ReadWrite)
	if err != nil {
		return err
	}
	defer w.Close(&err)
	var pool *model.Pool
	if c.Pool {
		if pool, err = w.Pool(p.ctx); err != nil {
			return err
		}
	}
	if err := c.resplit(p, w, splits, undone); err != nil {
		return err
	}
	var cal *calibrate.Calibration
	if len(c.From) > 0 {
		cal, err = w.Fit(p.ctx, asked...)
	} else {
		cal, err = w.Calibrate(p.ctx, pool, asked...)
	}
	if err != nil {
		return err
	}
	if c.JSON {
		return report.CalibrationJSON(p.stdout, cal)
	}
	if err := report.CalibrationTable(p.stdout, cal, p.style(c.Units)); err != nil {
		return err
	}
	return listSplits(p, w)
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
