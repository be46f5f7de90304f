package ingest

import (
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"trueplait/model"
)

// Decimal says which mark separates decimals.
type Decimal int

// The decimal marks. DecimalAuto is a point in files separated by commas, in
// the texts of workbooks and in single amounts. In files separated by
// semicolons or tabs it is a point or a comma, and a number such as 1.234,
// which may be a thousand, is refused.
const (
	DecimalAuto Decimal = iota
	DecimalComma
	DecimalPoint

	decimalEither // DecimalAuto in a file separated by semicolons or tabs
)

// shortDecimal reads what nearly every cell of a large file holds: at most 15
// digits, with or without a point among them. Both the digits and the power of
// ten below them are whole numbers that a float64 holds exactly, so that their
// quotient is the number that [strconv.ParseFloat] returns. Clinger (1990), How
// to read floating point numbers accurately, PLDI '90, section 2.
func shortDecimal(text string) (value float64, ok bool) {
	const maxDigits = 15
	if len(text) == 0 || len(text) > maxDigits+1 {
		return 0, false
	}
	digits, point := int64(0), -1
	for i := range len(text) {
		switch c := text[i]; {
		case isDigit(c):
			digits = digits*10 + int64(c-'0')
		case c == '.' && point < 0 && i > 0:
			point = i
		default:
			return 0, false
		}
	}
	if point < 0 {
		return float64(digits), len(text) <= maxDigits
	}
	return float64(digits) / powersOfTen[len(text)-1-point], true
}

var powersOfTen = [...]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15}

// scanNumber reads the number that text starts with, one of
//
//	412  14.5  .5  1e-05  1/2  8 1/2  8-1/2  8½  8 ½  ½
//
// and returns what follows it. whole tells a number with neither decimals nor
// a fraction.
func scanNumber(text string, dec Decimal) (value float64, whole bool, rest string, err error) {
	token, rest := cutDecimal(text)
	if token == "" {
		if value, rest, ok := cutVulgar(text); ok {
			return value, false, rest, nil
		}
		return 0, false, text, notNumber()
	}
	if len(token) > maxNumber {
		return 0, false, rest, troublef(ErrNumber, "has more than %d digits: round it", maxNumber)
	}
	value, err = parseDecimal(token, dec)
	if err != nil || !allDigits(token) {
		return value, false, rest, err
	}
	if rest == "" {
		return value, true, rest, nil
	}
	if over, after, ok := cutDenominator(rest); ok {
		if over == 0 {
			return 0, false, rest, troublef(ErrNumber, "divides by zero")
		}
		return value / over, false, after, nil
	}
	part, after, ok := cutVulgar(trimJoint(rest))
	if !ok {
		part, after, ok, err = cutFraction(rest)
	}
	if !ok || err != nil {
		return value, true, rest, err
	}
	return value + part, false, after, nil
}

// maxNumber is how many characters a number may have. The longest that Writer
// writes has 24.
const maxNumber = 40

func notNumber() error {
	return troublef(ErrNumber, "is not a number: write it like 412, 14.5 or 8 1/2")
}

// cutDecimal cuts text after the digits, marks and exponent at its start.
func cutDecimal(text string) (token, rest string) {
	i := 0
	for i < len(text) && (isDigit(text[i]) || text[i] == '.' || text[i] == ',') {
		i++
	}
	if i > 0 && i < len(text) && (text[i] == 'e' || text[i] == 'E') {
		j := i + 1
		if j < len(text) && (text[j] == '-' || text[j] == '+') {
			j++
		}
		if j < len(text) && isDigit(text[j]) {
			for i = j; i < len(text) && isDigit(text[i]); {
				i++
			}
		}
	}
	return text[:i], text[i:]
}

