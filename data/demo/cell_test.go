package demo

import (
	"math"
	"testing"
)

// TestCells: what is written and what it says, in g and mm, agree. An ounce is
// 28.349523125 g, a grain 0.06479891 g, an inch 25.4 mm (NIST SP 811).
func TestCells(t *testing.T) {
	for _, tt := range []struct {
		got  cell
		text string
		want float64
	}{
		{grams(411.6), "412 g", 412},
		{tenthGrams(60.04), "60.0 g", 60},
		{ounces(412), "14 1/2 oz", 14.5 * 28.349523125},
		{ounces(397), "14 oz", 14 * 28.349523125},
		{ounces(404), "14 1/4 oz", 14.25 * 28.349523125},
		{poundsOunces(552), "1 lb 3 1/2 oz", 19.5 * 28.349523125},
		{poundsOunces(461), "1 lb 1/4 oz", 16.25 * 28.349523125},
		{poundsOunces(453), "1 lb", 453.59237},
		{poundsOunces(284), "10 oz", 10 * 28.349523125},
		{tenthOunces(412), "14.5 oz", 14.5 * 28.349523125},
		{hundredthOunces(57.3), "2.02 oz", 2.02 * 28.349523125},
		{grains(57.3), "884 grain", 884 * 0.06479891},
		{millimetres(1863.7), "1864 mm", 1864},
		{centimetres(1863.7), "186.4 cm", 1864},
		{inches(1863.7), "73 3/8 in", 1863.725},
		{inches(1867), "73 1/2 in", 1866.9},
		{inchMarks(1863.7), `73-3/8"`, 1863.725},
		{inchMarks(8), `3/8"`, 9.525},
		{feetInches(1863.7), `6' 1 3/8"`, 1863.725},
		{feetInches(1829), `6' 0"`, 1828.8},
		{feetInches(203), `0' 8"`, 203.2},
	} {
		if tt.got.text != tt.text || math.Abs(tt.got.value-tt.want) > 1e-9 {
			t.Errorf("wrote %q for %g, want %q for %g", tt.got.text, tt.got.value, tt.text, tt.want)
		}
	}
}
