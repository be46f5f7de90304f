package model

import (
	"fmt"
	"math"
	"strings"
)

// What a plait is planned with where its rows do not say; common practice, no
// source.
const (
	usualDropDeg = 30.0 // the angle at which strands are dropped
	gapDeg       = 65.0 // the angle above which gaps show
)

// layer reads the rows of one layer; nil where something is wrong. Its first
// row holds what is the same for all of it.
func (p *planner) layer(rows []*Part) *layer {
	known := len(p.problems)
	first := rows[0]
	l := &layer{
		name:      first.Name,
		strands:   p.strands(first),
		width:     p.need(first, "strand_width"),
		thickness: p.need(first, "strand_thickness"),
		drop:      p.dropDeg(first) * math.Pi / 180,
		perM:      p.massPerLength(first),
	}
	if Known(first.TailMM) {
		l.tail = p.needOrZero(first, "tail")
	}
	for i, row := range rows {
		if i > 0 {
			p.checkSame(row, first, l)
		}
		l.tapers = append(l.tapers, p.taper(row, l.tapers))
	}
	if len(p.problems) > known {
		return nil
	}
	if most := l.most(l.effective(l.tapers[0].start)); l.strands > most {
		p.fail(first, "strands", "are more than the start holds: at %s° a core of %s takes at most %d strands of %s; use fewer or narrower ones, or a smaller drop_angle",
			show(l.drop*180/math.Pi), showMM(l.tapers[0].start), most, showMM(l.width))
		return nil
	}
	return l
}

// strands is the number of strands of a layer, even.
func (p *planner) strands(row *Part) int {
	switch n := p.need(row, "strands"); {
	case !Known(n):
		return 0
	case n < minStrands:
		p.fail(row, "strands", "are too few for a plait: use %d or more", minStrands)
		return 0
	}
	if row.Strands%2 == 1 {
		p.warn(row, "strands", "is odd, and a plait has as many strands going left as right: planned with %d", row.Strands-1)
	}
	return row.Strands - row.Strands%2
}

// dropDeg is the angle at which a layer drops strands, degrees.
func (p *planner) dropDeg(row *Part) float64 {
	if !Known(row.DropAngleDeg) {
		return usualDropDeg
	}
	if row.DropAngleDeg >= 90 {
		p.fail(row, "drop_angle", "is not below 90°: measure it from the axis of the whip")
		return Unknown
	}
	return p.needOrZero(row, "drop_angle")
}

// taper reads one row's stretch of a layer, after those before it.
func (p *planner) taper(row *Part, before []taper) taper {
	start, diameter := p.start(row), row.DiameterMM
	if len(before) > 0 {
		last := before[len(before)-1]
		if Known(row.StartMM) && !sameMM(row.StartMM, last.to) {
			p.fail(row, "start", "leaves a gap or overlap: the row above ends at %s; leave start blank, or give the part another name", showMM(last.to))
		}
		start = last.to
		if !Known(diameter) {
			diameter = last.end
		}
	}
	if Known(row.DiameterMM) || len(before) == 0 {
		diameter = p.need(row, "diameter")
	}
	tip := diameter
	if Known(row.TipDiameterMM) {
		tip = p.need(row, "tip_diameter")
	}
	return taper{row, start, start + p.need(row, "length"), diameter, tip}
}

// sameMM reports whether two places are one, but for rounding of units.
func sameMM(a, b float64) bool { return math.Abs(a-b) <= 1e-6 }

// checkSame refuses what a later row of a layer states otherwise than its
// first.
func (p *planner) checkSame(row, first *Part, l *layer) {
	for _, f := range []figure{
		{"strands", "", countOf(first.Strands)},
		{"strand_width", " mm", l.width},
		{"strand_thickness", " mm", l.thickness},
		{"drop_angle", "°", l.drop * 180 / math.Pi},
		{"tail", " mm", l.tail},
		{"mass_per_length", " g/m", l.perM},
		{"count", "", float64(max(first.Count, 1))},
	} {
		if x := row.figure(f.column).value; math.Abs(x-f.value) > 1e-9*f.value {
			p.fail(row, f.column, "is not the %s of the layer's first row: leave it blank, or give the part another name", f)
		}
	}
	if row.Material != "" && foldName(row.Material) != foldName(first.Material) {
		p.fail(row, "material", "is not the %q of the layer's first row: leave it blank, or give the part another name", first.Material)
	}
}

// plait plans a layer.
func (p *planner) plait(l *layer) *item {
	first, last := l.tapers[0], l.tapers[len(l.tapers)-1]
	runs, err := l.runs()
	if err != nil {
		p.fail(first.row, "strands", "%w", err)
		return nil
	}
	it := p.newCord(first.row, last.to-first.from)
	it.rows = nil // all of the layer's, in order
	for _, t := range l.tapers {
		it.rows = append(it.rows, t.row)
		it.Outline = append(it.Outline, OutlinePoint{t.from, l.outside(t.start)}, OutlinePoint{t.to, l.outside(t.end)})
	}
	it.body = l.moment()
	it.Strands = l.groups(runs)
	it.CutMM, it.TailMM = it.Strands[len(it.Strands)-1].CutMM, l.tail
	it.StrandGMM = l.perM / mmPerM

	if dropped := it.Strands[:len(it.Strands)-1]; len(dropped) > 0 {
		var list []string
		for _, g := range dropped {
			list = append(list, fmt.Sprintf("%d at %s", g.Count, showMM(g.ToMM)))
		}
		p.warn(first.row, "strands", "%w: %s", ErrDropped, strings.Join(list, ", "))
	}
	if angle, at := l.widest(runs); angle > gapDeg*math.Pi/180 {
		p.warn(first.row, "strands", "lie at %.3g° at %s, where gaps show above %g°: use more or wider strands", angle*180/math.Pi, showMM(at), gapDeg)
	}
	return it
}
