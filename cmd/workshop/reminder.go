package workshop

import (
	"context"
	"fmt"

	"trueplait/model"
	"trueplait/report"
)

// reminders are what to measure next after a row: what was left out of it, and
// what a batch that is new is best known by.
func (b *Bench) reminders(ctx context.Context, row model.Row) ([]report.Advice, error) {
	build, ok := row.(*model.Build)
	if !ok {
		return nil, nil
	}
	out := forgotten(build)
	for _, ask := range []struct {
		effect model.Effect
		kind   model.Kind
		few    int // builds, up to which a batch counts as new
		do     string
		why    string
	}{
		{model.StrandBatch, model.Checks, 2, "Weigh a length of strand batch %s.",
			"It is new here. A cord check takes two minutes and tells what its cord weighs before the next whip is plaited."},
		{model.CoreBatch, model.Fills, 2, "Fill a measured length of core batch %s, and weigh the shot.",
			"It is new here. A test fill takes minutes and tells more of its load than a finished whip."},
	} {
		label := build.Labels.Get(ask.effect)
		if label == "" {
			continue
		}
		uses, err := b.workshop.Log.Uses(ctx, ask.effect, label)
		if err != nil {
			return out, err
		}
		if uses[ask.kind] == 0 && uses[model.Builds] <= ask.few {
			out = append(out, report.Advice{Do: fmt.Sprintf(ask.do, label), Why: ask.why, Record: ask.kind, Label: label})
		}
	}
	return out, nil
}

// forgotten lists the figures that a finished build could still be given.
func forgotten(b *model.Build) []report.Advice {
	var out []report.Advice
	ask := func(x float64, do, why string) {
		if !model.Known(x) {
			out = append(out, report.Advice{Do: do, Why: why, Record: model.Builds, Label: b.ID})
		}
	}
	ask(b.WeightG, "Weigh the finished whip.", "Its weight is blank, so the promise of a weight learns nothing from it.")
	ask(b.LengthMM, "Measure the finished whip.", "Its length is blank, so the cut list learns nothing from it.")
	ask(b.StrandCutMM-b.StrandLeftMM, "Measure what is left of the longest strand.",
		"What was cut less what is left is what a strand uses up. It keeps the next strands from being too short, or too long.")
	return out
}
