package main

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"trueplait/ingest"
	"trueplait/model"
)

// labelFlags name whose hands and which batches a plan is for.
type labelFlags struct {
	Product     string `required:"" placeholder:"NAME" help:"The product, as in its parts list."`
	Maker       string `placeholder:"NAME" help:"Who makes it, or new (default: whoever made the latest)."`
	CoreBatch   string `placeholder:"LABEL" help:"Core batch, or new (default: the latest build's)."`
	StrandBatch string `placeholder:"LABEL" help:"Strand batch, or new (default: the latest build's)."`
	ShotBatch   string `placeholder:"LABEL" help:"Shot batch, or new (default: the latest build's)."`
}

// resolve completes the labels from the product's latest build, or the latest
// of any product, and says where those came from that were not given.
func (f *labelFlags) resolve(p *program, w *workshop) (l model.Labels, from string, err error) {
	l = model.Labels{Maker: f.Maker, CoreBatch: f.CoreBatch, StrandBatch: f.StrandBatch, ShotBatch: f.ShotBatch, Product: f.Product}
	var missing []model.Effect
	for _, e := range model.Effects {
		if l.Get(e) == "" {
			missing = append(missing, e)
		}
	}
	if len(missing) == 0 {
		return l, "", nil
	}
	id, latest, ok, err := w.src.Latest(p.ctx, f.Product)
	if err == nil && !ok {
		id, latest, ok, err = w.src.Latest(p.ctx, "")
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

// knownLabels refuses labels that the log does not know.
func knownLabels(ctx context.Context, w *workshop, asked ...model.Labels) error {
	for _, e := range model.Effects {
		var names []string
		for _, l := range asked {
			label := l.Get(e)
			if label == "" || label == model.NewLevel {
				continue
			}
			if names == nil {
				var err error
				if names, err = w.log.Labels(ctx, e); err != nil {
					return err
				}
			}
			if !slices.Contains(names, label) {
				return fmt.Errorf("%s %q is not in the log%s", e.Word(), label, nearest(label, names))
			}
		}
	}
	return nil
}

// nearest offers the names most like the one not found.
func nearest(label string, names []string) string {
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
