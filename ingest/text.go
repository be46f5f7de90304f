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
	text = norm.NFC.String(text)
	for _, r := range text {
		switch {
		case unicode.IsGraphic(r):
		case r == '\n' || r == '\t':
			if !lines {
				return "", troublef(ErrText, "holds a line break or tab: keep it on one line")
			}
		case r == zeroWidthNonJoiner || r == zeroWidthJoiner: // part of words in several scripts
		default:
			return "", troublef(ErrText, "holds the invisible character %U: delete it", r)
		}
	}
	return text, nil
}

const (
	zeroWidthNonJoiner = '\u200c'
	zeroWidthJoiner    = '\u200d'
)

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

// formulaStart begins a cell that a spreadsheet may take for a formula; the '
// is among them so that a ' of the maker's own survives.
const formulaStart = "=+-@\t'"

// escape makes text safe to open in a spreadsheet.
func escape(text string) string {
	if text != "" && strings.IndexByte(formulaStart, text[0]) >= 0 {
		return "'" + text
	}
	return text
}

// unescape takes back what escape did, and leaves any other leading ' alone.
func unescape(text string) string {
	if len(text) > 1 && text[0] == '\'' && strings.IndexByte(formulaStart, text[1]) >= 0 {
		return text[1:]
	}
	return text
}
