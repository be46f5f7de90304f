package ingest

import (
	"bytes"
	"encoding/csv"
	"errors"
	"slices"
	"strings"
	"testing"

	"trueplait/model"
)

// FuzzHeader reads headers, one a line of the fuzzed text. Each is tied to one
// column in a unit of its dimension, or is a problem that quotes it; none is
// passed over in silence. How a header is written does not matter, nor in what
// order they stand.
func FuzzHeader(f *testing.F) {
	for _, seed := range []string{
		"build\ndate\nmaker\nproduct\nweight_g",
		"Build\nDATE\n Maker \nproduct\nWeight (oz)\nPredicted-Weight [lb]\nhumidity %",
		"fill\ndate\ncore_batch\nfilled length/in\nshot_mass_grain\nshot mass",
		"product\npart\nrole\ndensity (g/cm³)\nmass_per_length_oz/ft\ndrop_angle°\nsheath angle deg",
		"check\ndate\nstrand_batch\nchecked_length.m.\nchecked_mass_gr\nweigth",
		"build\nfill\nproduct", "product\n\n\nproduct", "bu\u200bild\n\u202edate\n\xff\n\x00", "wei\"ght,\n'=build\n＝build", "",
	} {
		f.Add(seed, false)
		f.Add(seed, true)
	}
	f.Fuzz(func(t *testing.T, text string, ignoreUnknown bool) {
		if len(text) > maxRecord/4 {
			t.Skip()
		}
		headers := strings.Split(text, "\n")
		for _, h := range headers {
			if name := normalise(h); normalise(name) != name || strings.HasPrefix(name, "_") || strings.HasSuffix(name, "_") {
				t.Fatalf("%q is %q, and that %q", h, name, normalise(name))
			}
		}
		inputs, problems := readHeaders(t, headers, ignoreUnknown)
		if strings.ContainsAny(text, "\r\x00") {
			return // a \r goes before a line feed, and a file that starts with NUL is taken for UTF-16
		}
		slices.Reverse(headers)
		other, more := readHeaders(t, headers, ignoreUnknown)
		if len(inputs) != len(other) || (problems == nil) != (more == nil) {
			t.Fatalf("%q: got %v and %v, backwards %v and %v", headers, inputs, problems, other, more)
		}
	})
}

// readHeaders reads a header and checks what became of it: the columns found,
// or the problems.
func readHeaders(t *testing.T, headers []string, ignoreUnknown bool) ([]input, Problems) {
	var file bytes.Buffer
	for i, h := range headers {
		if i > 0 {
			file.WriteByte(',')
		}
		file.WriteString(quoted(h))
	}
	file.WriteByte('\n')
	r, err := NewReader(bytes.NewReader(file.Bytes()), "x.csv", Options{IgnoreUnknown: ignoreUnknown})
	if problems := (Problems)(nil); errors.As(err, &problems) {
		for _, p := range problems {
			if p.Line != 1 || p.File != "x.csv" {
				t.Fatalf("%q: %+v, want it on line 1", headers, *p)
			}
			mustBeVisible(t, p)
		}
		return nil, problems
	}
	if err != nil {
		t.Fatalf("%q: %v (%T), want Problems", headers, err, err)
	}
	given, err := csv.NewReader(bytes.NewReader(file.Bytes())).Read()
	if err != nil {
		t.Fatal(err)
	}
	if len(r.inputs) > len(given) || !ignoreUnknown && len(r.inputs) < len(given) {
		t.Fatalf("%q: %d columns of %d headers", headers, len(r.inputs), len(given))
	}
	seen := map[string]bool{}
	for _, in := range r.inputs {
		name := normalise(given[in.at])
		if seen[in.name] || in.given != given[in.at] || !strings.HasPrefix(name, in.name) {
			t.Fatalf("%q is taken for the column %s", given[in.at], in.name)
		}
		seen[in.name] = true
		if in.unit != (unit{}) && in.unit.dimension != in.base.dimension {
			t.Fatalf("%q: %s in %s", given[in.at], in.name, in.unit.symbol)
		}
		if (in.unit == unit{}) != (name == in.name) {
			t.Fatalf("%q: the unit %q for %q", given[in.at], in.unit.symbol, strings.TrimPrefix(name, in.name))
		}
	}
	for _, c := range Columns(r.Kind()) {
		if c.Required && !seen[c.Name] {
			t.Fatalf("%q: %s are read without the column %s", headers, r.Kind(), c.Name)
		}
	}
	if r.Kind() == model.Products && (seen["part"] || seen["build"]) {
		t.Fatalf("%q are read as products", headers)
	}
	return r.inputs, nil
}

// mustBeVisible fails where a message holds what a terminal acts on or does
// not show, or is longer than anyone reads.
func mustBeVisible(t fataler, err error) {
	t.Helper()
	const longest = 5000 // bytes: a dozen sheets named, every character of them escaped
	text := err.Error()
	if at := strings.IndexFunc(text, hidden); at >= 0 {
		t.Fatalf("the message %q is not fit for a terminal", text)
	}
	if len(text) > longest {
		t.Fatalf("the message has %d bytes: %.100s…", len(text), text)
	}
}
