package ingest

import (
	"slices"
	"strconv"
	"strings"
	"time"

	"trueplait/model"
)

// cell moves text in and out of one field of a row.
type cell interface {
	// read sets the field from text, which is trimmed and not empty. u is the
	// unit that the header gives, the zero unit where it gives none.
	read(text string, u unit, dec Decimal) error
	// write returns the text of the field, "" where nothing is recorded.
	write() string
	// clear sets the field to not recorded.
	clear()
}

// column is a cell under its name.
type column struct {
	name     string
	cell     cell
	base     unit // what the field is in; the zero unit for anything but a number
	required bool
}

// header is the name under which Writer puts the column.
func (c *column) header() string { return c.name + c.base.suffix() }

func required(c column) column {
	c.required = true
	return c
}

// label is one line of printable text.
func label(name string, field *string) column {
	return column{name: name, cell: &textCell{field: field}}
}

// level is a label that may carry a factor, so words with a meaning of their
// own there are refused.
func level(name string, field *string) column {
	return column{name: name, cell: &textCell{field: field, level: true}}
}

// note is text that may have more than one line.
func note(name string, field *string) column {
	return column{name: name, cell: &textCell{field: field, lines: true}}
}

func date(name string, field *time.Time) column {
	return column{name: name, cell: (*dateCell)(field)}
}

// amount is a number in the unit base, inside limits.
func amount(name string, field *float64, base unit, in limits) column {
	return column{name: name, cell: &amountCell{field, base, in}, base: base}
}

// whole is a count from 1 to most; 0 in the row is not recorded.
func whole(name string, field *int, most int) column {
	return column{name: name, cell: &wholeCell{field, most}}
}

func role(name string, field *model.Role) column {
	return column{name: name, cell: (*roleCell)(field)}
}

type textCell struct {
	field        *string
	lines, level bool
}

func (c *textCell) read(text string, _ unit, _ Decimal) error {
	text, err := cleanText(text, c.lines)
	if err != nil {
		return err
	}
	if c.level && (text == model.NewLevel || text == model.CheckLevel) {
		return troublef(ErrText, "is a reserved word: use another label")
	}
	*c.field = text
	return nil
}

func (c *textCell) write() string { return escape(*c.field) }
func (c *textCell) clear()        { *c.field = "" }

type dateCell time.Time

// firstYear is the oldest year of a date. No log is older, and the zero time,
// which stands for no date, is.
const firstYear = 1900

func (c *dateCell) read(text string, _ unit, _ Decimal) error {
	day, err := time.Parse(time.DateOnly, text)
	switch {
	case err != nil:
		return troublef(ErrDate, "is not a date: write it like 2024-03-31")
	case day.Year() < firstYear:
		return troublef(ErrDate, "is before %d: check the year", firstYear)
	}
	*c = dateCell(day)
	return nil
}

func (c *dateCell) write() string {
	day := time.Time(*c)
	if day.IsZero() {
		return ""
	}
	return day.Format(time.DateOnly)
}

func (c *dateCell) clear() { *c = dateCell{} }

// orInHeader is a remedy that a row typed into a form does not have.
const orInHeader = ", or name the unit in the header"

type amountCell struct {
	field *float64
	base  unit
	in    limits
}

func (c *amountCell) read(text string, u unit, dec Decimal) error {
	if u == (unit{}) && c.base.dimension == model.NoDimension {
		u = c.base
	}
	value, bare, err := parseQuantity(text, dec, c.base)
	switch {
	case err != nil:
		return err
	case bare && u == (unit{}):
		return troublef(ErrUnit, "has no unit: %s"+orInHeader, withUnit(text, c.base))
	case bare:
		if value, err = convert(value, u, c.base); err != nil {
			return err
		}
	}
	if err := c.in.check(value, c.base); err != nil {
		return err
	}
	*c.field = value
	return nil
}

func (c *amountCell) write() string { return formatNumber(*c.field) }
func (c *amountCell) clear()        { *c.field = model.Unknown }

// limits are what a number may be: from least up to max, and zero as well.
type limits struct {
	zero bool
	max  float64
}

// The smallest and the largest amount, in the unit of the field: a microgram
// and a thousand tonnes, a nanometre and a thousand kilometres. No workshop
// comes near, and between them no formula leaves the range of a float64.
const (
	least = 1e-6
	most  = 1e9
)

var (
	positive    = limits{false, most}
	notNegative = limits{true, most}
)

func upTo(max float64) limits { return limits{true, max} }

func (l limits) check(value float64, base unit) error {
	switch {
	case value > l.max:
		return troublef(ErrRange, "is over %s: check it", amountText(l.max, base))
	case value == 0 && !l.zero:
		return troublef(ErrRange, "is zero: leave it blank if it is not known")
	case value > 0 && value < least:
		return troublef(ErrRange, "is below %s: check it", amountText(least, base))
	}
	return nil
}

// amountText is a number with its unit.
func amountText(value float64, u unit) string {
	return strings.TrimSpace(formatNumber(value) + " " + u.symbol)
}

type wholeCell struct {
	field *int
	most  int
}

func (c *wholeCell) read(text string, _ unit, _ Decimal) error {
	n, err := strconv.Atoi(text)
	switch {
	case !allDigits(text):
		return troublef(ErrNumber, "is not a whole number from 1 on")
	case err != nil || n > c.most:
		return troublef(ErrRange, "is over %d: check it", c.most)
	case n == 0:
		return troublef(ErrRange, "is zero: leave it blank if there is none")
	}
	*c.field = n
	return nil
}

func (c *wholeCell) write() string {
	if *c.field == 0 {
		return ""
	}
	return strconv.Itoa(*c.field)
}

func (c *wholeCell) clear() { *c.field = 0 }

type roleCell model.Role

func (c *roleCell) read(text string, _ unit, _ Decimal) error {
	role := model.Role(strings.ToLower(text))
	if !slices.Contains(model.Roles, role) {
		names := make([]string, len(model.Roles))
		for i, r := range model.Roles {
			names[i] = string(r)
		}
		return troublef(ErrText, "is not a role: use %s", strings.Join(names, ", "))
	}
	*c = roleCell(role)
	return nil
}

func (c *roleCell) write() string { return string(*c) }
func (c *roleCell) clear()        { *c = "" }
