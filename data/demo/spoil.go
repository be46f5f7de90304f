package demo

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"trueplait/model"
)

// forget leaves out what makers forget to note: batches, the shot used, now and
// then the weight or the length.
func (g *generator) forget(builds []*build) {
	for i, b := range builds {
		special := i == lone || i == oddSize
		if !special && g.rng.Float64() < 0.04 {
			b.CoreBatch = ""
		}
		if g.rng.Float64() < 0.015 {
			b.StrandBatch = ""
		}
		if g.rng.Float64() < 0.02 {
			b.ShotBatch = ""
		}
		switch u := g.rng.Float64(); {
		case special:
		case u < 0.09:
			b.shot = blank
		case u < 0.10:
			b.weight = blank
		case u < 0.12:
			b.length = blank
		}
	}
}

// slip is a right figure in the wrong unit: figure/per, in g or mm, is the
// number written before a unit of the given size.
type slip struct {
	from     int // the first build, counted from 0, that may be spoilt
	quantity model.Quantity
	per      float64
	size     float64
	digits   int
	unit     string
	guess    string
}

// spoil plants unit slips and typing errors, and one row the shop itself sets
// aside. Each takes the first build from its place on that has the figure
// and nothing wrong yet, and whose batches are all noted: where one is not, a
// figure may honestly be far out.
func (g *generator) spoil(builds []*build) {
	used := map[string]bool{g.truth.Custom: true}
	take := func(from int, q model.Quantity, wrong func(right float64) (cell, bool), guess string) {
		for _, b := range builds[from:] {
			right := b.figure(q)
			noted := b.CoreBatch != "" && b.StrandBatch != "" && b.ShotBatch != ""
			if used[b.ID] || !noted || math.IsNaN(right.value) {
				continue
			}
			text, ok := wrong(b.measured[q])
			if !ok {
				continue
			}
			used[b.ID] = true
			p := Planted{Build: b.ID, Quantity: q, Text: text.text, Wrong: text.value, Right: b.measured[q], Guess: guess}
			if b.CoreBatch == offcut {
				p.Only = offcut
			}
			*right = text
			g.truth.Planted = append(g.truth.Planted, p)
			return
		}
	}
	take(lone, model.Shot, func(g float64) (cell, bool) { return mistyped(tenthGrams(g), 1, replaced) }, "")
	take(52, model.Weight, func(g float64) (cell, bool) { return mistyped(grams(g), 1, swapped) }, "")
	take(131, model.Length, func(mm float64) (cell, bool) { return mistyped(centimetres(mm), 10, swapped) }, "")
	take(187, model.Shot, func(g float64) (cell, bool) { return mistyped(tenthGrams(g), 1, swapped) }, "")
	for _, s := range []slip{
		{24, model.Weight, model.GramsPerOunce, 1, 1, "g", "looks like ounces entered as grams"},
		{67, model.Length, model.MMPerInch, 10, 1, "cm", "looks like inches entered as centimetres"},
		{104, model.Weight, 10, 1, 1, "g", "looks like a decimal point too far left"},
		{158, model.Shot, model.GramsPerOunce, 1, 2, "g", "looks like ounces entered as grams"},
		{203, model.Length, 10, 1, 1, "mm", "looks like centimetres entered as millimetres"},
		{262, model.Weight, model.GramsPerPound, 1, 2, "g", "looks like pounds entered as grams"},
	} {
		take(s.from, s.quantity, func(right float64) (cell, bool) {
			return decimal(right/s.per*s.size, s.size, s.digits, s.unit), true
		}, s.guess)
	}
	slices.SortFunc(g.truth.Planted, func(a, b Planted) int { return cmp.Compare(a.Build, b.Build) })

	for _, b := range builds[215:] {
		if !used[b.ID] {
			b.SetAside = "plaited over an old belly, not to the plan"
			g.truth.ByHand = append(g.truth.ByHand, b.ID)
			break
		}
	}
}

// figure is the cell of a measured quantity.
func (b *build) figure(q model.Quantity) *cell {
	switch q {
	case model.Weight:
		return &b.weight
	case model.Length:
		return &b.length
	default:
		return &b.shot
	}
}

// mistyped is the first of the ways to type a figure wrong that is 30 to 45 %
// off. size is that of the cell's unit.
func mistyped(c cell, size float64, ways func(text string) []string) (cell, bool) {
	for _, wrong := range ways(c.text) {
		var x float64
		if _, err := fmt.Sscan(wrong, &x); err != nil {
			continue
		}
		if off := math.Abs(x*size/c.value - 1); off >= 0.30 && off <= 0.45 {
			return cell{wrong, x * size}, true
		}
	}
	return cell{}, false
}

// swapped lists the text with two of its digits exchanged.
func swapped(text string) []string {
	var out []string
	for i := range text {
		for j := i + 1; j < len(text); j++ {
			if digit(text[i]) && digit(text[j]) && text[i] != text[j] {
				b := []byte(text)
				b[i], b[j] = b[j], b[i]
				out = append(out, string(b))
			}
		}
	}
	return out
}

// replaced lists the text with its first digit another one.
func replaced(text string) []string {
	var out []string
	for d := byte('1'); d <= '9'; d++ {
		if d != text[0] {
			out = append(out, string(d)+text[1:])
		}
	}
	return out
}

func digit(c byte) bool { return c >= '0' && c <= '9' }

// note writes what makers write beside a row.
func (g *generator) note(b *build) {
	if g.rng.Float64() < 0.16 {
		remarks := []string{
			"waxed twice",
			"customer asked for it \"quiet\", softer fall",
			"new bench vice, plaits tighter",
			"humid week; cord felt limp",
			"handle wrapped again, first one slipped",
			"ran short, spliced one strand",
			"for the fair",
			"belly came out stiff\nsecond try with smaller shot portions",
		}
		b.Note = remarks[g.rng.IntN(len(remarks))]
	}
	if b.line.name == custom {
		b.Note = "customer's own size, never planned before"
	}
}
