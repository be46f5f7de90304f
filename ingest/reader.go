package ingest

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"trueplait/ingest/xlsx"
	"trueplait/model"
)

// Options say how a file is read.
type Options struct {
	// IgnoreUnknown leaves out columns that are not known. Default: they are
	// problems.
	IgnoreUnknown bool

	// Decimal is the decimal mark. Default: see [DecimalAuto].
	Decimal Decimal

	// Today is the day after which a date is warned about. Default: no date is.
	Today time.Time

	// Typed is for a file made of what was typed into a form, where nobody can
	// do anything about the header. Default: somebody can.
	Typed bool
}

// Reader reads the rows of one CSV file or of one sheet of a workbook.
type Reader struct {
	name   string
	from   string // FILE or FILE:SHEET
	opt    Options
	in     records
	file   *source // in, where it is a CSV file
	form   *form
	header int // how many fields it has
	inputs []input

	record   []string // the fields of the record being read
	line     int      // its physical line
	problems []*RowError
	warnings []*RowError
	ended    bool // by a record that cannot be read on from
}

// NewReader reads the header of a CSV file. name stands for the file in
// messages.
//
// An error is [Problems], which lists all that is wrong with the header, or
// comes from r.
func NewReader(r io.Reader, name string, opt Options) (*Reader, error) {
	file, err := openSource(r)
	if err != nil {
		return nil, fileError(name, err)
	}
	if opt.Decimal == DecimalAuto && file.comma != ',' {
		opt.Decimal = decimalEither
	}
	reader := &Reader{name: name, opt: opt, in: file, file: file}
	if err := reader.open(); err != nil {
		return nil, err
	}
	return reader, nil
}

// fileError is what is wrong with a file as a whole.
func fileError(name string, err error) error {
	if about := (*trouble)(nil); errors.As(err, &about) {
		return Problems{{File: name, Line: 1, Start: 1, Err: about}}
	}
	return fmt.Errorf("%s: %w", visibleName(name), err)
}

// open reads the header and ties its columns to a form. Its errors are those
// of NewReader.
func (r *Reader) open() error {
	r.from = r.name
	if sheet := r.Sheet(); sheet != "" {
		r.from += ":" + printable(sheet)
	}
	if day := r.opt.Today; !day.IsZero() {
		r.opt.Today = time.Date(day.Year(), day.Month(), day.Day(), 0, 0, 0, 0, time.UTC)
	}
	err := r.readHeader()
	if about := (*trouble)(nil); errors.As(err, &about) {
		r.refuseHeader(-1, "", about)
	} else if err != nil {
		return fmt.Errorf("%s: %w", visibleName(r.name), err)
	}
	if more := len(r.problems) - maxProblems; more > 0 {
		r.problems = r.problems[:maxProblems]
		r.refuseHeader(-1, "", troublef(ErrColumn, "and %d more problems with the header", more))
	}
	if len(r.problems) > 0 {
		return Problems(r.problems)
	}
	return nil
}

// maxProblems is how many problems of a header are told; the rest are counted.
const maxProblems = 50

func (r *Reader) readHeader() error {
	record, err := r.in.fields().Read()
	var syntax *csv.ParseError
	switch {
	case err == io.EOF:
		return troublef(ErrFile, "the file is empty: its first line must name the columns")
	case errors.As(err, &syntax):
		r.problems = append(r.problems, r.malformed(syntax))
		return nil
	case err != nil:
		return err
	}
	r.header = len(record)
	headers := slices.Clone(record) // the next record takes its place
	names := make([]string, len(headers))
	for i, h := range headers {
		names[i] = normalise(h)
	}
	kind, err := fileKind(names)
	if err != nil {
		return err
	}
	all := forms()
	r.form = all[slices.IndexFunc(all, func(f *form) bool { return f.kind == kind })]
	var strange bool
	r.inputs, strange = r.form.matchHeaders(headers, r.opt.IgnoreUnknown, r.refuseHeader)
	if strange && kind == model.Products {
		r.refuseHeader(-1, "", r.readAsProducts())
	}
	return nil
}

// readAsProducts explains how other rows with a product came to be taken for
// products.
func (r *Reader) readAsProducts() error {
	if r.Sheet() != "" {
		return troublef(ErrKind, "the sheet was read as products: %s; hide a sheet that is not for the log", kindsByHeader)
	}
	return troublef(ErrKind, "the file was read as products: %s", kindsByHeader)
}

// Kind returns the kind of the file's rows.
func (r *Reader) Kind() model.Kind { return r.form.kind }

// Sheet returns the name of the sheet, "" for a CSV file.
func (r *Reader) Sheet() string { return r.in.sheet() }

// Name returns the file's name as it was given, FILE:SHEET for a sheet. It is
// the file in the [model.Origin] of the rows.
func (r *Reader) Name() string { return r.from }

// Warnings returns what is odd about the row last read, and forgets it.
func (r *Reader) Warnings() []*RowError {
	warnings := r.warnings
	r.warnings = nil
	return warnings
}

// Read returns the next row, or the problems of a record that is none: all of
// its bad cells. At the end of the file the error is io.EOF; any other error
// comes from reading the file.
//
// Records with nothing but blank cells, which spreadsheets leave behind, are
// passed over.
func (r *Reader) Read() (model.Row, []*RowError, error) {
	for {
		if r.ended {
			return nil, nil, io.EOF
		}
		r.problems, r.warnings = nil, nil
		r.in.next()
		record, err := r.in.fields().Read()
		if err == io.EOF {
			return nil, nil, io.EOF
		}
		if err != nil {
			problems, err := r.noRecord(err)
			return nil, problems, err
		}
		if row, blank := r.row(record); !blank {
			return row, r.problems, nil
		}
	}
}

