package workshop

import (
	"context"
	"slices"
	"time"

	"trueplait/model"
)

// resplit makes or undoes a split and fits anew.
func (b *Bench) resplit(ctx context.Context, s model.Split, do func(context.Context, model.Split, time.Time) error) error {
	ctx, done := b.write(ctx)
	defer done()
	at, err := b.workshop.opt.Clock()
	if err != nil {
		return err
	}
	if err := b.workshop.known(ctx, s.Effect, s.Label); err != nil {
		return err
	}
	if err := do(ctx, s, at); err != nil {
		return err
	}
	return b.refit(ctx, true)
}

// known refuses a label that the log does not know.
func (w *Workshop) known(ctx context.Context, e model.Effect, label string) error {
	names, err := w.Log.Labels(ctx, e)
	if err == nil && !slices.Contains(names, label) {
		err = &unknownLabel{e, label, names}
	}
	return err
}

// level is the level that rows of a label dated on a day have.
func level(s *state, e model.Effect, label string, day time.Time) string {
	newest := model.Split{}
	for _, sp := range s.Splits {
		if sp.Effect == e && sp.Label == label && !sp.Since.After(day) && !sp.Since.Before(newest.Since) {
			newest = sp
		}
	}
	if newest.Label == "" {
		return label
	}
	return newest.Level()
}

// levels are the levels of a row's labels.
func levels(s *state, l model.Labels, day time.Time) model.Labels {
	for _, e := range model.Effects {
		l.Set(e, level(s, e, l.Get(e), day))
	}
	return l
}

func sameDay(a, b time.Time) bool { return a.Format(time.DateOnly) == b.Format(time.DateOnly) }
