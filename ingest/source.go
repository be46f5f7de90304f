package ingest

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"io"
	"unicode"

	"trueplait/ingest/xlsx"
)

// maxRecord is the longest record read, in bytes. Its use is to notice a quote
// that is never closed before the rest of a large file is held in memory.
const maxRecord = 1 << 20

// sniffed is how much of a file is looked at to find its encoding and
// separator.
const sniffed = 1 << 16

// source is a CSV file as text, with the separator found and the bytes of the
// record being read still at hand.
type source struct {
	csv   *csv.Reader
	comma byte

	file  *bufio.Reader
	kept  []byte // bytes handed to csv from offset at on
	at    int64
	done  int64 // offset at which the record being read begins
	lines int   // line ends before done
}

// openSource finds out encoding and separator. It returns a trouble about
// ErrFile where the file cannot be CSV.
func openSource(r io.Reader) (*source, error) {
	s := &source{file: bufio.NewReaderSize(r, sniffed)}
	start, err := s.file.Peek(sniffed)
	if err != nil && err != io.EOF {
		return nil, err
	}
	if mark := []byte("\ufeff"); bytes.HasPrefix(start, mark) {
		start = start[len(mark):]
		if _, err := s.file.Discard(len(mark)); err != nil {
			return nil, err
		}
	}
	switch {
	case bytes.HasPrefix(start, []byte("\xff\xfe")), bytes.HasPrefix(start, []byte("\xfe\xff")),
		bytes.IndexByte(start[:min(4, len(start))], 0) >= 0:
		return nil, troublef(ErrFile, `the file is UTF-16: save it as "CSV UTF-8"`)
	case bytes.HasPrefix(start, []byte("PK\x03\x04")):
		return nil, troublef(ErrFile, `the file is a spreadsheet, not CSV: save the sheet as "CSV UTF-8"`)
	}
	header, oldMac := firstLine(start)
	if oldMac {
		return nil, troublef(ErrFile, `lines end in CR alone, as on old Macs: save the file as "CSV UTF-8"`)
	}
	s.comma = separator(header)
	s.csv = csv.NewReader(s)
	s.csv.Comma = rune(s.comma)
	s.csv.ReuseRecord = true
	// A blank after the separator would otherwise make the quotes of a quoted
	// cell bare ones. Among tabs a blank may be the next separator.
	s.csv.TrimLeadingSpace = s.comma != '\t'
	return s, nil
}

// Read hands bytes to the csv reader and keeps a copy of the record being read,
// without the blank lines before it, of which there may be any number.
func (s *source) Read(p []byte) (int, error) {
	raw, line := skipBlankLines(s.kept[s.done-s.at:], s.lines+1)
	s.done, s.lines = s.at+int64(len(s.kept)-len(raw)), line-1
	if s.done > s.at {
		s.kept = append(s.kept[:0], s.kept[s.done-s.at:]...)
		s.at = s.done
	}
	if len(s.kept) > maxRecord {
		_, line := s.unread()
		return 0, &breakOff{line, tooLong()}
	}
	n, err := s.file.Read(p)
	s.kept = append(s.kept, p[:n]...)
	return n, err
}

func (s *source) fields() *csv.Reader { return s.csv }
func (s *source) sheet() string       { return "" }
func (s *source) column(int) string   { return "" }
func (s *source) cell(int) xlsx.Type  { return xlsx.Text }

// stray finds nothing: the csv reader counts the fields of each record.
func (s *source) stray() (column, text string, err error) { return "", "", nil }

func (s *source) line(field int) int {
	line, _ := s.csv.FieldPos(field)
	return line
}

// next also counts the lines of the record that it forgets.
func (s *source) next() {
	read := s.csv.InputOffset()
	s.lines += bytes.Count(s.kept[s.done-s.at:read-s.at], []byte("\n"))
	s.done = read
}

// record returns the bytes of the record last read, with its line end, and the
// physical line on which it starts. The bytes are valid until the next read.
func (s *source) record() (raw []byte, line int) {
	return skipBlankLines(s.kept[s.done-s.at:s.csv.InputOffset()-s.at], s.lines+1)
}

// unread returns what is left of the file from the record being read on, and
// the physical line on which that starts.
func (s *source) unread() (rest io.Reader, line int) {
	raw, line := skipBlankLines(s.kept[s.done-s.at:], s.lines+1)
	return io.MultiReader(bytes.NewReader(raw), s.file), line
}

// skipBlankLines drops the lines that the csv reader passes over before the
// record that it finds in text; line is that of text.
func skipBlankLines(text []byte, line int) ([]byte, int) {
	for {
		after := bytes.TrimPrefix(text, []byte("\r"))
		if !bytes.HasPrefix(after, []byte("\n")) {
			return text, line
		}
		text, line = after[1:], line+1
	}
}

// firstLine returns the first line that is not blank, and whether it ends in
// a lone CR. Line ends in quotes do not count.
func firstLine(text []byte) (line []byte, oldMac bool) {
	text = bytes.TrimLeft(text, "\r\n")
	quoted := false
	for i, c := range text {
		switch {
		case c == '"':
			quoted = !quoted
		case quoted:
		case c == '\n':
			return text[:i], false
		case c == '\r' && i+1 < len(text) && text[i+1] != '\n':
			return text[:i], true
		}
	}
	return text, false
}

// separator returns the comma, semicolon or tab, whichever the header has most
// of outside quotes.
func separator(header []byte) byte {
	var count [128]int
	quoted := false
	for _, c := range header {
		if c == '"' {
			quoted = !quoted
		} else if !quoted && c <= unicode.MaxASCII {
			count[c]++
		}
	}
	best := byte(',')
	for _, c := range []byte{';', '\t'} {
		if count[c] > count[best] {
			best = c
		}
	}
	return best
}
