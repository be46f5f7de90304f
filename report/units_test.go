package report

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"trueplait/model"
)

// Conversions: 1 oz = 28.349523125 g, 1 in = 25.4 mm (NIST SP 811, B.8).
func TestMass(t *testing.T) {
	tests := []struct {
		g    float64
		u    Units
		want string
	}{
		{411, Both, "411 g (14 1/2 oz)"},
		{411, "", "411 g (14 1/2 oz)"},
		{411, Metric, "411 g"},
		{411, Imperial, "14 1/2 oz"},
		{41.2, Both, "41.2 g (1 1/2 oz)"},
		{99.94, Metric, "99.9 g"},
		{99.96, Metric, "100 g"},
		{28.349523125, Imperial, "1 oz"},
		{7.97 * 28.349523125, Imperial, "8 oz"}, // carries into the next ounce
		{7.93 * 28.349523125, Imperial, "7 7/8 oz"},
		{8 * 28.349523125 / 16, Imperial, "1/2 oz"},
		{31.97 * 28.349523125, Imperial, "2 lb"}, // carries into pounds
		{31.8 * 28.349523125, Imperial, "31 3/4 oz"},
		{907.18474, Both, "907 g (2 lb)"},
		{1000, Imperial, "2 lb 3 1/4 oz"},
		{47.99 * 28.349523125, Imperial, "3 lb"},
		{453592.37, Imperial, "1000 lb"}, // where 28.35 g an ounce would show
		{0, Both, "0.0 g (0 oz)"},
		{1.2, Both, "1.2 g (under 1/8 oz)"},
		{-26, Both, "−26.0 g (−7/8 oz)"},
		{-0.01, Metric, "0.0 g"},
		{math.NaN(), Both, "–"},
		{math.Inf(1), Both, "–"},
		{math.Inf(-1), Imperial, "–"},
	}
	for _, c := range tests {
		if got := Mass(c.g, c.u); got != c.want {
			t.Errorf("Mass(%v, %q) = %q, want %q", c.g, c.u, got, c.want)
		}
	}
}

func TestLength(t *testing.T) {
	tests := []struct {
		mm   float64
		u    Units
		want string
	}{
		{1869, Both, "1869 mm (73 5/8 in)"},
		{1869, Metric, "1869 mm"},
		{25.4, Imperial, "1 in"},
		{304.8, Imperial, "12 in"},
		{2438.4, Both, "2438 mm (96 in)"},
		{25.4 * 11.96, Imperial, "12 in"},
		{25.4 * 11.9, Imperial, "11 7/8 in"},
		{304800, Imperial, "12000 in"},
		{3.2, Both, "3.2 mm (1/8 in)"},
		{1, Both, "1.0 mm (under 1/8 in)"},
		{-12.7, Both, "−12.7 mm (−1/2 in)"},
		{math.NaN(), Metric, "–"},
	}
	for _, c := range tests {
		if got := Length(c.mm, c.u); got != c.want {
			t.Errorf("Length(%v, %q) = %q, want %q", c.mm, c.u, got, c.want)
		}
	}
}

// What is printed in eighths is never further from the truth than half an
// eighth.
func TestEighthsAreNearest(t *testing.T) {
	eighths := map[string]float64{"1/8": 1, "1/4": 2, "3/8": 3, "1/2": 4, "5/8": 5, "3/4": 6, "7/8": 7}
	rapid.Check(t, func(t *rapid.T) {
		mm := rapid.Float64Range(2, 20000).Draw(t, "mm")
		var whole, sum float64
		for _, word := range strings.Fields(inches(mm)) {
			if e, ok := eighths[word]; ok {
				sum += e
			} else if word != "in" {
				var err error
				if whole, err = strconv.ParseFloat(word, 64); err != nil {
					t.Fatal(err)
				}
			}
		}
		if off := math.Abs(mm/model.MMPerInch - (whole + sum/8)); off > 1.0/16+1e-9 {
			t.Errorf("inches(%v) = %q, off by %v in", mm, inches(mm), off)
		}
	})
}
