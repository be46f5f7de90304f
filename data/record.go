package data

import (
	"database/sql/driver"
	"fmt"
	"math"
	"slices"
	"strconv"
	"time"
	"unicode/utf8"

	"trueplait/model"
)

// record is one row between Go and SQL: a value of its kind, and its columns
// as pointers into that value, in the order of the kind's queries. It is filled
// and emptied over and over, so that a million rows need one.
type record struct {
	fields []field
	origin *model.Origin
	load   func(model.Row) bool // copies a row in; false: it is of another kind
	row    func() model.Row     // a copy of what is in
}

// newRecord makes a record of value; columns lists the fields of what it is
// given.
func newRecord[T any, P interface {
	*T
	model.Row
}](origin func(P) *model.Origin, columns func(P) []field) *record {
	value := P(new(T))
	return &record{
		fields: columns(value),
		origin: origin(value),
		load: func(r model.Row) bool {
			from, ok := r.(P)
			if ok {
				*value = *from
			}
			return ok
		},
		row: func() model.Row {
			out := P(new(T))
			*out = *value
			return out
		},
	}
}

// staged returns the fields and the line, as they are loaded.
func (r *record) staged() []field {
	return append(slices.Clone(r.fields), field{"line", &r.origin.Line})
}

// added returns the fields, the line and the number of the source, as they are
// added to the log.
func (r *record) added(source *int) []field {
	return append(r.staged(), field{"source", source})
}

// scanners returns the fields, then the extra targets, for Rows.Scan.
func (r *record) scanners(extra ...any) []any {
	out := make([]any, 0, len(r.fields)+len(extra))
	for i := range r.fields {
		out = append(out, &r.fields[i])
	}
	return append(out, extra...)
}

// field is a column of a record: a pointer to a string, float64, int, int64 or
// time.Time. What is blank there ("", NaN, 0, the zero time) is NULL in SQL.
type field struct {
	name string
	ptr  any
}

// Scan implements [sql.Scanner].
func (f *field) Scan(src any) error {
	switch p := f.ptr.(type) {
	case *string:
		*p, _ = src.(string)
	case *float64:
		*p = model.Unknown
		if x, ok := src.(float64); ok {
			*p = x
		}
	case *int:
		*p = 0
		switch x := src.(type) {
		case int32:
			*p = int(x)
		case int64:
			*p = int(x)
		}
	case *int64:
		*p, _ = src.(int64)
	case *time.Time:
		*p, _ = src.(time.Time)
	default:
		return fmt.Errorf("data: column %s: no way to read a %T", f.name, f.ptr)
	}
	return nil
}

// value is what goes into SQL. Text that is not UTF-8 would be stored as NULL
// without a word, and no shop measures infinity: both are errors.
func (f *field) value() (driver.Value, error) {
	switch p := f.ptr.(type) {
	case *string:
		if !utf8.ValidString(*p) {
			return nil, fmt.Errorf("%s: %q is not UTF-8 text", f.name, *p)
		}
		if *p != "" {
			return *p, nil
		}
	case *float64:
		if math.IsInf(*p, 0) {
			return nil, fmt.Errorf("%s: %v is not a figure", f.name, *p)
		}
		if model.Known(*p) {
			return *p, nil
		}
	case *int:
		if *p > math.MaxInt32 || *p < math.MinInt32 {
			return nil, fmt.Errorf("%s: %d is out of range", f.name, *p)
		}
		if *p != 0 {
			return int32(*p), nil
		}
	case *int64:
		if *p != 0 {
			return *p, nil
		}
	case *time.Time:
		if !p.IsZero() {
			return *p, nil
		}
	}
	return nil, nil
}

// text is the value as shown in a message, "" where blank.
func (f *field) text() string {
	v, err := f.value()
	if v == nil || err != nil {
		return ""
	}
	switch v := v.(type) {
	case float64:
		return strconv.FormatFloat(v, 'g', -1, 64)
	case time.Time:
		return v.Format(time.DateOnly)
	}
	return fmt.Sprint(v)
}

// sqlType is the column's type.
func (f *field) sqlType() string {
	switch f.ptr.(type) {
	case *float64:
		return "double precision"
	case *int:
		return "integer"
	case *int64:
		return "bigint"
	case *time.Time:
		return "date"
	}
	return "text"
}
