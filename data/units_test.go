package data

import (
	"strings"
	"testing"
)

func TestUnits(t *testing.T) {
	l := newLog(t)
	tests := []struct {
		maker, units, says string
	}{
		{"ann", "imperial", ""},
		{"ann", "both", ""},
		{"ann", "Metric", `"Metric"`},
		{"ann", "", `both, metric or imperial`},
		{"bob", "metric", ""},
		{"Ann", "imperial", ""}, // another maker
		{"", "metric", "name the maker"},
	}
	if units, err := l.Units(t.Context()); err != nil || len(units) != 0 {
		t.Errorf("units of an empty log: %v, %v", units, err)
	}
	for _, tt := range tests {
		err := l.SetUnits(t.Context(), tt.maker, tt.units, noon)
		if (err == nil) != (tt.says == "") || err != nil && !strings.Contains(err.Error(), tt.says) {
			t.Errorf("SetUnits(%q, %q): %v, want %q", tt.maker, tt.units, err, tt.says)
		}
	}
	got, err := l.Units(t.Context())
	if d := diff(map[string]string{"ann": "both", "bob": "metric", "Ann": "imperial"}, got); err != nil || d != "" {
		t.Errorf("units, %v (-want +got):\n%s", err, d)
	}
}
