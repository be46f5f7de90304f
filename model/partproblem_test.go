package model_test

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"trueplait/data/reference"
	"trueplait/model"
)

// TestWrongParts plans parts lists that cannot be made, or that lack a figure:
// each problem names its cell and what to do.
func TestWrongParts(t *testing.T) {
	const (
		core  = "core core mass_per_length=6 length=900 "
		plait = "belly plait strands=8 strand_width=3 strand_thickness=1 diameter=8 length=1000 mass_per_length=4"
		over  = "\ncover plait strands=8 strand_width=3 strand_thickness=1 length=1000 mass_per_length=4 "
	)
	for _, c := range []struct {
		name, text string
		want       []string
	}{
		{"shot that does not fit", core + "load_length=500 bore=2.5 shot=6_lead", []string{
			`parts.csv:2: bore: "2.5 mm" does not let in shot of 2.794 mm: use No. 7.5 or smaller, or a wider cord`}},
		{"shot in a bore for none", core + "load_length=500 bore=1 shot_diameter=2 density=8", []string{
			`parts.csv:2: bore: "1 mm" does not let in shot of 2 mm: use shot of at most 1 mm, or a wider cord`}},
		{"shot in a bore for letters", core + "load_length=500 bore=4.6 shot=FF_steel", []string{
			`parts.csv:2: bore: "4.6 mm" does not let in shot of 5.842 mm: use BB or smaller, or a wider cord`}},
		{"half a load", core + "bore=5", []string{
			`parts.csv:2: load_length: "" is blank: a loaded core needs it`,
			`parts.csv:2: shot_diameter: "" is blank: give it, or the size in shot, such as "9 lead"`,
			`parts.csv:2: density: "" is blank: give that of the shot, or its metal in shot, such as "9 lead"`}},
		{"unknown shot", core + "bore=5 load_length=500 shot=13_gold", []string{
			`parts.csv:2: shot: "13 gold" has no size that the tables know: give shot_diameter, or one of 12, 11, 10, 9, 8.5, 8, 7.5, 7, 6, 5, 4, 3, 2, 1, B, BB, BBB, T, TT, F, FF`,
			`parts.csv:2: shot: "13 gold" has no metal that the tables know: give density, or one of bismuth, lead, steel, tungsten alloy`}},
		{"load longer than the core", core + "bore=5 load_length=901 shot=9_lead", []string{
			`parts.csv:2: load_length: "901 mm" is longer than the core, 900 mm: shorten the load or lengthen the core`}},
		{"cord that does not open", core + "bore=8 load_length=500 shot=9_lead unloaded_diameter=3 sheath_angle=30 sheath_thickness=0.5", []string{
			`parts.csv:2: bore: "8 mm" is wider than the cord opens, 6.5 mm at the very most: check sheath_angle and unloaded_diameter, or use a wider cord`}},
		{"angle without diameter", core + "bore=5 load_length=500 shot=9_lead sheath_angle=30", []string{
			`parts.csv:2: unloaded_diameter: "" is blank: a loaded core needs it`}},
		{"angle across", core + "bore=5 load_length=500 shot=9_lead sheath_angle=90 unloaded_diameter=4", []string{
			`parts.csv:2: sheath_angle: "90°" is not below 90°: measure it from the axis of the cord`}},
		{"cord of unknown mass", "core core length=900\nother core length=900 material=hemp", []string{
			`parts.csv:2: mass_per_length: "" is blank: weigh a metre of the cord, or name its kind in material, such as type III`,
			`parts.csv:3: material: "hemp" is not a kind of cord whose mass is known: give mass_per_length, or one of nylon 1/16 in dia, 110 lb; nylon 2.38 mm dia, 275 lb; nylon flat braid 1/8 in, 325 lb; type i; type ia; type ii; type iia; type iia, flat, 3/16 x 3/64 in; type iii; type iv`}},
		{"rod of nothing", "a rod diameter=8 length=200\nb rod diameter=8 material=glue length=200\nc rod material=steel", []string{
			`parts.csv:2: density: "" is blank: give it, or a material whose density is known, such as steel`,
			`parts.csv:3: material: "glue" has no density in the tables: give density, or use a material they have, such as steel`,
			`parts.csv:4: diameter: "" is blank: a rod needs it`,
			`parts.csv:4: length: "" is blank: a rod needs it`}},
		{"three strands", strings.Replace(plait, "strands=8", "strands=3", 1), []string{
			`parts.csv:2: strands: "3" are too few for a plait: use 4 or more`}},
		{"plait without figures", "belly plait diameter=8 length=1000", []string{
			`parts.csv:2: strands: "" is blank: a plait needs it`,
			`parts.csv:2: strand_width: "" is blank: a plait needs it`,
			`parts.csv:2: strand_thickness: "" is blank: a plait needs it`,
			`parts.csv:2: mass_per_length: "" is blank: weigh a metre of the cord, or name its kind in material, such as type III`}},
		{"more strands than fit", strings.Replace(plait, "strands=8", "strands=24", 1), []string{
			`parts.csv:2: strands: "24" are more than the start holds: at 30° a core of 8 mm takes at most 18 strands of 3 mm; use fewer or narrower ones, or a smaller drop_angle`}},
		{"thinned out", plait + " tip_diameter=0.1", []string{
			`parts.csv:2: strands: "8" thin out to fewer than 4 from 986.7 mm on: use narrower strands or a thicker core, or end the layer there`}},
		{"gap in a layer", plait + "\nbelly plait length=500 start=1001", []string{
			`parts.csv:3: start: "1001 mm" leaves a gap or overlap: the row above ends at 1000 mm; leave start blank, or give the part another name`}},
		{"layer at odds", plait + "\nbelly plait length=500 strands=6 strand_width=4 tail=10 count=2 drop_angle=31 material=hemp", []string{
			`parts.csv:3: strands: "6" is not the 8 of the layer's first row: leave it blank, or give the part another name`,
			`parts.csv:3: strand_width: "4 mm" is not the 3 mm of the layer's first row: leave it blank, or give the part another name`,
			`parts.csv:3: drop_angle: "31°" is not the 30° of the layer's first row: leave it blank, or give the part another name`,
			`parts.csv:3: tail: "10 mm" is not the 0 mm of the layer's first row: leave it blank, or give the part another name`,
			`parts.csv:3: count: "2" is not the 1 of the layer's first row: leave it blank, or give the part another name`,
			`parts.csv:3: material: "hemp" is not the "" of the layer's first row: leave it blank, or give the part another name`}},
		{"layer inside the one below", plait + over + "diameter=7", []string{
			`parts.csv:3: diameter: "7 mm" starts inside the layer below: belly goes over a core of 8 mm at 0 mm, so this layer over 12 mm`}},
		{"layer that dips into the one below", plait + over + "diameter=12 tip_diameter=7.5", []string{
			`parts.csv:3: tip_diameter: "7.5 mm" starts inside the layer below: belly goes over a core of 8 mm at 1000 mm, so this layer over 12 mm`}},
		{"wax on nothing", "a rod material=steel diameter=8 length=100\nwax finish fraction=0.05\noil finish", []string{
			`parts.csv:3: fraction: "0.05" is of the cord of cores and plaits, and none is listed: add them, or state a mass with the role other`,
			`parts.csv:4: fraction: "" is blank: a finish needs it`}},
		{"fall of no mass", "a fall length=600\nb wrap mass_per_length=3", []string{
			`parts.csv:2: mass: "" is blank: a fall needs it, or mass_per_length and length`,
			`parts.csv:3: length: "" is blank: a wrap needs it`}},
		{"sizes below 0", "a rod material=steel diameter=0 length=-5 start=-1\nb knot mass=0", []string{
			`parts.csv:2: diameter: "0 mm" is not above 0`,
			`parts.csv:2: length: "-5 mm" is below 0`,
			`parts.csv:3: mass: "0 g" is not above 0`}},
	} {
		d, problems := model.NewDesign(list(t, c.text), reference.Materials())
		if d != nil {
			t.Errorf("%s: has a design", c.name)
		}
		same(t, c.name, problems, c.want)
	}
}

