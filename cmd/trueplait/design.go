package main

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"trueplait/data"
	"trueplait/data/reference"
	"trueplait/ingest"
	"trueplait/model"
)

// designs checks the products of a parts file: an impossible part is a
// problem of its row, an odd one a warning.
func (f *inputFile) designs(rows []model.Row) {
	materials := reference.Materials()
	lists := map[string][]*model.Part{}
	var products []string
	for _, row := range rows {
		p := row.(*model.Part)
		if lists[p.Product] == nil {
			products = append(products, p.Product)
		}
		lists[p.Product] = append(lists[p.Product], p)
	}
	for _, product := range products {
		design, problems := model.NewDesign(lists[product], materials)
		for _, e := range problems {
			f.reject(partError(e))
		}
		if design == nil {
			continue
		}
		for _, w := range design.Warnings {
			if !errors.Is(w, model.ErrDropped) { // nearly every thong does; the plan says where
				f.warned.add(w.Error())
			}
		}
	}
}

// partError is a part's problem as one of its row.
func partError(e *model.PartProblem) *ingest.RowError {
	return &ingest.RowError{File: e.File, Line: e.Line, Start: e.Line, Column: e.Column, Text: e.Text, Err: e.Err}
}

// predict fills in the blank predictions of the import's builds from the parts
// lists known now.
func (l *loader) predict() error {
	lists, err := l.im.Unplanned(l.ctx)
	if err != nil || len(lists) == 0 {
		return err
	}
	for _, list := range lists {
		design, problems := l.design(list)
		if problems != nil { // refused at its own import, or made by another program
			return fmt.Errorf("parts list of %q: %w", list.Product, problems[0])
		}
		_, err := l.im.Plan(l.ctx, list, data.Base{
			WeightG: design.WeightG, LengthMM: design.LengthMM, ShotG: design.ShotG, StrandMM: design.StrandMM,
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// design designs a parts list of the log, each once an import.
func (l *loader) design(list data.PartsList) (*model.Design, []*model.PartProblem) {
	if d := l.designed[list.Product]; d != nil {
		return d, nil
	}
	d, problems := model.NewDesign(list.Parts, reference.Materials())
	if problems == nil {
		if l.designed == nil {
			l.designed = map[string]*model.Design{}
		}
		l.designed[list.Product] = d
	}
	return d, problems
}

// shared is what every product's parts list agrees on: the load of the core,
// if all share one, and the mass of the strand cord, likewise.
func (l *loader) shared() (data.SettleOptions, error) {
	lists, err := l.im.Lists(l.ctx)
	if err != nil {
		return data.SettleOptions{}, err
	}
	var loads, cords []float64
	for _, list := range lists {
		d, problems := l.design(list)
		if problems != nil {
			continue // said where the list came in
		}
		for i := range d.Parts {
			if p := &d.Parts[i]; model.Known(p.ShotGMM) {
				loads = append(loads, p.ShotGMM)
			} else if p.Role == model.Plait {
				cords = append(cords, p.StrandGMM)
			}
		}
	}
	return data.SettleOptions{ShotGMM: common(loads), StrandGMM: common(cords)}, nil
}

// common is the one value of all, NaN where they differ or there is none.
func common(values []float64) float64 {
	const rounding = 1e-9
	if len(values) == 0 {
		return model.Unknown
	}
	for _, v := range values {
		if math.Abs(v-values[0]) > rounding*values[0] {
			return model.Unknown
		}
	}
	return values[0]
}

// errNoParts is a product without a parts list.
var errNoParts = errors.New("no parts list")

// design reads a product's parts list and designs it.
func design(p *program, log *data.Log, product string) (*model.Design, error) {
	var parts []*model.Part
	var products []string
	for row, err := range log.Rows(p.ctx, model.Parts, time.Time{}) {
		if err != nil {
			return nil, err
		}
		part := row.(*model.Part)
		if part.Product == product {
			parts = append(parts, part)
		} else if !slices.Contains(products, part.Product) {
			products = append(products, part.Product)
		}
	}
	if parts == nil {
		hint := nearest(product, products)
		if hint == "" {
			hint = ": import one (columns product, part, role, …)"
		}
		return nil, fmt.Errorf("product %q has %w%s", product, errNoParts, hint)
	}
	d, problems := model.NewDesign(parts, reference.Materials())
	if problems != nil {
		return nil, fmt.Errorf("parts list of %q: %w", product, problems[0])
	}
	return d, nil
}
