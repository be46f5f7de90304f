package workshop

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"trueplait/calibrate"
	"trueplait/data"
	"trueplait/data/reference"
	"trueplait/model"
)

// ErrNoParts is a product without a parts list.
var ErrNoParts = errors.New("no parts list")

// Design reads a product's parts list and designs it.
func (w *Workshop) Design(ctx context.Context, product string) (*model.Design, error) {
	lists, products, err := w.partsLists(ctx)
	if err != nil {
		return nil, err
	}
	parts := lists[product]
	if parts == nil {
		hint := Nearest(product, products)
		if hint == "" {
			hint = ": import one (columns product, part, role, …)"
		}
		return nil, fmt.Errorf("product %q has %w%s", product, ErrNoParts, hint)
	}
	return designed(parts)
}

// designed designs a product by its parts list.
func designed(parts []*model.Part) (*model.Design, error) {
	d, problems := model.NewDesign(parts, reference.Materials())
	if problems != nil {
		return nil, fmt.Errorf("parts list of %q: %w", parts[0].Product, problems[0])
	}
	return d, nil
}

// partsLists reads the parts of every product, and the products in order.
func (w *Workshop) partsLists(ctx context.Context) (lists map[string][]*model.Part, products []string, err error) {
	lists = map[string][]*model.Part{}
	for row, err := range w.Log.Rows(ctx, model.Parts, time.Time{}) {
		if err != nil {
			return nil, nil, err
		}
		part := row.(*model.Part)
		if lists[part.Product] == nil {
			products = append(products, part.Product)
		}
		lists[part.Product] = append(lists[part.Product], part)
	}
	return lists, products, nil
}

// Planned are a product's base figures by its parts list, or where it has none
// those of its last build, brought to base; false where there are neither.
func (w *Workshop) Planned(ctx context.Context, product string) (planned calibrate.Planned, ok bool, err error) {
	d, err := w.Design(ctx, product)
	if err == nil {
		return plannedBy(d), true, nil
	}
	if !errors.Is(err, ErrNoParts) {
		return planned, false, err
	}
	b, ok, err := w.Src.LastPlan(ctx, product)
	return lastPlanned(b), ok, err
}

// plannedOf is Planned of several products, without those that have no figures.
func (w *Workshop) plannedOf(ctx context.Context, products []string) (map[string]calibrate.Planned, error) {
	lists, _, err := w.partsLists(ctx)
	if err != nil {
		return nil, err
	}
	last, err := w.Src.LastPlans(ctx)
	if err != nil {
		return nil, err
	}
	out := map[string]calibrate.Planned{}
	for _, product := range products {
		if parts := lists[product]; parts != nil {
			d, err := designed(parts)
			if err != nil {
				return nil, err
			}
			out[product] = plannedBy(d)
		} else if b, ok := last[product]; ok {
			out[product] = lastPlanned(b)
		}
	}
	return out, nil
}

// lastPlanned are the base figures of a build.
func lastPlanned(b data.Base) calibrate.Planned {
	return calibrate.Planned{WeightG: b.WeightG, BodyG: b.WeightG - b.ShotG, ShotG: b.ShotG, LengthMM: b.LengthMM, From: "last build"}
}

// plannedBy are a design's base figures.
func plannedBy(d *model.Design) calibrate.Planned {
	return calibrate.Planned{WeightG: d.WeightG, BodyG: d.BodyG, ShotG: d.ShotG, LengthMM: d.LengthMM, From: "parts list"}
}

// shared is what every design agrees on: the load of the core, if all share
// one, and the mass of the strand cord, likewise.
func shared(designs []*model.Design) data.SettleOptions {
	var loads, cords []float64
	for _, d := range designs {
		for i := range d.Parts {
			if p := &d.Parts[i]; model.Known(p.ShotGMM) {
				loads = append(loads, p.ShotGMM)
			} else if p.Role == model.Plait {
				cords = append(cords, p.StrandGMM)
			}
		}
	}
	return data.SettleOptions{ShotGMM: common(loads), StrandGMM: common(cords)}
}

// common is the one value of all, NaN where they differ or there is none.
func common(values []float64) float64 {
	const rounding = 1e-9
	if len(values) == 0 {
		return model.Unknown
	}
	if slices.ContainsFunc(values, func(v float64) bool { return math.Abs(v-values[0]) > rounding*values[0] }) {
		return model.Unknown
	}
	return values[0]
}
