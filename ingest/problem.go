package ingest

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"
)

// What a RowError may be about.
var (
	ErrFile   = errors.New("file not understood")       // encoding, size, nothing in it
	ErrKind   = errors.New("kind of file not told")     // what the rows are
	ErrColumn = errors.New("column not understood")     // unknown, missing or twice
	ErrUnit   = errors.New("unit not understood")       // none, unknown or of another dimension
	ErrNumber = errors.New("number not understood")     // not one, or more than one
	ErrRange  = errors.New("number out of range")       // negative, zero, over a limit
	ErrDate   = errors.New("date not understood")       // not YYYY-MM-DD
	ErrText   = errors.New("text not acceptable")       // not printable, reserved, not a role
	ErrRow    = errors.New("row not acceptable")        // ragged, quotes astray, cells missing or at odds
	ErrOdd    = errors.New("row kept, but looks wrong") // warnings
)

// RowError is a problem with one cell, one row or the header.
type RowError struct {
	File   string // as the user gave it
	Line   int    // physical line of the cell, 1-based
	Start  int    // physical line on which the cell's record starts
	Column string // known name of the column; "": the row or the file as a whole
	Text   string // the cell's text, trimmed
	Err    error  // what is wrong and what to do; unwraps to one of the Err values
}

// Error is FILE:LINE: COLUMN: "text" problem and remedy.
func (e *RowError) Error() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s:%d: ", e.File, e.Line)
	if e.Column != "" {
		b.WriteString(e.Column + ": ")
	}
	if e.Column != "" || e.Text != "" {
		b.WriteString(quote(e.Text) + " ")
	}
	b.WriteString(e.Err.Error())
	return b.String()
}

// Unwrap returns what is wrong.
func (e *RowError) Unwrap() error { return e.Err }

// Problems are all problems of a header.
type Problems []*RowError

// Error lists the problems, one a line.
func (p Problems) Error() string {
	lines := make([]string, len(p))
	for i, e := range p {
		lines[i] = e.Error()
	}
	return strings.Join(lines, "\n")
}

// Unwrap returns each problem.
func (p Problems) Unwrap() []error {
	errs := make([]error, len(p))
	for i, e := range p {
		errs[i] = e
	}
	return errs
}

// trouble is a message that unwraps to one of the Err values without
// repeating its words.
type trouble struct {
	about   error
	message string
}

func troublef(about error, format string, args ...any) error {
	return &trouble{about, fmt.Sprintf(format, args...)}
}

func (t *trouble) Error() string { return t.message }
func (t *trouble) Unwrap() error { return t.about }

// maxQuoted is how many bytes of a cell a message repeats: enough to find it,
// short of the page that an unclosed quote swallows.
const maxQuoted = 80

// quote puts text in quotation marks with everything invisible escaped. Inch
// marks are left as the maker wrote them.
func quote(text string) string {
	if len(text) > maxQuoted {
		cut := maxQuoted
		for !utf8.RuneStart(text[cut]) && cut > maxQuoted-utf8.UTFMax {
			cut--
		}
		text = text[:cut] + "…"
	}
	return strings.ReplaceAll(strconv.Quote(text), `\"`, `"`)
}
