package ingest

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// cleanText returns text as the log keeps it: trimmed, in Unicode NFC, and
// without the ' that [Writer] puts before text a spreadsheet would take for a
// formula. With lines, line breaks and tabs inside are kept.
//
// It returns a trouble about ErrText for text that is not UTF-8 or holds
// anything that cannot be seen: a label with an invisible character would look
// like another label and not be it.
func cleanText(text string, lines bool) (string, error) {
	text = strings.TrimSpace(text)
	if unescaped := unescape(text); len(unescaped) < len(text) {
		text = strings.TrimSpace(unescaped)
	}
	if plain(text) {
		return text, nil
	}
	if !utf8.ValidString(text) {
		return "", troublef(ErrText, `is not UTF-8: save the file as "CSV UTF-8"`)
	}
	if lines {
		text = lineBreaks.Replace(text)
	}
	if stacked(text) {
		return "", troublef(ErrText, "stacks more than %d marks on one character: delete them", maxMarks)
	}
	text = norm.NFC.String(text)
	before := ' ' // marks that go with any letter left aside
	for _, r := range text {
		switch {
		case !hidden(r), joins(r) && joinsOnto(r, before), unicode.Is(unicode.Zs, r):
		case r == '\n' || r == '\t':
			if !lines {
				return "", troublef(ErrText, "holds a line break or tab: keep it on one line")
			}
		default:
			return "", troublef(ErrText, "holds the invisible character %U: delete it", r)
		}
		if joins(r) || !unicode.Is(unicode.Inherited, r) {
			before = r
		}
	}
	return text, nil
}

// maxMarks is how many accents and the like may follow each other: more than
// any language stacks, and so few that normalizing never puts in an invisible
// character of its own, as it does from 30 on (UAX #15, Stream-Safe Text
// Format).
const maxMarks = 10

// stacked reports whether text has more than maxMarks in a row.
func stacked(text string) bool {
	marks := 0
	for _, r := range text {
		if marks++; !unicode.Is(unicode.M, r) {
			marks = 0
		}
		if marks > maxMarks {
			return true
		}
	}
	return false
}

// lineBreaks turns every line end into the one the log keeps.
var lineBreaks = strings.NewReplacer("\r\n", "\n", "\r", "\n")

// plain reports whether text is printable ASCII, which needs no further look.
func plain(text string) bool {
	for i := range len(text) {
		if text[i] < ' ' || text[i] > '~' {
			return false
		}
	}
	return true
}

const (
	// formulaSigns begin a cell that a spreadsheet may take for a formula; the
	// wide ones do where it is set to an East Asian language.
	formulaSigns = "=+-@＝＋－＠"

	// escaped begins a cell that gets a ' before it. Blanks may be dropped from
	// before a formula, and with ' among them a ' of the maker's own survives.
	escaped = formulaSigns + "\t\r'"
)

func startsWith(text, signs string) bool {
	r, _ := utf8.DecodeRuneInString(text)
	return text != "" && strings.ContainsRune(signs, r)
}

// escape makes text safe to open in a spreadsheet.
func escape(text string) string {
	if startsWith(text, escaped) {
		return "'" + text
	}
	return text
}

// unescape takes back what escape did, and leaves any other leading ' alone.
func unescape(text string) string {
	if after, ok := strings.CutPrefix(text, "'"); ok && startsWith(after, escaped) {
		return after
	}
	return text
}
