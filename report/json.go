package report

import (
	"bufio"
	"bytes"
	"encoding/json"
	"io"
	"iter"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"
)

// writeJSON writes v with two spaces of indent. Text is left as people read
// it (no escapes for HTML); what is not valid UTF-8 becomes U+FFFD.
func writeJSON(w io.Writer, v any) error { return encodeJSON(w, "  ", v) }

// encodeJSON writes v with an indent, "" for all on one line, and a line feed.
// Objects and lists of them are written as they come: the text of a result of
// millions of factors is never in memory.
func encodeJSON(w io.Writer, indent string, v any) error {
	b := bufio.NewWriterSize(w, 1<<16)
	e := newEncoder(b, indent)
	if err := e.value(v); err != nil {
		return err
	}
	b.WriteByte('\n')
	return b.Flush()
}

// sink is what an encoder writes to: memory, or a buffer that keeps its error
// for the end.
type sink interface {
	io.Writer
	io.ByteWriter
}

type encoder struct {
	to      sink
	indent  string
	depth   int
	margin  []byte       // a line feed and the indents of the deepest line so far
	other   bytes.Buffer // what encoding/json makes of a value
	json    *json.Encoder
	scratch []byte
}

func newEncoder(to sink, indent string) *encoder {
	e := &encoder{to: to, indent: indent, margin: []byte("\n")}
	e.json = json.NewEncoder(&e.other)
	e.json.SetEscapeHTML(false)
	return e
}

func (e *encoder) value(v any) error {
	switch v := v.(type) {
	case object:
		return e.object(v)
	case []object:
		return e.list(slices.Values(v))
	case iter.Seq[object]:
		return e.list(v)
	case number:
		e.scratch = v.append(e.scratch[:0])
		_, err := e.to.Write(e.scratch)
		return err
	case int:
		e.scratch = strconv.AppendInt(e.scratch[:0], int64(v), 10)
		_, err := e.to.Write(e.scratch)
		return err
	case string:
		if isPlain(v) {
			e.scratch = append(append(append(e.scratch[:0], '"'), v...), '"')
			_, err := e.to.Write(e.scratch)
			return err
		}
	}
	e.other.Reset()
	if err := e.json.Encode(v); err != nil {
		return err
	}
	text := bytes.TrimSuffix(e.other.Bytes(), []byte("\n"))
	if e.indent != "" && (text[0] == '{' || text[0] == '[') {
		var b bytes.Buffer
		if err := json.Indent(&b, text, strings.Repeat(e.indent, e.depth), e.indent); err != nil {
			return err
		}
		text = b.Bytes()
	}
	_, err := e.to.Write(text)
	return err
}

func (e *encoder) object(o object) error {
	e.to.WriteByte('{')
	e.depth++
	for i, m := range o {
		e.next(i > 0)
		if err := e.value(m.key); err != nil {
			return err
		}
		e.to.WriteByte(':')
		if e.indent != "" {
			e.to.WriteByte(' ')
		}
		if err := e.value(m.value); err != nil {
			return err
		}
	}
	return e.end('}', len(o) > 0)
}

func (e *encoder) list(all iter.Seq[object]) error {
	e.to.WriteByte('[')
	e.depth++
	some := false
	for o := range all {
		e.next(some)
		some = true
		if err := e.object(o); err != nil {
			return err
		}
	}
	return e.end(']', some)
}

// next goes to the place of the next member.
func (e *encoder) next(after bool) {
	if after {
		e.to.WriteByte(',')
	}
	e.line()
}

// end closes what was begun, on a line of its own if there is anything in it.
func (e *encoder) end(with byte, some bool) error {
	e.depth--
	if some {
		e.line()
	}
	return e.to.WriteByte(with)
}

func (e *encoder) line() {
	if e.indent == "" {
		return
	}
	n := 1 + e.depth*len(e.indent)
	for len(e.margin) < n {
		e.margin = append(e.margin, e.indent...)
	}
	e.to.Write(e.margin[:n])
}

// isPlain reports whether text is the same in JSON, between quotes.
func isPlain(text string) bool {
	for i := range len(text) {
		if c := text[i]; c < ' ' || c == '"' || c == '\\' || c >= utf8.RuneSelf {
			return false
		}
	}
	return true
}

// number is a figure in JSON: shortest decimals that read back as the same
// value, null where there is none.
type number float64

func (n number) MarshalJSON() ([]byte, error) { return n.append(nil), nil }

// append appends the figure as encoding/json writes it: as ECMAScript does,
// with an exponent only for what is very large or very small.
func (n number) append(b []byte) []byte {
	x := float64(n)
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return append(b, "null"...)
	}
	if abs := math.Abs(x); abs == 0 || abs >= 1e-6 && abs < 1e21 {
		return strconv.AppendFloat(b, x, 'f', -1, 64)
	}
	b = strconv.AppendFloat(b, x, 'e', -1, 64)
	if n := len(b); n >= 4 && b[n-4] == 'e' && b[n-3] == '-' && b[n-2] == '0' {
		b[n-2] = b[n-1] // 1e-09 to 1e-9
		b = b[:n-1]
	}
	return b
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
	err := newEncoder(&b, "").object(o)
	return b.Bytes(), err
}

// listed returns s, never nil, so that an empty list is [] in JSON.
func listed[T any](s []T) []T {
	if s == nil {
		return []T{}
	}
	return s
}
