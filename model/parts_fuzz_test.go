package model_test

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"trueplait/data/reference"
	"trueplait/ingest"
	"trueplait/model"
)

// FuzzPartsList plans every product of a file of parts. A design that is
// accepted holds together: its figures are numbers, its parts and groups of
// strands add up, its parts balance where they lie. A problem names its line
// and column. None takes longer than a maker would wait for it.
func FuzzPartsList(f *testing.F) {
	const header = "product,part,role,material,count,diameter_mm,tip_diameter_mm,length_mm,start_mm,load_length_mm,bore_mm,shot,shot_diameter_mm," +
		"density_g_cm3,strands,strand_width_mm,strand_thickness_mm,drop_angle_deg,tail_mm,unloaded_diameter_mm,sheath_angle_deg," +
		"sheath_thickness_mm,mass_per_length_g_m,mass_g,fraction\n"
	const ordinary = "bull,spike,rod,steel,,7.9,,200,,,,,,,,,,,,,,,,,\n" +
		"bull,core,core,,,,,1500,150,700,4.6,9 lead,,,,,,,,3.4,32,0.7,5.9,,\n" +
		"bull,belly,plait,,,9,5,1500,,,,,,,12,3.4,0.9,,150,,,,3.6,,\n" +
		"bull,overlay,plait,,,15,12.6,250,,,,,,,16,3.4,0.9,,200,,,,3.6,,\n" +
		"bull,overlay,plait,,,,6.2,1600,,,,,,,,,,,,,,,,,\n" +
		"bull,handle,wrap,,2,,,230,20,,,,,,,,,,,,,,2.2,,\n" +
		"bull,fall,fall,,,5,3,600,1850,,,,,,,,,,,,,,,9,\n" +
		"bull,pommel,knot,,,,,,,,,,,,,,,,,,,,,31,\nbull,wax,finish,,,,,,,,,,,,,,,,,,,,,,0.04\n"
	var most strings.Builder // that a list may have
	for i := range 200 {
		fmt.Fprintf(&most, "bull,layer %d,plait,,,%d,100,%d,%d,,,,,,1000,1,1,,,,,,3.6,,\n", i, 1000+4*i, 1000-i, i)
	}
	for _, seed := range []string{
		header + ordinary,
		header + most.String(),
		"product,part,role\nbull,a,core\nbull,b,plait\nbull,c,rod\nbull,d,finish\nbull,e,fall\n",
		"product,part,role,diameter_mm,tip_diameter_mm,length_mm,strands,strand_width_mm,strand_thickness_mm,mass_per_length_g_m,drop_angle\n" +
			"x,a,plait,1e6,1e-6,1e9,1000,1e-3,1e-6,1e9,0\nx,b,plait,1000,2,1,4,3,1,4,89.999999 deg\n",
		"product;part;role;load_length;bore;shot;length;mass_per_length;sheath_angle;unloaded_diameter\n" +
			"x;core;core;6 in;0,2 in;9 lead;1 ft;4,7 g/m;30 deg;4 mm\ny;core;core;0,5 mm;9e8 mm;;1 mm;1e-6 g/m;;\n",
	} {
		f.Add([]byte(seed))
	}
	materials := reference.Materials()
	f.Fuzz(func(t *testing.T, file []byte) {
		begun := time.Now()
		lists := map[string][]*model.Part{}
		readers, err := ingest.Open(bytes.NewReader(file), "x.csv", ingest.Options{})
		if err != nil || readers[0].Kind() != model.Parts {
			return
		}
		for {
			row, _, err := readers[0].Read()
			if err == io.EOF {
				break
			}
			if err != nil {
				t.Fatal(err)
			}
			if part, ok := row.(*model.Part); ok {
				lists[part.Product] = append(lists[part.Product], part)
			}
		}
		for product, list := range lists {
			design, problems := model.NewDesign(list, materials)
			if (design == nil) != (len(problems) > 0) {
				t.Fatalf("%q: design %v with problems %v", product, design, problems)
			}
			for _, p := range problems {
				if p.Column == "" || p.Err == nil || !slices.ContainsFunc(list, func(row *model.Part) bool { return row.Origin == p.Origin }) {
					t.Fatalf("%q: a problem that names no cell of it: %+v", product, p)
				}
			}
			if design != nil {
				checkDesign(t, design)
			}
		}
		if took := time.Since(begun); took > 30*time.Second { // a tenth of a second, but for a machine with other work and the instruments of fuzzing
			t.Fatalf("%d bytes took %v", len(file), took)
		}
	})
}

// checkDesign fails where figures of a design are no numbers, or do not go
// together.
func checkDesign(t *testing.T, d *model.Design) {
	t.Helper()
	number := func(what string, x, from, to float64) {
		t.Helper()
		if !(x >= from && x <= to) || math.IsInf(x, 0) {
			t.Fatalf("%q: %s is %v, want between %v and %v", d.Product, what, x, from, to)
		}
	}
	const rounding = 1e-9
	huge := math.MaxFloat64
	number("weight", d.WeightG, 0, huge)
	number("shot", d.ShotG, 0, d.WeightG*(1+rounding))
	number("body", d.BodyG, 0, d.WeightG*(1+rounding))
	number("uncertainty of shot", d.ShotUncertainty, 0, huge)
	sum := 0.0
	plaited := false
	for _, p := range d.Parts {
		sum += p.MassG
		number(p.Name+": mass", p.MassG, 0, huge)
		number(p.Name+": start", p.StartMM, 0, huge)
		number(p.Name+": end", p.EndMM, p.StartMM, huge)
		if p.MassG > 0 {
			number(p.Name+": balance", p.BalanceMM, p.StartMM*(1-rounding), p.EndMM*(1+rounding))
		}
		if p.Role != model.Plait {
			continue
		}
		plaited = true
		before := model.Strands{}
		for _, g := range p.Strands {
			number(p.Name+": strands", float64(g.Count), 2, 1000)
			number(p.Name+": end of strands", g.ToMM, before.ToMM, p.EndMM*(1+rounding))
			number(p.Name+": cut", g.CutMM, before.CutMM, huge)
			before = g
		}
		number(p.Name+": longest cut", p.CutMM, before.CutMM, before.CutMM)
		number(p.Name+": longest strand", p.CutMM-p.TailMM, (p.EndMM-p.StartMM)*(1-1e-6), huge)
	}
	number("sum of parts", sum, d.WeightG*(1-rounding), d.WeightG*(1+rounding))
	if d.WeightG > 0 {
		number("balance", d.BalanceMM, 0, huge)
	}
	if plaited {
		number("length", d.LengthMM, 0, huge)
		number("strand", d.StrandMM, 0, huge)
	}
}
