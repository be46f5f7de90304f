package ingest

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"trueplait/ingest/xlsx"
)

// CopyRejects writes to dst, as CSV, the header of the file that r reads and
// those records that reasons names by the line or row they start on (the Start
// of a [RowError], the Line of a row), behind two columns of their own, line
// and reason, so that a maker can mend them where they stand. src is the file
// again, from its start.
//
// A reason for a line on which no record starts is an error. A record that
// could not be read takes the rest of a CSV file with it, and stands alone and
// blank for a sheet.
//
// Records of CSV are copied byte for byte and those of a sheet read as they did
// there, by the same options; but text that a spreadsheet would take for a
// formula gets a ' before it, which reading takes off again. Cells of a sheet
// under no header are left behind.
func (r *Reader) CopyRejects(dst io.Writer, src io.Reader, reasons map[int][]string) error {
	if s, ok := r.in.(*sheet); ok {
		return copySheetRejects(dst, src, s.title, r.opt.Decimal, reasons)
	}
	return copyRejects(dst, src, reasons)
}

// copyRejects copies from the CSV file src to dst the header and those records
// that reasons names by the physical line they start on: see
// [Reader.CopyRejects].
func copyRejects(dst io.Writer, src io.Reader, reasons map[int][]string) error {
	source, err := openSource(src)
	if err != nil {
		return err
	}
	out, record := bufio.NewWriter(dst), bufio.NewReader(nil)
	prefix := func(line, reason string) {
		out.WriteString(line + string(source.comma) + reason + string(source.comma))
	}
	copied := 0
	for header := true; ; header = false {
		source.next()
		_, err := source.csv.Read()
		if err == io.EOF {
			break
		}
		if end := (*breakOff)(nil); errors.As(err, &end) {
			rest, line := source.unread()
			prefix(fmt.Sprint(line), reasonCell(reasons[line]))
			if err := defuse(out, bufio.NewReader(rest), source.comma); err != nil {
				return err
			}
			copied++
			break
		}
		if syntax := (*csv.ParseError)(nil); err != nil && !errors.As(err, &syntax) {
			return err
		}
		raw, line := source.record()
		switch why, bad := reasons[line]; {
		case header:
			prefix("line", "reason")
		case bad:
			prefix(fmt.Sprint(line), reasonCell(why))
			copied++
		default:
			continue
		}
		record.Reset(bytes.NewReader(raw))
		if err := defuse(out, record, source.comma); err != nil {
			return err
		}
		if raw[len(raw)-1] != '\n' {
			out.WriteByte('\n')
		}
	}
	if copied < len(reasons) {
		return fileChanged(len(reasons)-copied, len(reasons))
	}
	return out.Flush()
}

func fileChanged(missing, all int) error {
	return fmt.Errorf("ingest: %d of %d rejected rows are no longer in the file: it has changed", missing, all)
}

// copySheetRejects does it for the sheet of a workbook.
func copySheetRejects(dst io.Writer, src io.Reader, title string, dec Decimal, reasons map[int][]string) error {
	book, err := openWorkbook(src)
	if err != nil {
		return err
	}
	tab := slices.IndexFunc(book.Sheets, func(tab xlsx.Sheet) bool { return tab.Name == title })
	if tab < 0 {
		return fileChanged(len(reasons), len(reasons))
	}
	s, err := newSheet(book, book.Sheets[tab], true)
	if err != nil {
		return err
	}
	out := csv.NewWriter(dst)
	write := func(line, reason string) {
		record := []string{line, reason}
		for _, c := range s.cells {
			record = append(record, rejectedCell(c, dec))
		}
		out.Write(record)
	}
	write("line", "reason")
	copied := 0
	for err = s.advance(); err == nil; err = s.advance() {
		if why, bad := reasons[s.row]; bad {
			write(strconv.Itoa(s.row), escape(strings.Join(why, "; ")))
			copied++
		}
	}
	if end := (*breakOff)(nil); errors.As(err, &end) {
		if why, bad := reasons[end.line]; bad {
			clear(s.cells)
			write(strconv.Itoa(end.line), escape(strings.Join(why, "; ")))
			copied++
		}
	}
	if copied < len(reasons) {
		return fileChanged(len(reasons)-copied, len(reasons))
	}
	out.Flush()
	return out.Error()
}

// rejectedCell spells a cell of a sheet for CSV that is read with the decimal
// mark dec. Reading it there takes the same text from it as here.
func rejectedCell(c xlsx.Cell, dec Decimal) string {
	switch {
	case c.Type != xlsx.Number:
		return escape(unescape(strings.TrimSpace(c.Text)))
	case dec == DecimalComma:
		return strings.Replace(c.Text, ".", ",", 1)
	}
	return c.Text
}

// reasonCell spells the reasons for a record as one cell.
func reasonCell(reasons []string) string {
	return quoted(escape(strings.Join(reasons, "; ")))
}
