package ingest

import (
	"errors"
	"strings"
	"testing"

	"trueplait/model"
)

func TestNormalise(t *testing.T) {
	for _, c := range []struct{ header, want string }{
		{"weight", "weight"},
		{"Weight (oz)", "weight_oz"},
		{" Core  Batch ", "core_batch"},
		{"core-batch", "core_batch"},
		{"core–batch", "core_batch"},
		{"Core\u00a0Batch", "core_batch"},
		{"density [g/cm³]", "density_g_cm3"},
		{"Density {g/cm3}", "density_g_cm3"},
		{"mass per length. (g/m)", "mass_per_length_g_m"},
		{"a².b", "a2_b"},
		{"__x__", "x"},
		{"(-)", ""},
		{"ÉTÉ", "été"},
	} {
		if got := normalise(c.header); got != c.want {
			t.Errorf("normalise(%q) = %q, want %q", c.header, got, c.want)
		}
	}
}

func TestKinds(t *testing.T) {
	for _, c := range []struct {
		header string
		want   model.Kind // "": refused
	}{
		{"build,date,maker,product", model.Builds},
		{"Product,Maker,Date,BUILD", model.Builds},
		{"fill,date,core_batch,filled_length,shot_mass", model.Fills},
		{"check,date,strand_batch,checked_length,checked_mass", model.Checks},
		{"product,part,role", model.Parts},
		{"product,description", model.Products},
		{"date,maker", ""},
		{"build,fill,date,maker,product", ""},
		{"build,date,maker,product,part,role", ""},
		{"builds", ""},
	} {
		r, err := NewReader(strings.NewReader(c.header+"\n"), "x.csv", Options{})
		if c.want == "" {
			if !errors.Is(err, ErrKind) || !strings.Contains(err.Error(), kindsByHeader) {
				t.Errorf("header %q: got %v, want ErrKind and the kinds", c.header, err)
			}
			continue
		}
		if err != nil {
			t.Errorf("header %q: %v", c.header, err)
		} else if r.Kind() != c.want {
			t.Errorf("header %q is %s, want %s", c.header, r.Kind(), c.want)
		}
	}
}

// TestHeaderUnits: the unit in a header is that of cells which name none.
func TestHeaderUnits(t *testing.T) {
	const need = "build,date,maker,product,"
	const cells = "B1,2024-03-31,dita,bull,"
	for _, c := range []struct {
		header, cell string
		want         float64
		field        func(*model.Build) float64
	}{
		{"weight_g", "412", 412, func(b *model.Build) float64 { return b.WeightG }},
		{"Weight (oz)", "14 1/2", 14.5 * nistOunce, func(b *model.Build) float64 { return b.WeightG }},
		{"weight_lbs", "1.5", 1.5 * nistPound, func(b *model.Build) float64 { return b.WeightG }},
		{"Weight in kg.", "", 0, nil}, // not a unit: "in_kg"
		{"weight_kg", "412 g", 412, func(b *model.Build) float64 { return b.WeightG }},
		{"Shot used [grains]", "7000", nistPound, func(b *model.Build) float64 { return b.ShotUsedG }},
		{"length-ft", "6", 6 * nistFoot, func(b *model.Build) float64 { return b.LengthMM }},
		{"length.inches", "8½", 8.5 * nistInch, func(b *model.Build) float64 { return b.LengthMM }},
		{"length_m", "1.8", 1800, func(b *model.Build) float64 { return b.LengthMM }},
	} {
		r, err := NewReader(strings.NewReader(need+c.header+"\n"+cells+c.cell+"\n"), "x.csv", Options{})
		if c.field == nil {
			if !errors.Is(err, ErrColumn) {
				t.Errorf("header %q: got %v, want ErrColumn", c.header, err)
			}
			continue
		}
		if err != nil {
			t.Errorf("header %q: %v", c.header, err)
			continue
		}
		row, problems, err := r.Read()
		if err != nil || problems != nil {
			t.Errorf("header %q, cell %q: %v, %v", c.header, c.cell, problems, err)
			continue
		}
		if got := c.field(row.(*model.Build)); !near(got, c.want) {
			t.Errorf("header %q, cell %q = %v, want %v", c.header, c.cell, got, c.want)
		}
	}
}

