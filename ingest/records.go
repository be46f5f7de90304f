package ingest

import (
	"encoding/csv"

	"trueplait/ingest/xlsx"
)

// records are what a [Reader] reads: a CSV file or a sheet of a workbook, as
// text for a csv reader that splits it into fields.
type records interface {
	// fields is the csv reader.
	fields() *csv.Reader
	// sheet is the name of the sheet, "" for a CSV file.
	sheet() string
	// next forgets the record last read.
	next()
	// line is the physical line, or row, on which a field of the record last
	// read stands.
	line(field int) int
	// column is the letter of a field's column in the sheet.
	column(field int) string
	// cell is what a field of the record last read holds in the sheet, and
	// always text in a CSV file.
	cell(field int) xlsx.Type
	// stray is what is wrong with the record last read outside its fields, and
	// the column and text of the cell to blame.
	stray() (column, text string, err error)
}

// breakOff is a problem behind which nothing of a file or sheet can be read.
type breakOff struct {
	line int
	err  error // a trouble
}

func (b *breakOff) Error() string { return b.err.Error() }
func (b *breakOff) Unwrap() error { return b.err }
