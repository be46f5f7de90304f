package reference

import (
	"math"
	"strings"
	"testing"
)

// TestTolerance holds worked examples against the table. 250 g and 500 g are
// printed as examples of the rule with limits 241 and 232, 485 and 470 g;
// 454 g is 3 % of itself.
func TestTolerance(t *testing.T) {
	for _, tt := range []struct{ nominalG, want float64 }{
		{25, 2.25}, {50, 4.5}, {75, 4.5}, {150, 6.75}, {250, 9}, {454, 13.62}, {500, 15}, {750, 15},
		{5000, 75}, {12000, 150}, {50000, 500},
	} {
		if got := Tolerance(tt.nominalG); math.Abs(got-tt.want) > 1e-9 {
			t.Errorf("Tolerance(%g) = %g, want %g", tt.nominalG, got, tt.want)
		}
	}
	for _, outside := range []float64{0, -1, 50000.1, math.Inf(1), math.NaN()} {
		if got := Tolerance(outside); !math.IsNaN(got) {
			t.Errorf("Tolerance(%g) = %g, want NaN", outside, got)
		}
	}
}

// TestToleranceIsContinuous: pieces follow each other without a gap and agree
// where they meet.
func TestToleranceIsContinuous(t *testing.T) {
	pieces := Tolerances()
	if first := pieces[0].OverG; first != 0 {
		t.Errorf("table starts at %g g, want 0", first)
	}
	for i, p := range pieces[1:] {
		before := pieces[i]
		if p.OverG != before.UpToG {
			t.Errorf("piece ends at %g g, next starts at %g g", before.UpToG, p.OverG)
		}
		if a, b := before.at(p.OverG), p.at(p.OverG); math.Abs(a-b) > 1e-9 {
			t.Errorf("at %g g: %g g from below, %g g from above", p.OverG, a, b)
		}
	}
}

func TestTolerancePieceIsOneRule(t *testing.T) {
	const header = "over_g,up_to_g,percent,grams,source,status\n"
	for _, row := range []string{"0,50,9,4.5,s,found\n", "0,50,,,s,found\n"} {
		if _, err := parseTolerances(header + row); err == nil || !strings.Contains(err.Error(), "oiml_r87.csv:2: percent") {
			t.Errorf("parseTolerances(%q): error %v, want one about percent", row, err)
		}
	}
}
