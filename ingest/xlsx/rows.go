package xlsx

import (
	"encoding/xml"
	"fmt"
	"io"
	"strconv"
	"strings"
)

// The size of a sheet: 1,048,576 rows and the columns A to XFD, the limits of
// the programs that write the format.
const (
	maxRows    = 1 << 20
	maxColumns = 1 << 14
)

// maxRowXML is how many bytes a row may take in the file. Its use is to keep a
// cell that never ends out of memory.
const maxRowXML = 16 << 20

// Type is what a cell holds.
type Type int

const (
	Text       Type = iota
	Number          // Text: its decimal digits, "45%" where it is shown so
	Date            // Text: 2024-03-31, 2024-03-31 10:30 or 10:30
	Bool            // Text: TRUE or FALSE
	Failed          // Text: #REF!, #DIV/0! and the like
	Unresolved      // Text: the formula, whose result was never stored
)

// Cell is a cell that is not blank.
type Cell struct {
	Column int // 1 is A
	Type   Type
	Text   string // what it holds, of a formula its result
}

// Row is a row with at least one cell.
type Row struct {
	Number int    // 1-based
	Cells  []Cell // from left to right
}

// Rows reads a sheet from top to bottom.
type Rows struct {
	file  *File
	part  string
	text  io.Reader
	limit *limitedReader // of text
	in    *xml.Decoder   // of limit
	row   Row
	err   error // that ended the reading
}

// Rows starts to read a sheet.
func (f *File) Rows(s Sheet) (*Rows, error) {
	text, err := f.open(s.part, MaxUnpacked)
	if err != nil {
		return nil, err
	}
	limit := &limitedReader{in: text, what: "a row", most: maxRowXML}
	return &Rows{file: f, part: s.part, text: text, limit: limit, in: newDecoder(limit)}, nil
}

// Next returns the next row that is not blank. It is valid until the next
// call. At the end of the sheet the error is io.EOF; any other is ErrDamaged.
// Either ends the reading.
//
// The value of merged cells is in the first of them.
func (r *Rows) Next() (Row, error) {
	for r.err == nil {
		if r.err = r.next(); r.err == nil && len(r.row.Cells) > 0 {
			return r.row, nil
		}
	}
	return Row{}, r.err
}

// next reads up to the end of the next row or of all rows.
func (r *Rows) next() error {
	r.limit.renew()
	for {
		token, err := r.in.Token()
		if err == io.EOF { // the decoder has seen every element end, but not the one that holds rows
			err = io.ErrUnexpectedEOF
		}
		if err != nil {
			return damaged(r.part, err)
		}
		switch t := token.(type) {
		case xml.StartElement:
			if t.Name.Local == "row" {
				if err := r.read(t); err != nil {
					return damaged(r.part, err)
				}
				return nil
			}
		case xml.EndElement:
			if t.Name.Local == "sheetData" {
				if err := drain(r.text); err != nil {
					return damaged(r.part, err)
				}
				return io.EOF
			}
		}
	}
}

// read reads a row whose element has begun (18.3.1.73). Numbers of rows and
// names of cells may be left out where they follow on.
func (r *Rows) read(start xml.StartElement) error {
	number := r.row.Number + 1
	if given := attribute(start, "r"); given != "" {
		n, err := strconv.Atoi(given)
		if err != nil || n < number {
			return fmt.Errorf("row %q follows row %d", given, r.row.Number)
		}
		number = n
	}
	if number > maxRows {
		return fmt.Errorf("row %d of at most %d", number, maxRows)
	}
	r.row.Number, r.row.Cells = number, r.row.Cells[:0]
	column := 0
	for {
		token, err := r.in.Token()
		if err != nil {
			return err
		}
		switch t := token.(type) {
		case xml.StartElement:
			if t.Name.Local != "c" {
				if err := r.in.Skip(); err != nil {
					return err
				}
				continue
			}
			name := attribute(t, "r")
			next := column + 1
			if name != "" {
				next = columnNumber(name)
			}
			if next <= column || next > maxColumns {
				return fmt.Errorf("cell %q follows column %d in row %d", name, column, number)
			}
			column = next
			cell, err := r.cell(t)
			if err != nil {
				return err
			}
			if cell.Text != "" {
				cell.Column = column
				r.row.Cells = append(r.row.Cells, cell)
			}
		case xml.EndElement:
			return nil
		}
	}
}

