package reference

import (
	"math"
	"strings"
	"testing"
)

// TestTablesLoad reads every embedded table whole: the loaders panic on a
// malformed one.
func TestTablesLoad(t *testing.T) {
	for _, tt := range []struct {
		name        string
		rows, lines int
	}{
		{"shot_sizes.csv", len(ShotSizes()), strings.Count(shotSizesCSV, "\n")},
		{"densities.csv", len(Densities()), strings.Count(densitiesCSV, "\n")},
		{"packing.csv", len(Packings()), strings.Count(packingCSV, "\n")},
		{"cord.csv", len(Cords()), strings.Count(cordCSV, "\n")},
		{"oiml_r87.csv", len(Tolerances()), strings.Count(oimlR87CSV, "\n")},
	} {
		if tt.rows != tt.lines-1 {
			t.Errorf("%s: %d rows from %d lines", tt.name, tt.rows, tt.lines)
		}
	}
}

func TestMalformedTable(t *testing.T) {
	const header = "size,diameter_in,lead_per_oz,steel_per_oz,note,source,status\n"
	for _, tt := range []struct{ name, text, want string }{
		{"empty", "", "EOF"},
		{"other header", "size,diameter\n9,0.08\n", `header is "size,diameter"`},
		{"missing cell", header + "9,0.080,585\n", "wrong number of fields"},
		{"not a number", header + "9,o.080,585,,,s,found\n", `shot_sizes.csv:2: diameter_in: "o.080" is not a number`},
		{"blank number", header + "9,,585,,,s,found\n", `diameter_in: "" is not a number`},
		{"not finite", header + "9,NaN,585,,,s,found\n", `diameter_in: "NaN" is not a number`},
		{"negative", header + "9,0.080,-585,,,s,found\n", `lead_per_oz: "-585" is not a number`},
		{"no source", header + "8,0.090,,,,s,found\n9,0.080,585,,,,found\n", `shot_sizes.csv:3: source: "" is blank`},
		{"open quote", header + "9,0.080,585,,\"x,s,found\n", "quote"},
	} {
		rows, err := parseShotSizes(tt.text)
		if err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: error %v, want one with %q", tt.name, err, tt.want)
		}
		if rows != nil {
			t.Errorf("%s: rows %v came with the error", tt.name, rows)
		}
	}
}

func near(got, want, relative float64) bool {
	return math.Abs(got-want) <= relative*math.Abs(want)
}
