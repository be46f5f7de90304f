package model_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"trueplait/model"
)

// layerOver is one plait over a core such that its effective diameter D_e is
// as given.
func layerOver(strands int, width, effective, tip, length, drop float64) string {
	const thickness = 0.01
	return fmt.Sprintf("plait plait strands=%d strand_width=%v strand_thickness=%v diameter=%v tip_diameter=%v length=%v drop_angle=%v mass_per_length=1000",
		strands, width, thickness, effective-2*thickness, tip-2*thickness, length, drop)
}

// TestJam checks fully covered braids: cos θ = N w/(2π D_m), the pitch of a
// full turn tan θ = π D_m/P, and strand length per unit length; computed
// examples, formulas of "Theory: circular braiding onto a mandrel" and
// cabledatasheet.com topic 2855.
func TestJam(t *testing.T) {
	for _, c := range []struct {
		strands                     int
		width, diameter             float64
		degrees, pitch, strand, all float64
	}{
		{8, 3, 6, 50.460, 15.561, 1.57080, 12.56637},
		{12, 3, 8, 44.259, 25.792, 1.39626, 16.75516},
		{16, 3, 10, 40.187, 37.193, 1.30900, 20.94395},
	} {
		name := fmt.Sprintf("%d strands", c.strands)
		d := plan(t, layerOver(c.strands, c.width, c.diameter, c.diameter, 1, 30))
		near(t, name+": strand", d.StrandMM, c.strand, 1e-5)
		near(t, name+": all strands", d.WeightG, c.all, 1e-6) // 1 g to the mm
		degrees := math.Acos(1/d.StrandMM) * 180 / math.Pi
		near(t, name+": angle", degrees, c.degrees, 2e-5)
		turn := plan(t, layerOver(c.strands, c.width, c.diameter, c.diameter, c.pitch, 30))
		near(t, name+": a turn", turn.StrandMM, math.Hypot(math.Pi*c.diameter, c.pitch), 5e-5)
	}
}

// TestPublishedTurns lays strands at a published angle round a published
// radius and checks that a turn is as long as published: braidpy, "The shape
// of a braided tube", strand 0.4 across (angle, narrowest radius, turn).
func TestPublishedTurns(t *testing.T) {
	for _, c := range []struct {
		strands               int
		degrees, radius, turn float64
	}{
		{4, 45, 0.447, 2.81},
		{8, 45, 0.825, 5.18},
		{16, 45, 1.612, 10.13},
		{8, 65, 1.716, 5.03},
	} {
		width := 2 * math.Pi * 2 * c.radius * math.Cos(c.degrees*math.Pi/180) / float64(c.strands)
		d := plan(t, layerOver(c.strands, width, 2*c.radius, 2*c.radius, 1, 30))
		around := math.Sqrt(d.StrandMM*d.StrandMM - 1) // per mm along
		near(t, fmt.Sprintf("a turn of %d at %g°", c.strands, c.degrees), 2*math.Pi*c.radius/around, c.turn, 0.002)
	}
}

// TestDrops works a taper out by hand. With w = 1 and α = 60°, n strands need
// D_e ≥ n/π. From 9/π to 5/π over 400 mm, 8 last to 8/π at 100 mm, 6 to 6/π at
// 300 mm, and 4 to the end; a strand takes 2 u/N to the mm where D_e = u/π.
func TestDrops(t *testing.T) {
	text := layerOver(8, 1, 9/math.Pi, 5/math.Pi, 400, 60)
	for _, tail := range []float64{0, 50} {
		d := plan(t, fmt.Sprintf("%s tail=%v", text, tail))
		s8, s6, s4 := 2.0/8*8.5*100, 2.0/6*7*200, 2.0/4*5.5*100
		want := []model.Strands{{2, 100, s8 + tail}, {2, 300, s8 + s6 + tail}, {4, 400, s8 + s6 + s4 + tail}}
		sameStrands(t, d.Parts[0].Strands, want)
		near(t, "cut", d.Parts[0].CutMM, s8+s6+s4+tail, 1e-12)
		near(t, "strand", d.StrandMM, s8+s6+s4, 1e-12)
		near(t, "mass", d.WeightG, 2*7*400, 1e-12) // ∫ 2π D_e/w dx, 1 g to the mm
		if w := fmt.Sprint(d.Warnings); !strings.Contains(w, "2 at 100 mm, 2 at 300 mm") {
			t.Errorf("warnings %s, want the drops", w)
		}
	}
}

// TestStep drops four strands at once where the core steps down, and takes
// none back where it widens again.
func TestStep(t *testing.T) {
	const d9, d5, d20 = 9/math.Pi - 0.02, 5/math.Pi - 0.02, 20/math.Pi - 0.02
	d := plan(t, fmt.Sprintf(`
plait plait strands=8 strand_width=1 strand_thickness=0.01 diameter=%v length=100 drop_angle=60 mass_per_length=1000 start=30
plait plait diameter=%v length=100
plait plait diameter=%v length=100 start=230`, d9, d5, d20))
	first := 2.0 / 8 * 9 * 100
	sameStrands(t, d.Parts[0].Strands, []model.Strands{{4, 130, first}, {4, 330, first + 2.0/4*(5+20)*100}})
	near(t, "mass", d.WeightG, 2*(9+5+20)*100, 1e-12)
	if len(d.Parts) != 1 {
		t.Errorf("%d parts, want the rows of one layer to be one", len(d.Parts))
	}
	if w := fmt.Sprint(d.Parts[0].Warnings); !strings.Contains(w, "lie at 84.3° at 230 mm") { // cos θ = 4/(2·20)
		t.Errorf("warnings %s, want the gaps", w)
	}
}