// parseDecimal converts digits with at most one decimal mark and an exponent.
func parseDecimal(token string, dec Decimal) (float64, error) {
	if i := len(leadingDigits(token)); i < len(token) && (token[i] == '.' || token[i] == ',') {
		mark, decimals := token[i], token[i+1:]
		switch {
		case strings.ContainsAny(decimals, ".,"):
			return 0, troublef(ErrNumber, "has more than one mark: write thousands without any, like 1234.5")
		case dec == decimalEither && len(decimals) == 3 && allDigits(decimals):
			return 0, troublef(ErrNumber, "may be %s or %s: say which with --decimal comma or --decimal point",
				token[:i]+decimals, token[:i]+"."+decimals)
		case dec == DecimalComma && mark == '.':
			return 0, troublef(ErrNumber, "has a point, where decimals have a comma (--decimal comma): write it like 14,5")
		case (dec == DecimalPoint || dec == DecimalAuto) && mark == ',':
			return 0, troublef(ErrNumber, "has a comma: write decimals with a point and thousands without a mark, or say --decimal comma")
		case mark == ',':
			token = token[:i] + "." + decimals
		}
	}
	value, err := strconv.ParseFloat(token, 64)
	switch {
	case err == nil:
		return value, nil
	case value != 0:
		return 0, troublef(ErrRange, "is too large")
	}
	return 0, notNumber()
}

// cutDenominator reads "/4" at the start of text.
func cutDenominator(text string) (over float64, rest string, ok bool) {
	after, ok := strings.CutPrefix(text, "/")
	if !ok {
		after, ok = strings.CutPrefix(text, "⁄") // fraction slash
	}
	digits := leadingDigits(after)
	if !ok || digits == "" {
		return 0, text, false
	}
	over, err := strconv.ParseFloat(digits, 64)
	return over, after[len(digits):], err == nil
}

// cutFraction reads the " 1/2" or "-1/2" that follows a whole number.
func cutFraction(text string) (value float64, rest string, ok bool, err error) {
	part := trimJoint(text)
	digits := leadingDigits(part)
	over, rest, ok := cutDenominator(part[len(digits):])
	if !ok || digits == "" || len(part) == len(text) {
		return 0, text, false, nil
	}
	value, err = strconv.ParseFloat(digits, 64)
	if err != nil || value >= over {
		return 0, text, false, troublef(ErrNumber, "has a fraction that is not below 1: write it like 8 1/2")
	}
	return value / over, rest, true, nil
}

// trimJoint drops what may stand between a whole number and its fraction:
// spaces or one hyphen.
func trimJoint(text string) string {
	r, size := utf8.DecodeRuneInString(text)
	switch r {
	case '-', '‐', '‑', '–': // hyphens and the en dash
		return text[size:]
	}
	return trimSpaceLeft(text)
}

// cutVulgar reads a fraction of one character.
func cutVulgar(text string) (value float64, rest string, ok bool) {
	r, size := utf8.DecodeRuneInString(text)
	value = vulgar(r)
	return value, text[size:], value > 0
}

// vulgar returns the value of a fraction character, 0 for any other.
func vulgar(r rune) float64 {
	switch r {
	case '½':
		return 1. / 2
	case '⅓':
		return 1. / 3
	case '⅔':
		return 2. / 3
	case '¼':
		return 1. / 4
	case '¾':
		return 3. / 4
	case '⅕':
		return 1. / 5
	case '⅖':
		return 2. / 5
	case '⅗':
		return 3. / 5
	case '⅘':
		return 4. / 5
	case '⅙':
		return 1. / 6
	case '⅚':
		return 5. / 6
	case '⅐':
		return 1. / 7
	case '⅛':
		return 1. / 8
	case '⅜':
		return 3. / 8
	case '⅝':
		return 5. / 8
	case '⅞':
		return 7. / 8
	case '⅑':
		return 1. / 9
	case '⅒':
		return 1. / 10
	}
	return 0
}

func isDigit(c byte) bool { return '0' <= c && c <= '9' }

func leadingDigits(text string) string {
	i := 0
	for i < len(text) && isDigit(text[i]) {
		i++
	}
	return text[:i]
}

func allDigits(text string) bool { return len(leadingDigits(text)) == len(text) }

func trimSpaceLeft(text string) string {
	if text != "" && text[0] > ' ' && text[0] < utf8.RuneSelf {
		return text
	}
	return strings.TrimLeftFunc(text, unicode.IsSpace)
}

// formatNumber prints x with the fewest digits that read back as x, never with an
// exponent; "" where x is not known.
func formatNumber(x float64) string {
	if !model.Known(x) {
		return ""
	}
	return strconv.FormatFloat(x, 'f', -1, 64)
}

// rounded writes x for a message, to a tenth: a figure converted from ounces
// or inches has no more digits that mean anything.
func rounded(x float64) string {
	return strconv.FormatFloat(math.Round(x*10)/10, 'f', -1, 64)
}
