package ingest

import (
	"fmt"
	"math"
	"strings"
	"unicode"
	"unicode/utf8"

	"trueplait/model"
)

// ParseMass returns the grams of an amount with its unit, such as 412 g,
// 14.5 oz or 1 lb 3 1/2 oz. It is for single amounts, as in options and forms.
//
// The error is about ErrUnit where there is no unit or one that does not
// weigh, ErrNumber where text is no number or could be read as two, ErrRange
// where the mass is not above zero or more than anyone weighs.
func ParseMass(text string, dec Decimal) (grams float64, err error) {
	return parseSingle(text, dec, gram)
}

// ParseLength returns the millimetres of an amount with its unit, such as
// 300 mm, 8-1/2", 6 ft 2 in or 6' 2". Errors are those of [ParseMass].
func ParseLength(text string, dec Decimal) (mm float64, err error) {
	return parseSingle(text, dec, millimetre)
}

func parseSingle(text string, dec Decimal, base unit) (float64, error) {
	text = strings.TrimSpace(text)
	value, bare, err := parseQuantity(text, dec, base)
	if err == nil && bare {
		err = troublef(ErrUnit, "has no unit: %s", withUnit(text, base))
	}
	if err == nil {
		err = positive.check(value, base)
	}
	if err != nil {
		return 0, fmt.Errorf("%s %w", quote(text), err)
	}
	return value, nil
}

// parseQuantity returns an amount in the unit base. bare tells that text,
// which is trimmed, names no unit; then value is the number as it stands.
func parseQuantity(text string, dec Decimal, base unit) (value float64, bare bool, err error) {
	if dec == DecimalAuto || dec == DecimalPoint {
		if value, ok := shortDecimal(text); ok {
			return value, true, nil
		}
	}
	if isNegative(text) {
		return 0, false, troublef(ErrRange, "is negative: leave it blank if it is not known")
	}
	first, rest, err := scanTerm(text, dec, base)
	switch {
	case err != nil:
		return 0, false, err
	case rest != "":
		value, err = parseCompound(text, first, rest, dec, base)
		return value, false, err
	case first.unit == (unit{}):
		return first.value, true, nil
	}
	value, err = convert(first.value, first.unit, base)
	return value, false, err
}

// parseCompound adds inches to feet or ounces to pounds.
func parseCompound(text string, first term, rest string, dec Decimal, base unit) (float64, error) {
	small, inFirst, mark := unit{}, 0., ""
	switch first.unit {
	case foot:
		small, inFirst, mark = inch, 12, `"`
	case pound:
		small, inFirst, mark = ounce, 16, " oz"
	}
	switch {
	case isNegative(rest), startsNumber(rest) && small == (unit{}):
		return 0, twoNumbers()
	case !startsNumber(rest):
		return 0, troublef(ErrNumber, "goes on with %s after the amount: put remarks into the note", quote(rest))
	}
	second, rest, err := scanTerm(rest, dec, base)
	switch {
	case err != nil:
		return 0, err
	case rest != "":
		return 0, twoNumbers()
	case second.unit == (unit{}) && small == inch:
		return 0, troublef(ErrUnit, "has no inch mark: write %s%s", oneSpaced(text), mark)
	case second.unit == (unit{}):
		return 0, troublef(ErrUnit, "has no unit at the end: write %s%s", oneSpaced(text), mark)
	case second.unit != small:
		return 0, troublef(ErrUnit, "mixes %s with %s: write one number and one unit", first.unit.symbol, second.unit.symbol)
	case !first.whole:
		return 0, troublef(ErrNumber, "has a fraction of a %s and %s as well: write one of them", first.unit.symbol, small.symbol)
	case second.value >= inFirst:
		return 0, troublef(ErrNumber, "has %s %s, which is a whole %s or more: check it",
			formatNumber(second.value), small.symbol, first.unit.symbol)
	}
	return convert(first.value*inFirst+second.value, small, base)
}

