package workshop

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"trueplait/ingest"
	"trueplait/model"
)

// Complete fills in the labels that are blank from the latest build of the
// labels' product, or the latest of any product, and says where those came
// from. What no build states is new.
func (w *Workshop) Complete(ctx context.Context, l model.Labels) (model.Labels, string, error) {
	var missing []model.Effect
	for _, e := range model.Effects {
		if l.Get(e) == "" {
			missing = append(missing, e)
		}
	}
	if len(missing) == 0 {
		return l, "", nil
	}
	id, latest, ok, err := w.Src.Latest(ctx, l.Product)
	if err == nil && !ok {
		id, latest, ok, err = w.Src.Latest(ctx, "")
	}
	if err != nil {
		return l, "", err
	}
	var words []string
	for _, e := range missing {
		label := model.NewLevel
		if ok && latest.Get(e) != "" {
			label = latest.Get(e)
			words = append(words, fmt.Sprintf("%s %s", e.Word(), label))
		}
		l.Set(e, label)
	}
	if len(words) == 0 {
		return l, "", nil
	}
	return l, fmt.Sprintf("%s: as in build %s", strings.Join(words, ", "), id), nil
}

// Known refuses labels that the log does not know.
func (w *Workshop) Known(ctx context.Context, asked ...model.Labels) error {
	for _, e := range model.Effects {
		var names []string
		for _, l := range asked {
			label := l.Get(e)
			if label == "" || label == model.NewLevel {
				continue
			}
			if names == nil {
				var err error
				if names, err = w.Log.Labels(ctx, e); err != nil {
					return err
				}
			}
			if !slices.Contains(names, label) {
				return &unknownLabel{e, label, names}
			}
		}
	}
	return nil
}

// unknownLabel is a label that the log does not know.
type unknownLabel struct {
	effect model.Effect
	label  string
	names  []string
}

func (u *unknownLabel) Error() string {
	return fmt.Sprintf("%s %q is not in the log%s", u.effect.Word(), u.label, Nearest(u.label, u.names))
}

// Nearest offers the names most like the one not found.
func Nearest(label string, names []string) string {
	if len(names) == 0 {
		return ""
	}
	names = slices.Clone(names)
	slices.SortStableFunc(names, func(a, b string) int { return ingest.Distance(label, a) - ingest.Distance(label, b) })
	text := ": did you mean "
	for i, n := range names[:min(3, len(names))] {
		if i > 0 {
			text += ", "
		}
		text += fmt.Sprintf("%q", n)
	}
	return text + "?"
}
