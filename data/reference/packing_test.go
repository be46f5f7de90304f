package reference

import (
	"math"
	"strconv"
	"strings"
	"testing"
)

// TestPackingFormulas recomputes every row whose structure is exact, and those
// of two published models, from the formulas.
func TestPackingFormulas(t *testing.T) {
	counts := map[string]int{}
	for _, p := range Packings() {
		kind, n, _ := strings.Cut(p.Kind, "layers of ")
		var want float64
		switch {
		case n != "":
			layers, err := strconv.ParseFloat(n, 64)
			if err != nil {
				t.Fatalf("kind %q: %v", p.Kind, err)
			}
			if r := 1 + 1/math.Sin(math.Pi/layers); kind == "exact " && !near(p.Ratio, r, 1e-6) {
				t.Errorf("%s: ratio %g, want %g", p.Kind, p.Ratio, r)
			}
			kind += "layers"
			want = layered(p.Ratio, layers)
		case kind == "exact zigzag":
			want = zigzag(p.Ratio)
		case kind == "Dixon 1988":
			want = dixon(p.Ratio)
		default:
			continue
		}
		counts[kind]++
		if math.Abs(p.Fraction-want) > 1e-6 {
			t.Errorf("%s at %g: fraction %g, want %.7f", p.Kind, p.Ratio, p.Fraction, want)
		}
	}
	for kind, want := range map[string]int{"exact zigzag": 9, "exact layers": 4, "layers": 7, "Dixon 1988": 12} {
		if counts[kind] != want {
			t.Errorf("%d rows of %s, want %d", counts[kind], kind, want)
		}
	}
}

// zigzag is the densest packing for 1 ≤ r ≤ 1+√3/2: spheres that lie left and
// right in one plane, each touching the wall and two others.
func zigzag(r float64) float64 {
	return 2.0 / 3 / (r * r * math.Sqrt(1-(r-1)*(r-1)))
}

// layered is the packing of rings of n spheres at the wall, each turned by
// π/n against the one below. Guo et al. (2019), Powder Technol 354:842-853.
func layered(r, n float64) float64 {
	s := (r - 1) * math.Sin(math.Pi/(2*n))
	return 2.0 / 3 * n / (r * r * math.Sqrt(1-s*s))
}

// dixon is the correlation of Dixon (1988), Can J Chem Eng 66:705-708.
func dixon(r float64) float64 {
	l := 1 / r
	switch {
	case l <= 0.5:
		return 1 - (0.4 + 0.05*l + 0.412*l*l)
	case l < 0.536:
		return 1 - (0.528 + 2.464*(l-0.5))
	default:
		return 0.667 * l * l * l / math.Sqrt(2*l-1)
	}
}

// TestBulkPacking checks the crystals against geometry, and that no structure
// is denser than the densest (Hales 2005, Ann Math 162:1065).
func TestBulkPacking(t *testing.T) {
	densest := math.Pi / (3 * math.Sqrt2)
	bulk := map[string]float64{}
	for _, p := range Packings() {
		if p.Fraction > densest+1e-7 || p.Fraction <= 0 {
			t.Errorf("%s at %g: fraction %g is outside 0 to %.7f", p.Kind, p.Ratio, p.Fraction, densest)
		}
		if math.IsNaN(p.Ratio) {
			bulk[p.Kind] = p.Fraction
		}
	}
	for kind, want := range map[string]float64{
		"ordered upper limit fcc/hcp": densest,
		"simple cubic":                math.Pi / 6,
		"body-centred cubic":          math.Sqrt(3) * math.Pi / 8,
	} {
		if math.Abs(bulk[kind]-want) > 1e-7 {
			t.Errorf("%s: fraction %g, want %.7f", kind, bulk[kind], want)
		}
	}
}
