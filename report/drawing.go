package report

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"trueplait/calibrate"
	"trueplait/model"
)

// drawing is a whip cut open along its length, hanging from its butt, to scale
// along its length beside a ruler: the shapes of an SVG, in px. Where parts end
// and strands drop stands beside it, never over it.
type drawing struct {
	Height   float64
	Times    int // diameters are drawn so many times larger than lengths
	Shapes   []shape
	Ticks    []tick
	Callouts []callout
	Caption  string

	along, across float64 // px per mm
}

// shape is a part: a path with what it is.
type shape struct {
	Class, Path, Title string
}

// The layout, in px: across, the ruler and the whip's middle with the room it
// has on either side; along, what is above and below it.
const (
	drawingWidth = 344
	rulerLeft    = 32.0
	rulerRight   = 44.0
	middle       = 114.0
	halfRoom     = 30.0

	knotWidth     = 7.0
	drawingTop    = 22.0
	leastLength   = 590.0
	drawingBottom = 16.0
)

// nominal is how wide, in px, a part is drawn whose diameter is not known.
var nominal = map[model.Role]float64{model.Rod: 6, model.Core: 7, model.Plait: 10, model.Fall: 4, model.Cracker: 1.6}

// newDrawing draws the plan's parts where the plan has them. Parts without a
// place (wax) are not drawn.
func newDrawing(p *calibrate.Plan, u Units) *drawing {
	end, widest := p.Design.LengthMM, 0.0
	if !model.Known(end) {
		end = 0
	}
	for _, part := range p.Design.Parts {
		if placed(part) {
			end = max(end, part.EndMM)
		}
		widest = max(widest, widestMM(part))
	}
	if !(end > 0) {
		return nil
	}
	remarks := newRemarks(p, u)
	length := max(leastLength, calloutHeight*float64(len(remarks)))
	d := &drawing{Height: drawingTop + length + drawingBottom, Times: 1, along: length / end}
	if widest > 0 {
		d.Times = max(1, int(2*halfRoom/(widest*d.along)))
		d.across = float64(d.Times) * d.along
	}
	d.ruler(end, u)
	d.shapes(p.Design.Parts)
	if balance := p.Calibrated.BalanceMM; model.Known(balance) {
		x, y := d.surface(p.Design.Parts, balance), d.y(balance)
		d.Shapes = append(d.Shapes,
			shape{"axis", fmt.Sprintf("M%.1f %.1fH%.1f", middle-x-4, y, middle+x), "balance point"},
			shape{"fulcrum", fmt.Sprintf("M%.1f %.1fl-11 -6v12z", middle-x-3, y), "balance point"})
	}
	d.call(remarks, p.Design.Parts)
	d.Caption = fmt.Sprintf("Cut open along its length, which is to scale; drawn %s as large across as along. Hatched: plaits; dotted: shot. "+
		"Places are the plan's, before any correction.", times(d.Times))
	return d
}

// times says how many times as large: "16 times", "just".
func times(n int) string {
	if n == 1 {
		return "just"
	}
	return strconv.Itoa(n) + " times"
}

// placed reports whether the drawing has a place for a part.
func placed(p model.DesignPart) bool {
	return model.Known(p.StartMM) && model.Known(p.EndMM) && p.Role != model.Finish
}

// y is the place on the drawing of a place on the whip.
func (d *drawing) y(mm float64) float64 { return drawingTop + mm*d.along }

// Width is that of the whole drawing.
func (d *drawing) Width() int { return drawingWidth }

