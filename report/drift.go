package report

import (
	"cmp"
	"fmt"
	"slices"

	"trueplait/calibrate"
	"trueplait/model"
)

// mostDrifts is how many signals of a quantity are worth a maker's time.
const mostDrifts = 3

// Drifts picks the signals to show of a quantity: those that call for acting
// first, then those to watch that have not died away; batches before makers,
// since a change of batch shows in everyone's hands. What began with or after
// a change of the same direction that is shown already is explained by it.
func Drifts(q *calibrate.QuantityFit) []calibrate.Drift {
	order := []model.Effect{model.CoreBatch, model.StrandBatch, model.ShotBatch, model.Maker}
	list := slices.Clone(q.Drift)
	slices.SortStableFunc(list, func(a, b calibrate.Drift) int {
		return cmp.Or(cmp.Compare(a.Grade, b.Grade), cmp.Compare(slices.Index(order, a.Effect), slices.Index(order, b.Effect)),
			a.SinceDate.Compare(b.SinceDate))
	})
	var out []calibrate.Drift
	for _, d := range list {
		same := func(e calibrate.Drift) bool {
			return e.Direction == d.Direction && !d.SinceDate.Before(e.SinceDate) || e.Effect == d.Effect && e.Level == d.Level
		}
		current := d.Grade == "act" || d.Ongoing
		if current && len(out) < mostDrifts && !slices.ContainsFunc(out, same) {
			out = append(out, d)
		}
	}
	return out
}

// DriftWords says what may have changed and since when: "core batch HC12: more
// shot since build W264 (2025-03-04)".
func DriftWords(q model.Quantity, d calibrate.Drift) string {
	word := spoken[q].more
	if d.Direction == "down" {
		word = spoken[q].less
	}
	return fmt.Sprintf("%s %s: %s since %s (%s)", d.Effect.Word(), label(d.Level), word,
		rowName(model.RowKey{Kind: model.Builds, ID: d.Since}), date(d.SinceDate))
}

// remedy is the command that makes a level of its own of what changed.
func remedy(d calibrate.Drift) string {
	return fmt.Sprintf("trueplait calibrate --split \"%s=%s@%s\"", d.Effect, label(d.Level), date(d.SinceDate))
}

// lookAtDrifts asks about changes of hands or cord.
func lookAtDrifts(c *calibrate.Calibration) []Advice {
	var list []Advice
	for i := range c.Quantities {
		q := &c.Quantities[i]
		for _, d := range Drifts(q) {
			if d.Grade != "act" {
				continue
			}
			list = append(list, Advice{
				Do:      fmt.Sprintf("Find out what changed: %s.", DriftWords(q.Quantity, d)),
				Why:     "The builds since then differ steadily from those before. A new purchase under the old label looks like this. If so, give it a level of its own.",
				Command: remedy(d),
				Split:   &model.Split{Effect: d.Effect, Label: d.Level, Since: d.SinceDate},
			})
		}
	}
	return list
}

// driftNotes words the signals of a quantity, with what to do about them.
func driftNotes(q *calibrate.QuantityFit) []string {
	var out []string
	for _, d := range Drifts(q) {
		what := "Watch " + DriftWords(q.Quantity, d) + ". Nothing to do yet."
		if d.Grade == "act" {
			what = "Changed, by the look of it: " + DriftWords(q.Quantity, d) + ". If so: " + remedy(d)
		}
		out = append(out, what)
	}
	return out
}
