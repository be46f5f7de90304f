package main

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"trueplait/cmd/workshop"
	"trueplait/model"
)

// parseSplit reads "core_batch=HC12@2025-03-04". The label may hold any
// character; the date stands after the last @.
func parseSplit(option, text string) (model.Split, error) {
	name, rest, found := strings.Cut(text, "=")
	at := strings.LastIndex(rest, "@")
	e := model.Effect(strings.TrimSpace(name))
	if !found || at < 0 || !slices.Contains(model.Effects, e) || e == model.Product {
		return model.Split{}, usagef("--%s %q: write maker, core_batch, strand_batch or shot_batch, = label @ date, e.g. core_batch=HC12@2025-03-04", option, text)
	}
	since, err := time.Parse(time.DateOnly, rest[at+1:])
	if err != nil {
		return model.Split{}, usagef("--%s %q: %q is not a date like 2024-03-31", option, text, rest[at+1:])
	}
	return model.Split{Effect: e, Label: strings.TrimSpace(rest[:at]), Since: since}, nil
}

// splits reads both options.
func (c *calibrateCmd) splits() (made, undone []model.Split, err error) {
	for _, text := range c.Split {
		s, err := parseSplit("split", text)
		if err != nil {
			return nil, nil, err
		}
		made = append(made, s)
	}
	for _, text := range c.Unsplit {
		s, err := parseSplit("unsplit", text)
		if err != nil {
			return nil, nil, err
		}
		undone = append(undone, s)
	}
	return made, undone, nil
}

// resplit makes and undoes splits, and reads the observations anew.
func (c *calibrateCmd) resplit(p *program, w *workshop.Workshop, made, undone []model.Split) error {
	if len(made)+len(undone) == 0 {
		return nil
	}
	at, err := now()
	if err != nil {
		return err
	}
	for _, s := range made {
		names, err := w.Log.Labels(p.ctx, s.Effect)
		if err != nil {
			return err
		}
		if !slices.Contains(names, s.Label) {
			return fmt.Errorf("%s %q is not in the log%s", s.Effect.Word(), s.Label, workshop.Nearest(s.Label, names))
		}
	}
	for _, s := range undone {
		if err := w.Log.Unsplit(p.ctx, s, at); err != nil {
			return err
		}
	}
	for _, s := range made {
		if err := w.Log.Split(p.ctx, s, at); err != nil {
			return err
		}
	}
	return w.Reread(p.ctx)
}

// listSplits names the splits in force below a calibration.
func listSplits(p *program, w *workshop.Workshop) error {
	splits, err := w.Log.Splits(p.ctx)
	if err != nil || len(splits) == 0 {
		return err
	}
	fmt.Fprintln(p.stdout, "\nSplit, and undone with --unsplit:")
	for _, s := range splits {
		if _, err := fmt.Fprintf(p.stdout, "  - %s=%s@%s\n", s.Effect, s.Label, s.Since.Format(time.DateOnly)); err != nil {
			return err
		}
	}
	return nil
}