// TestOddParts plans parts lists that can be made, with doubts.
func TestOddParts(t *testing.T) {
	const (
		plait = "belly plait strands=12 strand_width=3 strand_thickness=1 diameter=8 length=1000 mass_per_length=4"
		over  = "\ncover plait strands=14 strand_width=4 strand_thickness=1 length=1000 mass_per_length=4 "
	)
	for _, c := range []struct {
		name, text string
		want       []string
	}{
		{"nothing odd", plait + over + "diameter=12", nil},
		{"within a tenth", plait + over + "diameter=10.9", nil},
		{"loose over the layer below", plait + over + "diameter=12 tip_diameter=13.4", []string{
			`parts.csv:3: tip_diameter: "13.4 mm" is 12 % off the outside of the layer below: belly is 12 mm thick at 1000 mm, where this layer goes over 13.4 mm`}},
		{"nothing below there", plait + over + "diameter=10 start=1000", nil},
		{"below is the last that is there", plait + over + "diameter=12" + strings.Replace(over, "cover", "top", 1) + "diameter=15.9", nil},
		{"below begins later", plait + " start=300" + over + "diameter=10 tip_diameter=10.5", []string{
			`parts.csv:3: diameter: "10 mm" is 15 % off the outside of the layer below: belly is 12 mm thick at 300 mm, where this layer goes over 10.15 mm`}},
		{"same rows of a layer repeated", plait + "\nbelly plait strands=12 strand_width=3 drop_angle=30 tail=0 count=1 start=1000 length=500", nil},
		{"gaps", strings.Replace(plait, "strands=12", "strands=4", 1), []string{
			`parts.csv:2: strands: "4" lie at 79° at 0 mm, where gaps show above 65°: use more or wider strands`}},
		{"odd number of strands", strings.Replace(plait, "strands=12", "strands=13", 1), []string{
			`parts.csv:2: strands: "13" is odd, and a plait has as many strands going left as right: planned with 12`}},
		{"published mass of cord", "core core material=Type_II length=900", []string{
			`parts.csv:2: material: "Type II" is taken at 5.6157 g/m, the published figure: cord as bought is often lighter; weigh some and give mass_per_length`}},
		{"thin sheath", "core core mass_per_length=6 length=900 load_length=500 bore=4 shot=9_lead unloaded_diameter=3 sheath_angle=30", []string{
			`parts.csv:2: sheath_thickness: "" is blank: taken as 0; measure it, as how much loading shortens the cord hangs on it`}},
		{"no sheath", "core core mass_per_length=6 length=900 load_length=500 bore=4 shot=9_lead", []string{
			`parts.csv:2: sheath_angle: "" is blank: planned as if loading did not shorten the cord; give it with unloaded_diameter, or cut longer`}},
		{"figures for another role", "spike rod material=steel diameter=8 tip_diameter=6 length=200 mass=70", []string{
			`parts.csv:2: tip_diameter: "6 mm" is not used for the role rod: leave it blank, or check the role`,
			`parts.csv:2: mass: "70 g" is not used for the role rod: leave it blank, or check the role`}},
	} {
		d := plan(t, c.text)
		same(t, c.name, d.Warnings, c.want)
		var byPart []string
		for _, part := range d.Parts {
			byPart = append(byPart, part.Warnings...)
		}
		if len(byPart) != len(c.want) {
			t.Errorf("%s: parts warn %q", c.name, byPart)
		}
		for _, w := range byPart {
			if !slices.ContainsFunc(c.want, func(want string) bool { return strings.HasSuffix(want, ": "+w) }) {
				t.Errorf("%s: a part warns %q", c.name, w)
			}
		}
	}
}

// TestNoParts refuses an empty list.
func TestNoParts(t *testing.T) {
	if d, problems := model.NewDesign(nil, reference.Materials()); d != nil || len(problems) != 1 {
		t.Errorf("NewDesign(nil) = %v, %v, want one problem", d, problems)
	}
}

// TestPartProblem unwraps to what is wrong.
func TestPartProblem(t *testing.T) {
	err := errors.New("is odd")
	p := &model.PartProblem{Origin: model.Origin{File: "a.csv", Line: 7}, Part: "core", Column: "bore", Text: "5 mm", Err: err}
	if !errors.Is(p, err) || p.Error() != `a.csv:7: bore: "5 mm" is odd` || p.Cell() != `bore: "5 mm" is odd` {
		t.Errorf("%v", p)
	}
}

func same(t *testing.T, name string, got []*model.PartProblem, want []string) {
	t.Helper()
	var lines []string
	for _, p := range got {
		lines = append(lines, fmt.Sprint(p))
	}
	if !slices.Equal(lines, want) {
		t.Errorf("%s:\n%s\nwant\n%s", name, strings.Join(lines, "\n"), strings.Join(want, "\n"))
	}
}
