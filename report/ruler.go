package report

import (
	"fmt"
	"math"
	"strconv"

	"trueplait/model"
)

// tick is a mark of the ruler, or a figure beside it.
type tick struct {
	Path, Text, Anchor string
	X, Y               float64 // of the text
}

// rulerEdge is one edge of the ruler: a scale in one unit.
type rulerEdge struct {
	name   string
	mm     float64   // of one unit
	steps  []float64 // from figure to figure, in units; then the same a thousandfold
	x      float64
	inward float64 // length of a mark
	text   float64
	anchor string
}

var (
	millimetreEdge = rulerEdge{"mm", 1, []float64{10, 20, 50, 100, 200, 500, 1000, 2000, 5000}, rulerLeft, 5, rulerLeft - 3, "end"}
	inchEdge       = rulerEdge{"in", model.MMPerInch, []float64{1, 2, 3, 6, 12, 24, 60, 120, 240, 600}, rulerRight, -5, rulerRight + 3, "start"}
)

// ruler draws millimetres on the left edge and inches on the right, as the
// maker prefers, from the butt to end.
func (d *drawing) ruler(end float64, u Units) {
	if u != Imperial {
		d.edge(millimetreEdge, end)
	}
	if u != Metric {
		d.edge(inchEdge, end)
	}
}

// edge draws the marks of one scale, and a figure at every other.
func (d *drawing) edge(e rulerEdge, end float64) {
	const least = 20 // px from figure to figure
	step := e.steps[0]
	for i := 1; step*e.mm*d.along < least; i++ {
		step = e.steps[i%len(e.steps)] * math.Pow10(3*(i/len(e.steps)))
	}
	d.Ticks = append(d.Ticks, tick{Text: e.name, Anchor: e.anchor, X: e.text, Y: drawingTop - 14})
	for i := 0; float64(i)*step/2*e.mm <= end; i++ {
		at := float64(i) * step / 2
		t := tick{X: e.text, Y: d.y(at * e.mm)}
		inward := e.inward * 0.6
		if i%2 == 0 {
			inward, t.Text, t.Anchor = e.inward, strconv.FormatFloat(at, 'f', -1, 64), e.anchor
		}
		t.Path = fmt.Sprintf("M%.1f %.1fh%.1f", e.x, t.Y, inward)
		d.Ticks = append(d.Ticks, t)
	}
}

// Ruler is the outline of the ruler.
func (d *drawing) Ruler() string {
	return fmt.Sprintf("M%.1f %.1fH%.1fV%.1fH%.1fZ", rulerLeft, drawingTop, rulerRight, d.Height-drawingBottom, rulerLeft)
}
