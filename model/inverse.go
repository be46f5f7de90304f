package model

import "errors"

// findLoad finds the core whose load is varied and how masses go with its load
// length, which they do linearly: shot by its mass per length, cord by what
// loading shortens it, and finishes by their share of that cord.
func (d *Design) findLoad(items []*item) {
	var varied *item
	finish := 1.0
	for _, it := range items {
		switch {
		case it.Role == Finish:
			finish += it.rows[0].Fraction * it.count()
		case !Known(it.LoadLengthMM):
		case it.rows[0] == d.loaded, d.loaded == nil && (varied == nil || it.ShotG > varied.ShotG):
			varied = it
		}
	}
	d.shotSlope, d.bodySlope = Unknown, Unknown
	if varied != nil {
		d.loaded = varied.rows[0]
		d.shotSlope, d.bodySlope = varied.shotPerLoad, varied.cordPerLoad*finish
	}
}

// LoadRange returns between which load lengths, mm, the core with most shot
// can be loaded: none of it and all of it. NaN without a loaded core.
func (d *Design) LoadRange() (low, high float64) {
	if d.loaded == nil {
		return Unknown, Unknown
	}
	return 0, d.loaded.LengthMM
}

// DWeightDLoad is how the weight goes with the load length, g/mm, the same
// over the whole range. NaN without a loaded core.
func (d *Design) DWeightDLoad() float64 { return d.shotSlope + d.bodySlope }

// DShotDLoad is the part of DWeightDLoad that is shot; the rest is body.
func (d *Design) DShotDLoad() float64 { return d.shotSlope }

// WithLoad plans the product again with another load length, mm, of the core
// with most shot; that core stays the one whose load is varied. It is a
// problem where no core is loaded, or the length is outside LoadRange.
func (d *Design) WithLoad(loadLengthMM float64) (*Design, []*PartProblem) {
	rows := make([]*Part, len(d.rows))
	var loaded *Part
	for i, row := range d.rows {
		rows[i] = row
		if row == d.loaded {
			copied := *row
			copied.LoadLengthMM = loadLengthMM
			rows[i], loaded = &copied, &copied
		}
	}
	if loaded == nil {
		return nil, []*PartProblem{{
			Origin: d.rows[0].Origin, Part: d.rows[0].Name, Column: "load_length",
			Err: errors.New("is blank for every part: only the load of a core can be varied"),
		}}
	}
	return newDesign(rows, d.materials, loaded)
}