// cell reads a cell whose element has begun (18.3.1.4).
func (r *Rows) cell(start xml.StartElement) (Cell, error) {
	var value, formula strings.Builder
	inline, stored := "", false
	for {
		token, err := r.in.Token()
		if err != nil {
			return Cell{}, err
		}
		switch t := token.(type) {
		case xml.StartElement:
			switch t.Name.Local {
			case "v":
				stored = true
				err = content(r.in, &value)
			case "f":
				formula.WriteByte('=')
				err = content(r.in, &formula)
			case "is":
				inline, err = richText(r.in)
			default:
				err = r.in.Skip()
			}
			if err != nil {
				return Cell{}, err
			}
		case xml.EndElement:
			typ := attribute(start, "t")
			// Text may be empty; any other result that is not there was never worked out.
			if formula.Len() > 0 && value.Len() == 0 && !(stored && typ == "str") {
				return Cell{Type: Unresolved, Text: formula.String()}, nil
			}
			if typ == "inlineStr" {
				return Cell{Text: inline}, nil
			}
			return r.value(typ, attribute(start, "s"), value.String())
		}
	}
}

// value makes a cell of its type, the number of its style and what is stored
// (18.18.11).
func (r *Rows) value(typ, style, stored string) (Cell, error) {
	if typ == "str" {
		return Cell{Text: unescape(stored)}, nil
	}
	stored = strings.TrimSpace(stored)
	if stored == "" {
		return Cell{}, nil
	}
	switch typ {
	case "s":
		i, err := strconv.Atoi(stored)
		if err != nil || i < 0 || i >= len(r.file.strings) {
			return Cell{}, fmt.Errorf("string %q of %d", stored, len(r.file.strings))
		}
		return Cell{Text: r.file.strings[i]}, nil
	case "b":
		return Cell{Type: Bool, Text: strings.ToUpper(strconv.FormatBool(isTrue(stored)))}, nil
	case "e":
		return Cell{Type: Failed, Text: stored}, nil
	case "d":
		day, clock, _ := strings.Cut(strings.TrimSuffix(stored, "Z"), "T")
		if strings.Trim(clock, "0:.") == "" {
			return Cell{Type: Date, Text: day}, nil
		}
		return Cell{Type: Date, Text: day + " " + clock}, nil
	}
	return r.file.number(style, stored), nil
}

// number makes a cell of a number and its style.
func (f *File) number(style, stored string) Cell {
	form := plain
	if i, err := strconv.Atoi(style); err == nil && i >= 0 && i < len(f.formats) {
		form = f.formats[i]
	}
	text, ok := form.number(stored)
	if !ok {
		return Cell{Text: stored}
	}
	if form != date {
		return Cell{Type: Number, Text: text}
	}
	serial, _ := finite(stored)
	if day, ok := day(serial, f.date1904); ok {
		return Cell{Type: Date, Text: day}
	}
	return Cell{Type: Date, Text: text}
}

func attribute(e xml.StartElement, name string) string {
	for _, a := range e.Attr {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

// columnNumber is the column of a cell's name such as C7, 0 where it is none.
func columnNumber(name string) int {
	n := 0
	for i := 0; i < len(name) && n <= maxColumns; i++ {
		letter := name[i] | 0x20
		if letter < 'a' || letter > 'z' {
			break
		}
		n = n*26 + int(letter-'a') + 1
	}
	return n
}

// ColumnName is the letter of a column, or its letters.
func ColumnName(column int) string {
	name := ""
	for ; column > 0; column = (column - 1) / 26 {
		name = string(rune('A'+(column-1)%26)) + name
	}
	return name
}
