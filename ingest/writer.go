package ingest

import (
	"encoding/csv"
	"fmt"
	"io"
	"slices"

	"trueplait/model"
)

// Writer writes rows of one kind as the CSV that [Reader] reads: every column
// that is known, grams and millimetres named in the header, the shortest
// decimals that read back as the same number, blanks for what was not
// recorded, and a ' before text that a spreadsheet would take for a formula.
//
// Rows that came from a Reader read back equal but for their origin.
type Writer struct {
	csv   *csv.Writer
	form  *form
	cells []string
}

// NewWriter writes the header of a file of kind to w.
func NewWriter(w io.Writer, kind model.Kind) (*Writer, error) {
	all := forms()
	i := slices.IndexFunc(all, func(f *form) bool { return f.kind == kind })
	if i < 0 {
		return nil, fmt.Errorf("ingest: no CSV of kind %q", kind)
	}
	form := all[i]
	cells := make([]string, len(form.columns))
	for i, c := range form.columns {
		cells[i] = c.header()
	}
	writer := &Writer{csv.NewWriter(w), form, cells}
	return writer, writer.csv.Write(cells)
}

// Write writes one row, which must be of the Writer's kind.
func (w *Writer) Write(row model.Row) error {
	if !w.form.fill(row) {
		return fmt.Errorf("ingest: %T in a file of %s", row, w.form.kind)
	}
	for i, c := range w.form.columns {
		w.cells[i] = c.cell.write()
	}
	return w.csv.Write(w.cells)
}

// Flush writes what is still held back.
func (w *Writer) Flush() error {
	w.csv.Flush()
	return w.csv.Error()
}
