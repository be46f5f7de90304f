package ingest

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"trueplait/model"
)

// The columns listed are those that an export has, in its order, and a file
// needs those that are required.
func TestColumns(t *testing.T) {
	for _, kind := range model.Kinds {
		columns := Columns(kind)
		var b bytes.Buffer
		w, err := NewWriter(&b, kind)
		if err != nil {
			t.Fatal(err)
		}
		if err := w.Flush(); err != nil {
			t.Fatal(err)
		}
		headers := strings.Split(strings.TrimSpace(b.String()), ",")
		if len(headers) != len(columns) {
			t.Fatalf("Columns(%s) lists %d, an export has %d", kind, len(columns), len(headers))
		}
		var needed []string
		for i, c := range columns {
			if !strings.HasPrefix(headers[i], c.Name) {
				t.Errorf("Columns(%s)[%d] = %s, an export has %s", kind, i, c.Name, headers[i])
			}
			if (c.Of != model.NoDimension) != (headers[i] != c.Name) && c.Of != model.AngleDimension {
				t.Errorf("Columns(%s): %s has dimension %v, and %s in an export", kind, c.Name, c.Of, headers[i])
			}
			if c.Required {
				needed = append(needed, headers[i])
			}
		}
		if _, err := NewReader(strings.NewReader(strings.Join(needed, ",")+"\n"), "f.csv", Options{}); err != nil {
			t.Errorf("%s with the required columns alone: %v", kind, err)
		}
		if _, err := NewReader(strings.NewReader(strings.Join(needed[1:], ",")+"\n"), "f.csv", Options{}); err == nil {
			t.Errorf("%s without %s is taken", kind, needed[0])
		}
	}
}

// An amount is read by itself as in its column: what a column takes, and what it
// refuses, without the remedy that only a file has.
func TestParseAmount(t *testing.T) {
	for _, tt := range []struct {
		column, text string
		want         float64
		refused      string
	}{
		{"weight", "14 1/2 oz", 411.07, ""},
		{"strand_left", "0 mm", 0, ""},
		{"length", "0 mm", 0, "is zero"},
		{"filled_length", " 6 in ", 152.4, ""},
		{"weight", "14.5", 0, `has no unit: write "14.5 g" or "14.5 oz"`},
		{"weight", "6 ft", 0, "ft"},
	} {
		got, _, ok, err := ParseAmount(tt.column, tt.text)
		switch {
		case !ok:
			t.Errorf("ParseAmount(%q, %q) knows no such column", tt.column, tt.text)
		case tt.refused == "" && (err != nil || math.Abs(got-tt.want) > 0.01):
			t.Errorf("ParseAmount(%q, %q) = %v, %v, want %v", tt.column, tt.text, got, err, tt.want)
		case tt.refused != "" && (err == nil || !strings.Contains(err.Error(), tt.refused) || strings.Contains(err.Error(), "header")):
			t.Errorf("ParseAmount(%q, %q) is refused with %v, want %q", tt.column, tt.text, err, tt.refused)
		}
	}
	for _, column := range []string{"note", "humidity", "shot_factor", "colour"} {
		if _, _, ok, _ := ParseAmount(column, "1 g"); ok {
			t.Errorf("%s is taken for a mass or a length", column)
		}
	}
}