// shapes draws the parts, the widest first, so that what lies inside another
// is seen.
func (d *drawing) shapes(parts []model.DesignPart) {
	order := slices.Clone(parts)
	slices.Reverse(order) // of two as wide the later one is outside
	slices.SortStableFunc(order, func(a, b model.DesignPart) int {
		return cmp.Or(cmp.Compare(rank(a), rank(b)), cmp.Compare(widestMM(b), widestMM(a)))
	})
	plaits := 0
	for _, p := range order {
		if !placed(p) {
			continue
		}
		top, bottom := d.y(p.StartMM), d.y(p.EndMM)
		switch p.Role {
		case model.Knot: // cut open it is a bulge on either side
			x, height := d.surface(parts, p.StartMM), max(14, bottom-top)
			for _, side := range []float64{middle - x - knotWidth, middle + x} {
				d.Shapes = append(d.Shapes, shape{"knot", fmt.Sprintf("M%.1f %.1fq3.5 -5 7 0v%.1fq-3.5 5 -7 0z", side, top+2, height-4), label(p.Name)})
			}
		case model.Wrap, model.Other: // which lie on others: a bracket beside them
			d.Shapes = append(d.Shapes, shape{"wrap", fmt.Sprintf("M%.1f %.1fh4V%.1fh-4", middle+d.bracket(parts, p)-4, top, max(bottom, top+3)), label(p.Name)})
		default:
			class := string(p.Role)
			if p.Role == model.Plait {
				class += " hatch-" + strconv.Itoa(plaits%2)
				plaits++
			}
			d.Shapes = append(d.Shapes, shape{class, d.band(p, p.StartMM, p.EndMM), label(p.Name)})
			if p.LoadLengthMM > 0 {
				d.Shapes = append(d.Shapes, shape{"shot", d.band(p, p.StartMM, p.StartMM+p.LoadLengthMM), "shot"})
			}
			if p.Role == model.Cracker {
				d.Shapes = append(d.Shapes, shape{"tuft", fmt.Sprintf("M%.1f %.1fm-4 8l4 -8l4 8m-4 -8v9", middle, bottom-4), label(p.Name)})
			}
		}
	}
}

// banded reports whether a part is drawn as it lies in the whip. The others
// are marks on the outside.
func banded(p model.DesignPart) bool {
	switch p.Role {
	case model.Rod, model.Core, model.Plait, model.Fall, model.Cracker:
		return placed(p)
	}
	return false
}

// widestMM is the greatest diameter of a part drawn as it lies; 0: not known.
// What encloses another part is wider.
func widestMM(p model.DesignPart) float64 {
	d := 0.0
	if banded(p) {
		for _, o := range p.Outline {
			d = max(d, o.DiameterMM)
		}
	}
	return d
}

// rank orders parts from the outside in.
func rank(p model.DesignPart) int {
	switch p.Role {
	case model.Plait:
		return 0
	case model.Core:
		return 1
	}
	return 2
}

// band is the outline of a part between two places, down its right side and up
// its left.
func (d *drawing) band(p model.DesignPart, from, to float64) string {
	places := []float64{from}
	for _, o := range p.Outline {
		if o.AtMM > from && o.AtMM < to {
			places = append(places, o.AtMM)
		}
	}
	places = append(places, to)
	var b strings.Builder
	command := "M"
	for _, at := range places {
		fmt.Fprintf(&b, "%s%.1f %.1f", command, middle+d.half(p, at), d.y(at))
		command = "L"
	}
	for _, at := range slices.Backward(places) {
		fmt.Fprintf(&b, "L%.1f %.1f", middle-d.half(p, at), d.y(at))
	}
	return b.String() + "Z"
}

// half is half the width of a part at a place, in px.
func (d *drawing) half(p model.DesignPart, at float64) float64 {
	if len(p.Outline) == 0 {
		return nominal[p.Role] / 2
	}
	before := p.Outline[0]
	for _, o := range p.Outline {
		if o.AtMM >= at {
			if o.AtMM == before.AtMM || at <= before.AtMM {
				return before.DiameterMM / 2 * d.across
			}
			share := (at - before.AtMM) / (o.AtMM - before.AtMM)
			return (before.DiameterMM + share*(o.DiameterMM-before.DiameterMM)) / 2 * d.across
		}
		before = o
	}
	return before.DiameterMM / 2 * d.across
}

// bracket is how far from the middle the bracket of a part stands, in px.
func (d *drawing) bracket(parts []model.DesignPart, p model.DesignPart) float64 {
	return d.surface(parts, (p.StartMM+p.EndMM)/2) + knotWidth + 6
}

// surface is half the width of the whip at a place, in px.
func (d *drawing) surface(parts []model.DesignPart, at float64) float64 {
	x := 0.0
	for _, p := range parts {
		if banded(p) && p.StartMM <= at && at <= p.EndMM {
			x = max(x, d.half(p, at))
		}
	}
	return x
}
