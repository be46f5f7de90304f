package model_test

import (
	"fmt"
	"math"
	"strings"

	"trueplait/data/reference"
	"trueplait/model"
)

// reporter is a test, or one case of a property.
type reporter interface {
	Helper()
	Errorf(format string, args ...any)
	Fatalf(format string, args ...any)
}

// list is a parts list as a test writes it down: one row a line, each the part's
// name, its role and column=value pairs, a value in mm, g, degrees, g/m or
// g/cm³. A value with spaces has underscores.
func list(t reporter, text string) []*model.Part {
	t.Helper()
	var parts []*model.Part
	for i, line := range strings.Split(strings.TrimSpace(text), "\n") {
		cells := strings.Fields(line)
		p := blank(cells[0], model.Role(cells[1]))
		p.Origin = model.Origin{File: "parts.csv", Line: i + 2}
		p.Position = i + 1
		for _, cell := range cells[2:] {
			column, value, _ := strings.Cut(cell, "=")
			switch column {
			case "material":
				p.Material = strings.ReplaceAll(value, "_", " ")
				continue
			case "shot":
				p.Shot = strings.ReplaceAll(value, "_", " ")
				continue
			}
			var x float64
			if _, err := fmt.Sscan(value, &x); err != nil {
				t.Fatalf("%s: %v", cell, err)
			}
			numbers := numbersOf(p)
			switch column {
			case "count":
				p.Count = int(x)
			case "strands":
				p.Strands = int(x)
			default:
				if numbers[column] == nil {
					t.Fatalf("%s: no such column", cell)
				}
				*numbers[column] = x
			}
		}
		parts = append(parts, p)
	}
	return parts
}

// numbersOf lists the columns of a part that hold a size.
func numbersOf(p *model.Part) map[string]*float64 {
	return map[string]*float64{
		"diameter": &p.DiameterMM, "tip_diameter": &p.TipDiameterMM, "length": &p.LengthMM, "start": &p.StartMM,
		"load_length": &p.LoadLengthMM, "bore": &p.BoreMM, "shot_diameter": &p.ShotDiameterMM, "density": &p.DensityGCM3,
		"strand_width": &p.StrandWidthMM, "strand_thickness": &p.StrandThicknessMM, "drop_angle": &p.DropAngleDeg, "tail": &p.TailMM,
		"unloaded_diameter": &p.UnloadedDiameterMM, "sheath_angle": &p.SheathAngleDeg, "sheath_thickness": &p.SheathThicknessMM,
		"mass_per_length": &p.MassPerLengthGM, "mass": &p.MassG, "fraction": &p.Fraction,
	}
}

// blank is a row that states nothing.
func blank(name string, role model.Role) *model.Part {
	p := &model.Part{Product: "bull", Name: name, Role: role}
	for _, x := range numbersOf(p) {
		*x = math.NaN()
	}
	return p
}

// plan plans a parts list that must have a design.
func plan(t reporter, text string) *model.Design {
	t.Helper()
	return planParts(t, list(t, text))
}

func planParts(t reporter, parts []*model.Part) *model.Design {
	t.Helper()
	d, problems := model.NewDesign(parts, reference.Materials())
	for _, p := range problems {
		t.Fatalf("NewDesign: %v", p)
	}
	return d
}

// near fails unless got is want within a relative tolerance.
func near(t reporter, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol*math.Abs(want)) {
		t.Errorf("%s = %.9g, want %.9g within %g", what, got, want, tol)
	}
}

// whip is an ordinary whip that has a part of every role; its sizes are common
// practice, no source.
const whip = `
spike    rod     material=steel diameter=7.9 length=200
core     core    mass_per_length=5.9 length=1500 start=150 load_length=700 bore=4.6 shot=9_lead unloaded_diameter=3.4 sheath_angle=32 sheath_thickness=0.7
belly    plait   strands=12 strand_width=3.4 strand_thickness=0.9 diameter=9 tip_diameter=5 length=1500 tail=150 mass_per_length=3.6
overlay  plait   strands=16 strand_width=3.4 strand_thickness=0.9 diameter=15 tip_diameter=12.6 length=250 tail=200 mass_per_length=3.6
overlay  plait   tip_diameter=6.2 length=1600
pommel   knot    mass=31
handle   wrap    mass_per_length=2.2 length=230 start=20 count=2
fall     fall    mass=9 length=600 start=1850 diameter=5 tip_diameter=3
popper   cracker mass=1.5 start=2450 length=150
wax      finish  fraction=0.04
tag      other   mass=3 start=240
`
