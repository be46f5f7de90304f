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
	ErrCell   = errors.New("cell without a value")      // a spreadsheet's error, a formula never worked out
	ErrOdd    = errors.New("row kept, but looks wrong") // warnings
)

// RowError is a problem with one cell, one row or the header.
type RowError struct {
	File   string // as the user gave it
	Sheet  string // of a workbook; "": the file is CSV or the problem is with the whole workbook
	Cell   string // in the sheet, such as C7
	Line   int    // physical line of the cell or row of the sheet, 1-based
	Start  int    // physical line on which the cell's record starts
	Column string // known name of the column; "": the row or the file as a whole
	Text   string // the cell's text, trimmed and no longer than a message repeats
	Err    error  // what is wrong and what to do; unwraps to one of the Err values
}

// Error is FILE:LINE: COLUMN: "text" problem and remedy, in a workbook
// FILE:SHEET!CELL: and so on.
func (e *RowError) Error() string {
	out := e.Where() + ": "
	if e.Column != "" {
		out += e.Column + ": "
	}
	return out + e.What()
}

// Where is FILE:LINE, in a workbook FILE:SHEET!CELL.
func (e *RowError) Where() string {
	if e.Sheet != "" {
		return fmt.Sprintf("%s:%s!%s", visibleName(e.File), printable(e.Sheet), e.Cell)
	}
	return fmt.Sprintf("%s:%d", visibleName(e.File), e.Line)
}

// What is "text" problem and remedy.
func (e *RowError) What() string {
	var b strings.Builder
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

// typed leaves out of a message the remedy that a form does not have.
func typed(err error) error {
	if t := (*trouble)(nil); errors.As(err, &t) {
		return &trouble{t.about, strings.TrimSuffix(t.message, orInHeader)}
	}
	return err
}

// maxQuoted is how many bytes of a cell a message repeats: enough to find it,
// short of the page that an unclosed quote swallows.
const maxQuoted = 80

// clip cuts text down to what a message repeats of it.
func clip(text string) string { return clipTo(text, maxQuoted) }

// clipTo cuts text down to so many bytes, and an ellipsis.
func clipTo(text string, most int) string {
	if len(text) <= most {
		return text
	}
	cut := most
	for !utf8.RuneStart(text[cut]) && cut > most-utf8.UTFMax {
		cut--
	}
	return text[:cut] + "…"
}

// quote puts text in quotation marks with everything invisible escaped. Inch
// marks are left as the maker wrote them.
func quote(text string) string { return `"` + printable(text) + `"` }

// printable is text as quote repeats it, without the marks around.
func printable(text string) string { return visible(clip(text)) }

// visible spells what is hidden in text, and bytes that are not UTF-8, as Go
// does: \u202e, \n, \xff.
func visible(text string) string {
	var b strings.Builder
	for i, r := range text {
		_, size := utf8.DecodeRuneInString(text[i:])
		switch {
		case r == utf8.RuneError && size == 1:
			fmt.Fprintf(&b, `\x%02x`, text[i])
		case r == '\\':
			b.WriteString(`\\`)
		case hidden(r):
			code := strconv.QuoteRuneToASCII(r)
			b.WriteString(code[1 : len(code)-1])
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}

// visibleName is the name of a file as it was given, backslashes and all,
// unless it hides something.
func visibleName(name string) string {
	if utf8.ValidString(name) && strings.IndexFunc(name, hidden) < 0 {
		return name
	}
	return visible(name)
}
