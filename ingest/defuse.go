package ingest

import (
	"bufio"
	"io"
)

// defuse copies CSV as it stands, but with a ' before what a spreadsheet would
// take for a formula at the start of a cell. Reading takes it off again. A quote
// astray is held to end where a spreadsheet may end it, so that the cell behind
// it is looked at too.
//
// The error is that of reading; those of writing stay with dst.
func defuse(dst *bufio.Writer, src *bufio.Reader, comma byte) error {
	for {
		quoted := copyStart(dst, src, comma)
		mark(dst, src, comma)
		if err := copyCell(dst, src, comma, quoted); err == io.EOF {
			return nil
		} else if err != nil {
			return err
		}
	}
}

// mark writes a ' where what comes next starts a formula. A number with a sign,
// which is what most refused cells are, stays as it stands.
func mark(dst *bufio.Writer, src *bufio.Reader, comma byte) {
	const longest = 64 // of a number
	next, _ := src.Peek(longest)
	if startsWith(string(next), formulaSigns) && !signed(next, comma) {
		dst.WriteByte('\'')
	}
}

// signed reports whether a cell is a number with a sign, and perhaps a unit: it
// has nothing in it that a formula could work with.
func signed(next []byte, comma byte) bool {
	if next[0] != '-' && next[0] != '+' || len(next) < 2 || next[1] < '0' || next[1] > '9' {
		return false
	}
	for _, c := range next[2:] {
		switch {
		case c == comma || c == '"' || c == '\n' || c == '\r':
			return true
		case '0' <= c && c <= '9' || 'a' <= c && c <= 'z' || c == ' ' || c == '.' || c == ',' || c == '/':
		default:
			return false
		}
	}
	return false
}

// copyStart copies the blanks before a cell, its opening quote and the blanks
// behind that, and reports whether there is such a quote.
func copyStart(dst *bufio.Writer, src *bufio.Reader, comma byte) (quoted bool) {
	for {
		switch next, _ := src.Peek(1); {
		case len(next) == 0:
			return quoted
		case next[0] == '"' && !quoted:
			quoted = true
		case next[0] == ' ', next[0] == '\t' && (quoted || comma != '\t'), quoted && (next[0] == '\n' || next[0] == '\r'):
		default:
			return quoted
		}
		c, _ := src.ReadByte()
		dst.WriteByte(c)
	}
}

// copyCell copies the rest of a cell and the separator or line end behind it.
func copyCell(dst *bufio.Writer, src *bufio.Reader, comma byte, quoted bool) error {
	for {
		c, err := src.ReadByte()
		if err != nil {
			return err
		}
		dst.WriteByte(c)
		switch {
		case quoted && c == '"':
			if next, _ := src.Peek(1); len(next) > 0 && next[0] == '"' { // one quote, written twice
				src.ReadByte()
				dst.WriteByte('"')
				continue
			}
			quoted = false
			mark(dst, src, comma)
		case !quoted && (c == comma || c == '\n' || c == '\r'):
			return nil
		}
	}
}
