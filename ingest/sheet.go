package ingest

import (
	"bytes"
	"encoding/csv"
	"io"
	"slices"
	"strings"

	"trueplait/ingest/xlsx"
)

// sheet is a sheet of a workbook as records: the cells under its headers, the
// header first.
type sheet struct {
	title   string
	rows    *xlsx.Rows
	lenient bool // cells under no header are passed over
	csv     *csv.Reader

	headers []xlsx.Cell // in the first row that is not blank
	row     int         // the row last read
	cells   []xlsx.Cell // its cells under each of headers
	beside  xlsx.Cell   // its first cell under no header; Column 0: none
	long    bool
	text    bytes.Buffer // its cells as CSV, as far as they are not read yet
}

// newSheet reads the header of a sheet. It returns io.EOF for a blank sheet;
// other errors are troubles.
func newSheet(book *xlsx.File, tab xlsx.Sheet, lenient bool) (*sheet, error) {
	rows, err := book.Rows(tab)
	if err != nil {
		return nil, workbookTrouble(err)
	}
	header, err := rows.Next()
	if err == io.EOF {
		return nil, io.EOF
	}
	if err != nil {
		return nil, workbookTrouble(err)
	}
	s := &sheet{title: tab.Name, rows: rows, lenient: lenient, row: header.Number}
	for _, c := range header.Cells {
		if normalise(c.Text) != "" {
			s.headers = append(s.headers, c)
		}
	}
	if s.headers == nil {
		return nil, errNoKind
	}
	s.cells = slices.Clone(s.headers)
	s.encode()
	s.csv = csv.NewReader(s)
	s.csv.ReuseRecord = true
	return s, nil
}

// Read hands the records to the csv reader as CSV text. One call never gives
// more than one record and the csv reader never asks before it needs the next,
// so that the row last read is that of the csv reader's record.
func (s *sheet) Read(p []byte) (int, error) {
	if s.text.Len() == 0 {
		if err := s.advance(); err != nil {
			return 0, err
		}
		s.encode()
	}
	return s.text.Read(p)
}

// advance reads the next row.
func (s *sheet) advance() error {
	row, err := s.rows.Next()
	if err == io.EOF {
		return io.EOF
	}
	if err != nil {
		return &breakOff{s.row + 1, workbookTrouble(err)}
	}
	clear(s.cells)
	s.row, s.beside = row.Number, xlsx.Cell{}
	field := 0
	for _, c := range row.Cells {
		for field < len(s.headers) && s.headers[field].Column < c.Column {
			field++
		}
		switch {
		case field < len(s.headers) && s.headers[field].Column == c.Column:
			s.cells[field] = c
		case s.beside.Column == 0 && !s.lenient && strings.TrimSpace(c.Text) != "":
			s.beside = c
		}
	}
	return nil
}

// encode writes the row last read as CSV. A row as long as no CSV record may
// be is left blank: texts that many cells share make it easy to write one that
// fills the memory.
func (s *sheet) encode() {
	length := 0
	for _, c := range s.cells {
		length += len(c.Text)
	}
	s.long = length > maxRecord
	for i, c := range s.cells {
		if i > 0 {
			s.text.WriteByte(',')
		}
		if s.long {
			c.Text = ""
		}
		s.text.WriteString(quoted(c.Text)) // quoted, for a blank line is no record
	}
	s.text.WriteByte('\n')
}

func (s *sheet) fields() *csv.Reader      { return s.csv }
func (s *sheet) sheet() string            { return s.title }
func (s *sheet) next()                    {}
func (s *sheet) line(int) int             { return s.row }
func (s *sheet) column(field int) string  { return xlsx.ColumnName(s.headers[field].Column) }
func (s *sheet) cell(field int) xlsx.Type { return s.cells[field].Type }
func (s *sheet) stray() (column, text string, err error) {
	switch {
	case s.long:
		return "A", "", troublef(ErrRow, "the row holds more than %d kB: shorten its texts", maxRecord>>10)
	case s.beside.Column > 0:
		return xlsx.ColumnName(s.beside.Column), strings.TrimSpace(s.beside.Text), troublef(ErrRow,
			"stands under no header: name its column, move it to another sheet or say --ignore-unknown")
	}
	return "", "", nil
}