// noRecord tells an error that is about a record from one of reading the file.
func (r *Reader) noRecord(err error) ([]*RowError, error) {
	var syntax *csv.ParseError
	var end *breakOff
	switch {
	case errors.As(err, &syntax):
		return []*RowError{r.malformed(syntax)}, nil
	case errors.As(err, &end):
		r.ended = true
		return []*RowError{r.Problem(end.line, "", "", end.err)}, nil
	}
	return nil, fmt.Errorf("%s: %w", visibleName(r.name), err)
}

// row fills the form with a record; blank tells a record of blank cells.
func (r *Reader) row(record []string) (row model.Row, blank bool) {
	r.record = record
	r.line = r.in.line(0)
	r.form.clear()
	blank = true
	for i := range r.inputs {
		in := &r.inputs[i]
		text := r.text(i)
		if text == "" {
			continue
		}
		blank = false
		if err := r.readCell(in, text); err != nil {
			r.refuse(in.name, err)
		}
	}
	if column, text, err := r.in.stray(); err != nil {
		e := r.Problem(r.line, "", text, err)
		e.Cell = column + strconv.Itoa(r.line)
		r.problems = append(r.problems, e)
		if blank {
			return nil, false
		}
	}
	if blank {
		return nil, true
	}
	for i := range r.inputs {
		if in := &r.inputs[i]; in.required && r.text(i) == "" {
			r.refuse(in.name, troublef(ErrRow, "is blank: %s need it", r.form.kind))
		}
	}
	r.form.check(r)
	if !r.clean() {
		r.warnings = nil // they speak of a row that is kept
		return nil, false
	}
	return r.form.copy(model.Origin{File: r.from, Line: r.line}), false
}

// readCell sets the field of an input from text, which is not empty.
func (r *Reader) readCell(in *input, text string) error {
	decimal := r.opt.Decimal
	switch r.in.cell(in.at) {
	case xlsx.Number: // the sheet shows it with the mark of the reader's language
		decimal = DecimalPoint
	case xlsx.Date:
		if in.base != (unit{}) {
			return troublef(ErrNumber, "is a date, which a spreadsheet makes of 8-1/2 or 6/2: format the cell as text and write the amount again")
		}
	case xlsx.Failed:
		return troublef(ErrCell, "is an error of the spreadsheet: correct its formula, or leave the cell blank")
	case xlsx.Unresolved:
		return troublef(ErrCell, "is a formula without a result: open the workbook in a spreadsheet program and save it again")
	}
	return in.cell.read(text, in.unit, decimal)
}

// text is the cell of an input in the record being read.
func (r *Reader) text(input int) string {
	return strings.TrimSpace(r.record[r.inputs[input].at])
}

// clean reports whether the record being read has no problem so far.
func (r *Reader) clean() bool { return len(r.problems) == 0 }

// refuse adds a problem with a cell of the record being read; column "" is the
// row as a whole.
func (r *Reader) refuse(column string, err error) {
	r.problems = append(r.problems, r.about(column, err))
}

func (r *Reader) warn(column string, err error) {
	r.warnings = append(r.warnings, r.about(column, err))
}

func (r *Reader) warnOfFuture(column string, day time.Time) {
	if !r.opt.Today.IsZero() && day.After(r.opt.Today) {
		r.warn(column, troublef(ErrOdd, "is after today, %s: check it", r.opt.Today.Format(time.DateOnly)))
	}
}

// about says where in the file a cell of the record being read is.
func (r *Reader) about(column string, err error) *RowError {
	if r.opt.Typed {
		err = typed(err)
	}
	if i := r.input(column); i >= 0 {
		e := r.Problem(r.in.line(r.inputs[i].at), column, r.text(i), err)
		e.Start = r.line
		return e
	}
	return r.Problem(r.line, column, "", err)
}

// Problem says of a row that was read, by its line, what was found wrong with
// it later. column is the known name of the cell's column, "" for the row as a
// whole, and text what the cell holds.
func (r *Reader) Problem(line int, column, text string, err error) *RowError {
	e := &RowError{File: r.name, Sheet: r.Sheet(), Line: line, Start: line, Column: column, Text: strings.Clone(clip(text)), Err: err}
	if e.Sheet != "" {
		letter := "A"
		if i := r.input(column); i >= 0 {
			letter = r.in.column(r.inputs[i].at)
		}
		e.Cell = letter + strconv.Itoa(line)
	}
	return e
}

// input is the place of a column among the inputs, -1 if it is none.
func (r *Reader) input(column string) int {
	return slices.IndexFunc(r.inputs, func(in input) bool { return in.name == column })
}

// refuseHeader adds a problem with the header in a field, -1 for the header as
// a whole.
func (r *Reader) refuseHeader(field int, header string, err error) {
	e := r.Problem(1, "", header, err)
	if e.Sheet != "" && field >= 0 {
		e.Line = r.in.line(field)
		e.Start, e.Cell = e.Line, r.in.column(field)+strconv.Itoa(e.Line)
	}
	r.problems = append(r.problems, e)
}
