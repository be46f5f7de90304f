package ingest

import (
	"bytes"
	"encoding/csv"
	"errors"
	"slices"
	"strings"
	"unicode"
)

// malformed explains what the csv reader says of the record last read, with
// the cell it is about as the file has it.
func (r *Reader) malformed(e *csv.ParseError) *RowError {
	raw, start := r.file.record()
	cells := splitRecord(raw, start, r.file.comma)
	problem := &RowError{File: r.name, Line: start, Start: start}
	if errors.Is(e.Err, csv.ErrFieldCount) {
		problem.Err = troublef(ErrRow, "the row has %s where the header has %s: a cell with the separator or a line break in it needs quotes",
			cellCount(len(cells)), cellCount(r.header))
		return problem
	}
	last := cells[len(cells)-1]
	text := strings.TrimSpace(last.text)
	problem.Line, problem.Text = last.line, strings.Clone(clip(text))
	if i := slices.IndexFunc(r.inputs, func(in input) bool { return in.at == len(cells)-1 }); i >= 0 {
		problem.Column = r.inputs[i].name
	}
	switch {
	case last.fault == bareQuote:
		problem.Err = troublef(ErrRow, "has a quote inside a cell without quotes: write the cell as %s", spelling(text))
	case last.fault == openQuote:
		problem.Err = troublef(ErrRow, "opens a quote that is never closed: close it, and write a quote inside the cell twice")
	case strings.Contains(text, "\n"):
		problem.Err = troublef(ErrRow, "opens a quote that is closed only on a later line: close it in its cell, and write a quote inside the cell twice")
	default:
		problem.Err = troublef(ErrRow, "goes on after its closing quote: write the cell as %s", spelling(inside(text)))
	}
	return problem
}

// spelling is how a cell with a quote in it must stand in the file; for a cell
// unfit for a message, how one like it must.
func spelling(text string) string {
	if !plain(text) || len(text) > maxQuoted {
		text = `6' 2"`
	}
	return quoted(text)
}

// tooLong is the trouble with a record over maxRecord.
func tooLong() error {
	return troublef(ErrRow, "the row is longer than %d kB and the file is read no further: look for a quote that is never closed", maxRecord>>10)
}

func cellCount(n int) string {
	if n == 1 {
		return "1 cell"
	}
	return formatNumber(float64(n)) + " cells"
}

// quoted spells a cell for CSV.
func quoted(text string) string {
	return `"` + strings.ReplaceAll(text, `"`, `""`) + `"`
}

// inside takes away the quotes around a cell and the doubling of those in it.
func inside(text string) string {
	text = strings.TrimSuffix(strings.TrimPrefix(text, `"`), `"`)
	return strings.ReplaceAll(text, `""`, `"`)
}

// fault is what is wrong with the quotes of a cell.
type fault int

const (
	noFault    fault = iota
	bareQuote        // a quote in a cell that does not start with one
	strayQuote       // more text behind the closing quote
	openQuote        // no closing quote
)

// rawCell is a cell as it stands in the file, quotes included.
type rawCell struct {
	text  string
	line  int
	fault fault
}

// splitRecord splits the bytes of one record where the csv reader does, up to
// and including the first cell with a fault. The csv reader itself keeps
// nothing of a record that it refuses.
func splitRecord(raw []byte, line int, comma byte) []rawCell {
	raw = bytes.TrimSuffix(bytes.TrimSuffix(raw, []byte("\n")), []byte("\r"))
	var cells []rawCell
	for {
		if comma != '\t' {
			raw = bytes.TrimLeftFunc(raw, unicode.IsSpace)
		}
		end, fault := cellEnd(raw, comma)
		cells = append(cells, rawCell{string(raw[:end]), line, fault})
		if fault != noFault || end == len(raw) {
			return cells
		}
		line += bytes.Count(raw[:end], []byte("\n"))
		raw = raw[end+1:]
	}
}

// cellEnd is where the cell at the start of raw ends.
func cellEnd(raw []byte, comma byte) (end int, fault fault) {
	toComma := func(from int) int {
		if i := bytes.IndexByte(raw[from:], comma); i >= 0 {
			return from + i
		}
		return len(raw)
	}
	if len(raw) == 0 || raw[0] != '"' {
		end = toComma(0)
		if bytes.IndexByte(raw[:end], '"') >= 0 {
			return end, bareQuote
		}
		return end, noFault
	}
	for i := 1; i < len(raw); i++ {
		switch {
		case raw[i] != '"':
		case i+1 < len(raw) && raw[i+1] == '"':
			i++
		case i+1 == len(raw) || raw[i+1] == comma:
			return i + 1, noFault
		default:
			return toComma(i), strayQuote
		}
	}
	return len(raw), openQuote
}
