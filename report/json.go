package report

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"math"
	"time"
)

// writeJSON writes v with two spaces of indent. Text is left as people read
// it (no escapes for HTML); what is not valid UTF-8 becomes U+FFFD.
func writeJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(v)
}

// number is a figure in JSON: shortest decimals that read back as the same
// value, null where there is none.
type number float64

func (n number) MarshalJSON() ([]byte, error) {
	if x := float64(n); math.IsNaN(x) || math.IsInf(x, 0) {
		return []byte("null"), nil
	}
	return json.Marshal(float64(n))
}

// day is a date in JSON: YYYY-MM-DD, null where there is none.
type day time.Time

func (d day) MarshalJSON() ([]byte, error) {
	t := time.Time(d)
	if t.IsZero() {
		return []byte("null"), nil
	}
	return json.Marshal(t.Format(time.DateOnly))
}

// object is a JSON object whose keys depend on the data, in a fixed order.
type object []member

type member struct {
	key   string
	value any
}

func (o object) MarshalJSON() ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	err := o.encode(&b, e)
	return b.Bytes(), err
}

// encode writes the object to b, which e writes to. Objects inside it are
// written in the same go: the encoder would read each level again.
func (o object) encode(b *bytes.Buffer, e *json.Encoder) error {
	b.WriteByte('{')
	for i, m := range o {
		if i > 0 {
			b.WriteByte(',')
		}
		if err := e.Encode(m.key); err != nil {
			return err
		}
		b.WriteByte(':')
		var err error
		switch v := m.value.(type) {
		case object:
			err = v.encode(b, e)
		case []object:
			b.WriteByte('[')
			for j, inner := range v {
				if j > 0 {
					b.WriteByte(',')
				}
				err = errors.Join(err, inner.encode(b, e))
			}
			b.WriteByte(']')
		default:
			err = e.Encode(v)
		}
		if err != nil {
			return err
		}
	}
	b.WriteByte('}')
	return nil
}

// listed returns s, never nil, so that an empty list is [] in JSON.
func listed[T any](s []T) []T {
	if s == nil {
		return []T{}
	}
	return s
}