// convert returns an amount of unit u in the unit base, which is u or one that
// package model uses.
func convert(value float64, u, base unit) (float64, error) {
	if u != base {
		value = value * u.over / u.under
	}
	if math.IsInf(value, 0) {
		return 0, troublef(ErrRange, "is too large: check it")
	}
	return value, nil
}

// term is one number with the unit behind it; the zero unit where there is
// none.
type term struct {
	value float64
	whole bool
	unit  unit
}

// scanTerm reads the number and unit that text starts with and returns what
// follows them, without leading space.
func scanTerm(text string, dec Decimal, base unit) (t term, rest string, err error) {
	t.value, t.whole, rest, err = scanNumber(text, dec)
	if err != nil {
		return t, rest, err
	}
	rest = trimSpaceLeft(rest)
	if rest == "" {
		return t, "", nil
	}
	name, rest := cutUnit(rest)
	if name == "" {
		return t, rest, twoNumbers()
	}
	u, ok := unitNamed(strings.ToLower(name))
	switch {
	case !ok && (name[0] == 'x' || name[0] == 'X') && strings.HasPrefix(text, "0"+name[:1]):
		return t, rest, troublef(ErrNumber, "is not a decimal number: write it like 412, 14.5 or 8 1/2")
	case !ok || u.dimension != base.dimension:
		return t, rest, wrongUnit(name, base.dimension)
	}
	t.unit = u
	return t, trimSpaceLeft(rest), nil
}

// cutUnit cuts text after the unit at its start: marks of feet, inches,
// degrees or per cent, or a word, which may hold a slash ("g/cm3") and end in
// a full stop ("oz.").
func cutUnit(text string) (name, rest string) {
	for _, mark := range []string{"''", "′′", "’’", `"`, "″", "”", "'", "′", "’", "%", "°"} {
		if rest, ok := strings.CutPrefix(text, mark); ok {
			return mark, rest
		}
	}
	i := wordLength(text)
	if i > 0 && i < len(text) && text[i] == '/' {
		if j := wordLength(text[i+1:]); j > 0 {
			i += 1 + j
			for _, power := range []string{"3", "³", "2", "²"} {
				if strings.HasPrefix(text[i:], power) {
					i += len(power)
					break
				}
			}
		}
	}
	name, rest = text[:i], text[i:]
	if name != "" {
		rest = strings.TrimPrefix(rest, ".")
	}
	return name, rest
}

// wordLength is the number of bytes of letters at the start of text.
func wordLength(text string) int {
	for i, r := range text {
		if !unicode.IsLetter(r) {
			return i
		}
	}
	return len(text)
}

// isNegative reports whether text is a number with a minus sign.
func isNegative(text string) bool {
	r, size := utf8.DecodeRuneInString(text)
	return (r == '-' || r == '−') && startsNumber(trimSpaceLeft(text[size:]))
}

// startsNumber reports whether a number begins text.
func startsNumber(text string) bool {
	if text == "" {
		return false
	}
	r, _ := utf8.DecodeRuneInString(text)
	return isDigit(text[0]) || text[0] == '.' || text[0] == ',' || text[0] == '/' || vulgar(r) > 0
}

// withUnit spells the remedy for a number without a unit.
func withUnit(text string, base unit) string {
	text = oneSpaced(text)
	remedy := fmt.Sprintf(`write "%s %s"`, text, base.symbol)
	switch base.dimension {
	case model.MassDimension:
		remedy += fmt.Sprintf(` or "%s oz"`, text)
	case model.LengthDimension:
		remedy += fmt.Sprintf(` or "%s in"`, text)
	}
	return remedy
}

// oneSpaced puts an ordinary space for every run of spaces of any kind, so
// that a message can repeat text, or the start of it.
func oneSpaced(text string) string { return clip(strings.Join(strings.Fields(text), " ")) }

func twoNumbers() error {
	return troublef(ErrNumber, `could be read in two ways: write one number, like 1234.5 or 8 1/2, or 6' 2" or 1 lb 3 oz`)
}
