package ingest

import (
	"fmt"
	"strings"

	"trueplait/model"
)

// Column is a column of a kind of file.
type Column struct {
	Name     string
	Required bool            // every row must fill it
	Of       model.Dimension // of an amount; NoDimension: text, a date or a bare number
}

// Columns lists the columns of a kind in the order of an export.
func Columns(kind model.Kind) []Column {
	var out []Column
	for _, f := range forms() {
		if f.kind != kind {
			continue
		}
		for _, c := range f.columns {
			out = append(out, Column{c.name, c.required, c.base.dimension})
		}
	}
	return out
}

// ParseAmount reads one amount with its unit as the first column of that name
// does, of whatever kind. The error quotes the text. ok is false where there is none that holds a mass or a
// length.
func ParseAmount(column, text string) (value float64, of model.Dimension, ok bool, err error) {
	for _, f := range forms() {
		for _, c := range f.columns {
			cell, amount := c.cell.(*amountCell)
			if c.name != column || !amount || c.base.dimension == model.NoDimension {
				continue
			}
			text = strings.TrimSpace(text)
			if err := typed(cell.read(text, unit{}, DecimalAuto)); err != nil {
				return model.Unknown, c.base.dimension, true, fmt.Errorf("%s %w", quote(text), err)
			}
			return *cell.field, c.base.dimension, true, nil
		}
	}
	return model.Unknown, model.NoDimension, false, nil
}
