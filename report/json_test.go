package report

import (
	"bytes"
	"encoding/json"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// Figures are written as encoding/json writes them.
func TestNumber_AsEncodingJSON(t *testing.T) {
	check := func(t rapid.TB, x float64) {
		want, err := json.Marshal(x)
		if err != nil {
			want = []byte("null")
		}
		if got, _ := number(x).MarshalJSON(); !bytes.Equal(got, want) {
			t.Errorf("%v is %s, want %s", x, got, want)
		}
	}
	for _, x := range []float64{0, math.Copysign(0, -1), 1e-6, 9.99e-7, 1e-9, 1.5e-10, 1e-100, 1e20, 1e21, 1.25e22, math.MaxFloat64, math.SmallestNonzeroFloat64, math.NaN(), math.Inf(-1)} {
		check(t, x)
	}
	rapid.Check(t, func(t *rapid.T) { check(t, rapid.Float64().Draw(t, "x")) })
}

// Text is written as encoding/json writes it, but for the escapes of HTML.
func TestEncodeJSON_Text(t *testing.T) {
	check := func(t rapid.TB, text string) {
		var got, want bytes.Buffer
		e := json.NewEncoder(&want)
		e.SetEscapeHTML(false)
		if err := e.Encode(text); err != nil {
			t.Fatal(err)
		}
		if err := encodeJSON(&got, "", text); err != nil || got.String() != want.String() {
			t.Errorf("%q is %s, want %s (%v)", text, &got, &want, err)
		}
	}
	for _, text := range []string{"", "Arlo", "8 ft", `6'2"`, `a\b`, "a\tb", "\x1f", "\x7f", "<&>", "½", "\u2028", "\xff"} {
		check(t, text)
	}
	rapid.Check(t, func(t *rapid.T) { check(t, rapid.String().Draw(t, "text")) })
}

// What is written as it comes is what encoding/json makes of the whole, on one
// line and indented.
func TestEncodeJSON_AsEncodingJSON(t *testing.T) {
	inner := object{{"a <b>", number(0.5)}, {"empty", object{}}, {"none", []object{}}, {"text", "\u2028 \"&"}, {"nothing", nil}}
	v := object{{"list", []object{inner, {}, inner}}, {"stream", slices.Values([]object{inner, inner})}, {"other", []string{"x", "y"}},
		{"map", map[string]any{"k": inner}}, {"n", 3}}
	same := map[string]any{}
	var line, indented, want bytes.Buffer
	if err := encodeJSON(&line, "", v); err != nil {
		t.Fatal(err)
	}
	if err := writeJSON(&indented, v); err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(line.Bytes(), &same); err != nil || len(same) != len(v) {
		t.Fatalf("%s: %v", line.Bytes(), err)
	}
	if err := json.Indent(&want, line.Bytes(), "", "  "); err != nil {
		t.Fatal(err)
	}
	if indented.String() != want.String() {
		t.Errorf("indented:\n%s\nwant:\n%s", indented.String(), want.String())
	}
	if bytes.Count(line.Bytes(), []byte("\n")) != 1 {
		t.Errorf("not one line: %q", line.Bytes())
	}
}
