package model

import (
	"cmp"
	"errors"
	"slices"
)

// Materials are the values that a parts list may leave to tables. A part's own
// value always wins.
type Materials struct {
	ShotDiameterMM map[string]float64 // by size: "9", "7.5", "BB"
	ShotDensity    map[string]float64 // g/cm³, by metal of shot: "lead", "steel"
	DensityGCM3    map[string]float64 // by material, lower case
	CordGM         map[string]float64 // g/m, by kind of cord, lower case
}

// Design is what the planner makes of a product's parts list: its base
// figures, without any correction. Masses are in g, positions and lengths in
// mm from the butt.
type Design struct {
	Product   string
	WeightG   float64 // all parts
	ShotG     float64
	BodyG     float64 // WeightG less ShotG
	LengthMM  float64 // the far end of the farthest plait; NaN without a plait
	StrandMM  float64 // longest strand of the outermost plait, without tail; NaN without a plait
	BalanceMM float64 // balance point
	Parts     []DesignPart
	Warnings  []*PartProblem

	// ShotBalanceMM and BodyBalanceMM are the balance points of shot and of
	// all else; NaN where there is none.
	ShotBalanceMM, BodyBalanceMM float64

	// ShotUncertainty is the relative standard uncertainty of ShotG before any
	// calibration; 0 without shot.
	ShotUncertainty float64

	// What planning again with another load needs.
	rows      []*Part
	materials Materials
	loaded    *Part   // the core whose load is varied; nil without one
	shotSlope float64 // g per mm of its load length; NaN without one
	bodySlope float64
}

// DesignPart is one part as it lies in the whip. A layer of several rows is
// one part.
type DesignPart struct {
	Name  string
	Role  Role
	MassG float64 // shot included
	ShotG float64
	// BalanceMM is the part's balance point, shot included.
	BalanceMM float64

	StartMM, EndMM float64
	Outline        []OutlinePoint // outside diameter along the part; nil where it has none

	CutMM        float64   // core: length to cut; plait: longest strand with tail; NaN for others
	TailMM       float64   // of CutMM, what is cut off again
	LoadLengthMM float64   // of a loaded core; NaN otherwise
	ShotGMM      float64   // g/mm of a loaded core; NaN otherwise
	Packing      float64   // solid fraction of a loaded core; NaN otherwise
	StrandGMM    float64   // g/mm of one strand of a plait; NaN otherwise
	Strands      []Strands // of a plait: groups by where they end, the shortest first
	Overlay      bool      // the outermost plait
	Warnings     []string
}

// OutlinePoint is a place of a part's outline, which runs straight between
// points.
type OutlinePoint struct {
	AtMM, DiameterMM float64
}

// Strands is a group of strands of one length.
type Strands struct {
	Count int
	ToMM  float64 // where they end, from the butt
	CutMM float64 // with tail
}

// NewDesign plans a product from the rows of its parts list, all of one
// product and in the order of the list. Consecutive plait rows with the
// same part name are one layer. Rows are not modified, and may not be while
// the design is in use.
//
// Where a part is impossible or lacks a figure there is no design, and every
// such problem is returned.
func NewDesign(parts []*Part, m Materials) (*Design, []*PartProblem) {
	return newDesign(parts, m, nil)
}

// newDesign plans a product whose load is varied in one core; nil: in the one
// with most shot.
func newDesign(parts []*Part, m Materials, loaded *Part) (*Design, []*PartProblem) {
	if len(parts) == 0 {
		return nil, []*PartProblem{{Column: "part", Err: errors.New("is blank: a product needs at least one part")}}
	}
	p := &planner{materials: m, notes: map[*Part][]string{}}
	items := p.items(parts)
	byLine := func(a, b *PartProblem) int { return cmp.Compare(a.Line, b.Line) }
	slices.SortStableFunc(p.problems, byLine)
	slices.SortStableFunc(p.warnings, byLine)
	if len(p.problems) > 0 {
		return nil, p.problems
	}
	d := &Design{Product: parts[0].Product, Warnings: p.warnings, rows: parts, materials: m, loaded: loaded}
	d.sum(items)
	d.findOverlay(items)
	d.findLoad(items)
	for _, it := range items {
		for _, row := range it.rows {
			it.Warnings = append(it.Warnings, p.notes[row]...)
		}
		d.Parts = append(d.Parts, it.DesignPart)
	}
	return d, nil
}

// sum adds up masses, moments and the uncertainty of shot. What is not known
// of one core's packing and bore is taken to be the same for all of them, as
// one pair of hands fills them.
func (d *Design) sum(items []*item) {
	var shot, body moment
	spread := 0.0
	for _, it := range items {
		shot, body = shot.plus(it.shot), body.plus(it.body)
		if it.shot.g > 0 {
			spread += it.shot.g * loadUncertainty(it.Packing)
		}
	}
	if shot.g > 0 {
		d.ShotUncertainty = spread / shot.g
	}
	all := shot.plus(body)
	d.WeightG, d.ShotG, d.BodyG = all.g, shot.g, body.g
	d.BalanceMM, d.ShotBalanceMM, d.BodyBalanceMM = all.balance(), shot.balance(), body.balance()
}

// findOverlay finds the far end of the plaits and the outermost of them, which
// is the one with the greatest outside diameter at its start; of equals, the
// last.
func (d *Design) findOverlay(items []*item) {
	d.LengthMM, d.StrandMM = Unknown, Unknown
	var overlay *item
	for _, it := range items {
		if it.Role != Plait {
			continue
		}
		if !(d.LengthMM >= it.EndMM) {
			d.LengthMM = it.EndMM
		}
		if overlay == nil || it.Outline[0].DiameterMM >= overlay.Outline[0].DiameterMM {
			overlay = it
		}
	}
	if overlay != nil {
		overlay.Overlay = true
		d.StrandMM = overlay.CutMM - overlay.TailMM
	}
}
