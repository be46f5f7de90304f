package model

import (
	"strconv"
	"strings"
)

// figure is one number that a row of a parts list states.
type figure struct {
	column string
	unit   string
	value  float64 // NaN: blank
}

// figures lists every number a row may state, in the order of columns.
func (p *Part) figures() []figure {
	return []figure{
		{"count", "", countOf(p.Count)},
		{"diameter", " mm", p.DiameterMM},
		{"tip_diameter", " mm", p.TipDiameterMM},
		{"length", " mm", p.LengthMM},
		{"start", " mm", p.StartMM},
		{"load_length", " mm", p.LoadLengthMM},
		{"bore", " mm", p.BoreMM},
		{"shot_diameter", " mm", p.ShotDiameterMM},
		{"density", " g/cm³", p.DensityGCM3},
		{"strands", "", countOf(p.Strands)},
		{"strand_width", " mm", p.StrandWidthMM},
		{"strand_thickness", " mm", p.StrandThicknessMM},
		{"drop_angle", "°", p.DropAngleDeg},
		{"tail", " mm", p.TailMM},
		{"unloaded_diameter", " mm", p.UnloadedDiameterMM},
		{"sheath_angle", "°", p.SheathAngleDeg},
		{"sheath_thickness", " mm", p.SheathThicknessMM},
		{"mass_per_length", " g/m", p.MassPerLengthGM},
		{"mass", " g", p.MassG},
		{"fraction", "", p.Fraction},
	}
}

// countOf is a whole number that is 0 where it is not stated.
func countOf(n int) float64 {
	if n == 0 {
		return Unknown
	}
	return float64(n)
}

// figure is the number in one column.
func (p *Part) figure(column string) figure {
	for _, f := range p.figures() {
		if f.column == column {
			return f
		}
	}
	return figure{column: column, value: Unknown}
}

// text is what a cell says, a number with its unit.
func (p *Part) text(column string) string {
	switch column {
	case "part":
		return p.Name
	case "role":
		return string(p.Role)
	case "material":
		return p.Material
	case "shot":
		return p.Shot
	}
	return p.figure(column).String()
}

// String is the number with its unit, "" for a blank.
func (f figure) String() string {
	if !Known(f.value) {
		return ""
	}
	return show(f.value) + f.unit
}

// show writes a number with six significant digits at most, which is more
// than any tape or scale gives.
func show(x float64) string {
	return strconv.FormatFloat(x, 'g', 6, 64)
}

// showMM writes a length that was worked out, to four digits.
func showMM(x float64) string {
	return strconv.FormatFloat(x, 'g', 4, 64) + " mm"
}

// foldName is how tables spell the name of a material.
func foldName(s string) string {
	return strings.ToLower(strings.TrimSpace(s))
}