func TestHeaderProblems(t *testing.T) {
	for _, c := range []struct {
		name, header string
		want         []string
		about        error
	}{
		{"unknown", "build,date,maker,product,wieght", []string{
			`x.csv:1: "wieght" is not a column of builds; the nearest is "weight": rename it, delete it or say --ignore-unknown`}, ErrColumn},
		{"unknown measure", "build,date,maker,product,weight_stone", []string{
			`x.csv:1: "weight_stone" is not a column of builds; the nearest is "weight": rename it, delete it or say --ignore-unknown`}, ErrColumn},
		{"unit of a text", "build,date,maker,product,note_g", []string{
			`x.csv:1: "note_g" is not a column of builds; the nearest is "note": rename it, delete it or say --ignore-unknown`}, ErrColumn},
		{"not a prefix at _", "build,date,maker,product,lengthmm", []string{
			`x.csv:1: "lengthmm" is not a column of builds; the nearest is "length": rename it, delete it or say --ignore-unknown`}, ErrColumn},
		{"no name", "build,date,maker,product,weight,", []string{
			`x.csv:1: column 6 has no header: name it, delete it or say --ignore-unknown`}, ErrColumn},
		{"wrong dimension", "build,date,maker,product,weight_mm", []string{
			`x.csv:1: "weight_mm" is in mm, a unit of length: a mass takes g, kg, oz, lb or grain`}, ErrUnit},
		{"mass per length", "product,part,role,mass_g_m", []string{
			`x.csv:1: "mass_g_m" is in g_m, a unit of mass per length: a mass takes g, kg, oz, lb or grain`}, ErrUnit},
		{"gr", "build,date,maker,product,Weight (gr)", []string{
			`x.csv:1: "Weight (gr)" is in "gr", which may be grams or grains: write g or grain`}, ErrUnit},
		{"twice", "build,date,maker,product,weight_g,Weight (oz)", []string{
			`x.csv:1: "Weight (oz)" is the column weight, as "weight_g" is: keep one of them`}, ErrColumn},
		{"missing", "build,date", []string{
			`x.csv:1: the column "maker" is missing: builds need it`,
			`x.csv:1: the column "product" is missing: builds need it`}, ErrColumn},
		{"all at once", "build,date,makr,product,weight_mm,length_g,length_mm", []string{
			`x.csv:1: "makr" is not a column of builds; the nearest is "maker": rename it, delete it or say --ignore-unknown`,
			`x.csv:1: "weight_mm" is in mm, a unit of length: a mass takes g, kg, oz, lb or grain`,
			`x.csv:1: "length_g" is in g, a unit of mass: a length takes mm, cm, m, in or ft`,
			`x.csv:1: "length_mm" is the column length, as "length_g" is: keep one of them`,
			`x.csv:1: the column "maker" is missing: builds need it`}, ErrColumn},
		{"misspelt id", "biuld,product", []string{
			`x.csv:1: "biuld" is not a column of products; the nearest is "product": rename it, delete it or say --ignore-unknown`,
			`x.csv:1: the file was read as products: ` + kindsByHeader}, ErrKind},
		{"control character", "build,date,maker,product,we\u202eight", []string{
			`x.csv:1: "we\u202eight" is not a column of builds; the nearest is "weight": rename it, delete it or say --ignore-unknown`}, ErrColumn},
		{"bare quote", `build,date,maker,product,length (")`, []string{
			`x.csv:1: "length (")" has a quote inside a cell without quotes: write the cell as "length ("")"`}, ErrRow},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := NewReader(strings.NewReader(c.header+"\nB1\n"), "x.csv", Options{})
			problems, ok := err.(Problems)
			if !ok {
				t.Fatalf("got %v (%T), want Problems", err, err)
			}
			if got, want := problems.Error(), strings.Join(c.want, "\n"); got != want {
				t.Errorf("got\n%s\nwant\n%s", got, want)
			}
			if !errors.Is(err, c.about) {
				t.Errorf("%v is not about %v", err, c.about)
			}
		})
	}
}

// TestLongestName: mass_per_length is not mass in the unit per_length.
func TestLongestName(t *testing.T) {
	file := "product,part,role,mass_per_length_oz_ft,mass_oz,length_low\n"
	_, err := NewReader(strings.NewReader(file), "x.csv", Options{})
	if err == nil || !strings.Contains(err.Error(), `"length_low" is not a column of parts`) {
		t.Errorf("got %v, want length_low refused in parts", err)
	}
	file = "product,part,role,Mass per length (oz/ft),mass_oz,density_g_cm3,drop_angle_deg,fraction_%\nbull,belly,plait,0.05,2,11.1,30,2\n"
	r, err := NewReader(strings.NewReader(file), "x.csv", Options{})
	if err != nil {
		t.Fatal(err)
	}
	row, problems, err := r.Read()
	if err != nil || problems != nil {
		t.Fatal(problems, err)
	}
	p := row.(*model.Part)
	if !near(p.MassPerLengthGM, 0.05*nistOunce*1000/nistFoot) || !near(p.MassG, 2*nistOunce) || p.DensityGCM3 != 11.1 || p.DropAngleDeg != 30 || p.Fraction != 0.02 {
		t.Errorf("got %+v", p)
	}
}

func TestIgnoreUnknown(t *testing.T) {
	file := "build,colour,date,,maker,product,weight_g,,length_remark\nB1,red,2024-03-31,x,dita,bull,412,y,z\n"
	r, err := NewReader(strings.NewReader(file), "x.csv", Options{IgnoreUnknown: true})
	if err != nil {
		t.Fatal(err)
	}
	row, problems, err := r.Read()
	if err != nil || problems != nil {
		t.Fatal(problems, err)
	}
	if b := row.(*model.Build); b.ID != "B1" || b.Maker != "dita" || b.WeightG != 412 || model.Known(b.LengthMM) {
		t.Errorf("got %+v", b)
	}
	for _, header := range []string{"weight_mm", "weight_gr", "weight_oz,weight_g"} {
		if _, err := NewReader(strings.NewReader("build,date,maker,product,"+header+"\n"), "x.csv", Options{IgnoreUnknown: true}); err == nil {
			t.Errorf("header %q was ignored", header)
		}
	}
}

func TestDistance(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{
		{"", "", 0}, {"a", "", 1}, {"", "ab", 2}, {"kitten", "sitting", 3}, {"weight", "wieght", 2}, {"é", "e", 1},
	} {
		if got := Distance(c.a, c.b); got != c.want {
			t.Errorf("Distance(%q, %q) = %d, want %d", c.a, c.b, got, c.want)
		}
	}
}