func sameStrands(t *testing.T, got, want []model.Strands) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("strands %v, want %v", got, want)
	}
	for i, g := range got {
		if g.Count != want[i].Count {
			t.Errorf("group %d has %d strands, want %d", i+1, g.Count, want[i].Count)
		}
		near(t, fmt.Sprintf("end of group %d", i+1), g.ToMM, want[i].ToMM, 1e-12)
		near(t, fmt.Sprintf("cut of group %d", i+1), g.CutMM, want[i].CutMM, 1e-12)
	}
}

// TestOverlay picks the outermost plait by its outside at its start.
func TestOverlay(t *testing.T) {
	row := func(name string, diameter float64) string {
		return fmt.Sprintf("%s plait strands=8 strand_width=3 strand_thickness=1 diameter=%v length=1000 mass_per_length=4", name, diameter)
	}
	for _, c := range []struct{ name, text, want string }{
		{"widest", row("a", 8) + "\n" + row("b", 12), "b"},
		{"whatever the order", row("a", 12) + " start=1000\n" + row("b", 8), "a"},
		{"of equals the last", row("a", 8) + "\n" + row("b", 8) + " start=1000", "b"},
	} {
		d := plan(t, c.text)
		for _, part := range d.Parts {
			if part.Overlay != (part.Name == c.want) {
				t.Errorf("%s: overlay of %s is %v", c.name, part.Name, part.Overlay)
			}
		}
	}
}

// TestLayerOfAnyShape holds every layer against what must be so whatever its
// shape.
func TestLayerOfAnyShape(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		width := rapid.Float64Range(1, 5).Draw(t, "width")
		thickness := rapid.Float64Range(0.3, 2).Draw(t, "thickness")
		perM := rapid.Float64Range(1, 10).Draw(t, "g/m")
		drop := rapid.Float64Range(0, 50).Draw(t, "drop")
		tail := rapid.Float64Range(0, 300).Draw(t, "tail")
		// The narrowest that four strands cover, and as many as the start holds.
		least := 4 * width / (2 * math.Pi * math.Cos(drop*math.Pi/180)) * 1.001
		var parts []*model.Part
		strands := 0
		total, at := 0.0, 0.0
		for i := range rapid.IntRange(1, 4).Draw(t, "rows") {
			from := least * rapid.Float64Range(1, 6).Draw(t, "D_e from")
			to := least * rapid.Float64Range(1, 6).Draw(t, "D_e to")
			row := blank("plait", model.Plait)
			row.DiameterMM, row.TipDiameterMM = from-2*thickness, to-2*thickness
			if row.DiameterMM <= 0 || row.TipDiameterMM <= 0 {
				t.Skip("thinner than its wall")
			}
			row.LengthMM = rapid.Float64Range(10, 1000).Draw(t, "length")
			if i == 0 {
				strands = 2 * rapid.IntRange(2, 2*int(from/least)).Draw(t, "pairs")
				row.Strands, row.StrandWidthMM, row.StrandThicknessMM, row.DropAngleDeg, row.TailMM, row.MassPerLengthGM = strands, width, thickness, drop, tail, perM
			}
			total += 2 * math.Pi / width * row.LengthMM * (from + to) / 2
			at += row.LengthMM
			parts = append(parts, row)
		}
		d := planParts(t, parts)
		part := d.Parts[0]

		near(t, "mass", d.WeightG, total*perM/1000, 1e-9)
		count, sum, last := 0, 0.0, model.Strands{}
		for i, g := range part.Strands {
			if g.Count < 2 || g.Count%2 != 0 {
				t.Errorf("a group of %d", g.Count)
			}
			if i > 0 && (g.ToMM < last.ToMM || g.CutMM < last.CutMM) {
				t.Errorf("strands %v are not from the shortest to the longest", part.Strands)
			}
			if used := g.CutMM - tail; used < g.ToMM*(1-1e-12) {
				t.Errorf("a strand of %g reaches %g", used, g.ToMM)
			}
			count, sum, last = count+g.Count, sum+float64(g.Count)*(g.CutMM-tail), g
		}
		if count != strands || last.Count < 4 {
			t.Errorf("strands %v, want %d in all and 4 or more to the end", part.Strands, strands)
		}
		near(t, "strands × g/m", sum*perM/1000, part.MassG, 1e-9)
		near(t, "end of the longest", last.ToMM, at, 1e-12)
		near(t, "cut", part.CutMM, last.CutMM, 1e-12)
	})
}

// TestOddStrands plans an odd number of strands with one less.
func TestOddStrands(t *testing.T) {
	nine, eight := plan(t, layerOver(9, 3, 8, 8, 100, 30)), plan(t, layerOver(8, 3, 8, 8, 100, 30))
	sameStrands(t, nine.Parts[0].Strands, eight.Parts[0].Strands)
}

// TestExactFit covers a core with as many strands as it just holds at the drop
// angle: rounding neither refuses nor drops any.
func TestExactFit(t *testing.T) {
	for strands := 4; strands <= 40; strands += 2 {
		for _, width := range []float64{0.7, 1, 2.54, 3.3} {
			for _, drop := range []float64{0, 17, 30, 45} {
				effective := float64(strands) * width / (2 * math.Pi * math.Cos(drop*math.Pi/180))
				if got := plan(t, layerOver(strands, width, effective, effective, 100, drop)).Parts[0].Strands; len(got) != 1 || got[0].Count != strands {
					t.Errorf("%d strands of %g mm at %g°: %v", strands, width, drop, got)
				}
			}
		}
	}
}
