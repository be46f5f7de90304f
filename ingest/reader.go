package ingest

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"reflect"
	"slices"
	"strings"
	"time"

	"github.com/gocarina/gocsv"

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
}

// Reader reads the rows of one CSV file.
type Reader struct {
	name   string
	opt    Options
	source *source
	rows   *gocsv.Unmarshaller
	form   *form
	inputs []input
	fields []int // of the struct that gocsv fills, for each of inputs

	record   reflect.Value // the record being read, one string a column
	line     int           // its physical line
	problems []*RowError
	warnings []*RowError
	ended    bool // by a record too long to read on from
}

// NewReader reads the header of a CSV file. name stands for the file in
// messages.
//
// An error is [Problems], which lists all that is wrong with the header, or
// comes from r.
func NewReader(r io.Reader, name string, opt Options) (*Reader, error) {
	if !opt.Today.IsZero() {
		year, month, day := opt.Today.Date()
		opt.Today = time.Date(year, month, day, 0, 0, 0, 0, time.UTC)
	}
	rd := &Reader{name: name, opt: opt, line: 1}
	report := func(header string, err error) {
		rd.problems = append(rd.problems, &RowError{File: name, Line: 1, Start: 1, Text: header, Err: err})
	}
	err := rd.open(r, report)
	if about := (*trouble)(nil); errors.As(err, &about) {
		report("", about)
	} else if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if len(rd.problems) > 0 {
		return nil, Problems(rd.problems)
	}
	return rd, nil
}

// open reads the header and ties its columns to a form.
func (r *Reader) open(file io.Reader, report func(header string, err error)) error {
	var err error
	if r.source, err = openSource(file); err != nil {
		return err
	}
	if r.opt.Decimal == DecimalAuto && r.source.comma != ',' {
		r.opt.Decimal = decimalEither
	}
	all := forms()
	record := recordType(all)
	r.rows, err = gocsv.NewUnmarshaller(r.source.csv, reflect.New(record).Interface())
	var syntax *csv.ParseError
	switch {
	case err == io.EOF:
		return troublef(ErrFile, "the file is empty: its first line must name the columns")
	case errors.As(err, &syntax):
		r.problems = append(r.problems, r.malformed(syntax))
		return nil
	case errors.Is(err, errLongRecord):
		return tooLong()
	case err != nil:
		return err
	}
	headers := r.rows.Headers
	names := make([]string, len(headers))
	for i, h := range headers {
		names[i] = normalise(h)
	}
	kind, err := fileKind(names)
	if err != nil {
		return err
	}
	r.form = all[slices.IndexFunc(all, func(f *form) bool { return f.kind == kind })]
	r.inputs = r.form.matchHeaders(headers, r.opt.IgnoreUnknown, report)

	clear(names) // headers that are no column fill nothing
	for _, in := range r.inputs {
		names[in.at] = in.name
		field, _ := record.FieldByName(fieldName(in.name))
		r.fields = append(r.fields, field.Index[0])
	}
	return r.rows.RenormalizeHeaders(func([]string) []string { return names })
}

// recordType is the struct that gocsv fills: one string for each column of any
// kind, since the kind is not known before gocsv has read the header. It is
// made from the forms so that a column is named in one place only.
func recordType(all []*form) reflect.Type {
	var fields []reflect.StructField
	seen := map[string]bool{}
	for _, f := range all {
		for _, c := range f.columns {
			if !seen[c.name] {
				seen[c.name] = true
				fields = append(fields, reflect.StructField{
					Name: fieldName(c.name),
					Type: reflect.TypeFor[string](),
					Tag:  reflect.StructTag(fmt.Sprintf("csv:%q", c.name)),
				})
			}
		}
	}
	return reflect.StructOf(fields)
}

// fieldName makes a column's name that of an exported field.
func fieldName(column string) string { return "C_" + column }

// Kind returns the kind of the file's rows.
func (r *Reader) Kind() model.Kind { return r.form.kind }

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
		r.source.next()
		record, err := r.rows.Read()
		var syntax *csv.ParseError
		switch {
		case err == nil:
			if row, blank := r.row(record); !blank {
				return row, r.problems, nil
			}
			continue
		case err == io.EOF:
			return nil, nil, io.EOF
		case errors.As(err, &syntax):
			return nil, []*RowError{r.malformed(syntax)}, nil
		case errors.Is(err, errLongRecord):
			r.ended = true
			_, r.line = r.source.unread()
			return nil, []*RowError{{File: r.name, Line: r.line, Start: r.line, Err: tooLong()}}, nil
		}
		return nil, nil, fmt.Errorf("%s: %w", r.name, err)
	}
}

// row fills the form with a record; blank tells a record of blank cells.
func (r *Reader) row(record any) (row model.Row, blank bool) {
	r.record = reflect.ValueOf(record).Elem()
	r.line, _ = r.source.csv.FieldPos(0)
	r.form.clear()
	blank = true
	for i := range r.inputs {
		in := &r.inputs[i]
		text := r.text(i)
		if text == "" {
			continue
		}
		blank = false
		if err := in.cell.read(text, in.unit, r.opt.Decimal); err != nil {
			r.refuse(in.name, err)
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
	return r.form.copy(model.Origin{File: r.name, Line: r.line}), false
}

// text is the cell of an input in the record being read.
func (r *Reader) text(input int) string {
	return strings.TrimSpace(r.record.Field(r.fields[input]).String())
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
	e := &RowError{File: r.name, Line: r.line, Start: r.line, Column: column, Err: err}
	if i := slices.IndexFunc(r.inputs, func(in input) bool { return in.name == column }); i >= 0 {
		e.Line, _ = r.source.csv.FieldPos(r.inputs[i].at)
		e.Text = r.text(i)
	}
	return e
}
