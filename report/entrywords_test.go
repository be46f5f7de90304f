package report

import (
	"slices"
	"strings"
	"testing"

	"trueplait/calibrate"
	"trueplait/model"
)

func TestComparison(t *testing.T) {
	known := calibrate.Interval{Median: 416, Low: 402, High: 431}
	unknown := calibrate.Interval{Median: 400, Low: model.Unknown, High: model.Unknown}
	for _, c := range []struct {
		name string
		kind model.Kind
		e    calibrate.Expected
		want string
	}{
		{"below", model.Builds, calibrate.Expected{Quantity: model.Weight, Measured: 390, Planned: 400, Today: known},
			"Finished weight 390 g (13 3/4 oz): 12.0 g (3/8 oz) lighter than today's 95 % band, 402 to 431 g (14 1/8 to 15 1/4 oz)."},
		{"above", model.Builds, calibrate.Expected{Quantity: model.Weight, Measured: 531, Planned: 400, Today: known},
			"Finished weight 531 g (18 3/4 oz): 100 g (3 1/2 oz) heavier than today's 95 % band, 402 to 431 g (14 1/8 to 15 1/4 oz)."},
		{"inside", model.Builds, calibrate.Expected{Quantity: model.Length, Measured: 410, Planned: 400, Today: known},
			"Finished length 410 mm (16 1/8 in): inside today's 95 % band, 402 to 431 mm (15 7/8 to 17 in)."},
		{"on the limit", model.Builds, calibrate.Expected{Quantity: model.Shot, Measured: 431, Planned: 400, Today: known},
			"Shot used 431 g (15 1/4 oz): inside today's 95 % band, 402 to 431 g (14 1/8 to 15 1/4 oz)."},
		{"nothing known", model.Fills, calibrate.Expected{Quantity: model.Shot, Measured: 14, Planned: 15, Today: unknown},
			"Shot 14.0 g (1/2 oz): the plan alone says 15.0 g (1/2 oz); nothing is known yet of how far off it is."},
		{"cord", model.Checks, calibrate.Expected{Quantity: model.Body, Measured: 440, Planned: 400, Today: known},
			"Cord 440 g (15 1/2 oz): 9.0 g (3/8 oz) heavier than today's 95 % band, 402 to 431 g (14 1/8 to 15 1/4 oz)."},
	} {
		if got := Comparison(c.kind, c.e, Both); got != c.want {
			t.Errorf("%s:\n%s\nwant\n%s", c.name, got, c.want)
		}
	}
}

func TestDoubts(t *testing.T) {
	slip := func(q model.Quantity, measured float64, unit string, off int, fits float64) calibrate.Expected {
		return calibrate.Expected{Quantity: q, Measured: measured, Slip: &calibrate.Whole{Unit: unit, Off: off, Fits: fits}}
	}
	for _, c := range []struct {
		name string
		r    Reading
		want []string
	}{
		{"none", Reading{Row: &model.Build{}, Today: []calibrate.Expected{{Quantity: model.Weight}}}, nil},
		{"a warning that steers the terminal", Reading{Row: &model.Build{}, Warnings: []string{"weight \x1b[2J looks odd"}},
			[]string{"Weight <U+001B>[2J looks odd"}},
		{"a foot", Reading{Row: &model.Build{}, Today: []calibrate.Expected{slip(model.Length, 2174, "foot", 1, 1869.2)}},
			[]string{"Finished length 2174 mm looks like 1 foot too many: 1869 mm would fit. Look at the tape again."}},
		{"two inches too few", Reading{Row: &model.Build{}, Today: []calibrate.Expected{slip(model.Length, 1818, "inch", -2, 1868.8)}},
			[]string{"Finished length 1818 mm looks like 2 inches too few: 1869 mm would fit. Look at the tape again."}},
		{"a pound, said once", Reading{Row: &model.Build{}, Today: []calibrate.Expected{slip(model.Body, 780, "pound", 1, 326), slip(model.Weight, 864.6, "pound", 1, 411)}},
			[]string{"Finished weight 865 g looks like 1 pound too many: 411 g would fit. Look at the scale again."}},
		{"cord, which is all body", Reading{Row: &model.Check{}, Today: []calibrate.Expected{slip(model.Body, 50, "ounce", 1, 22)}},
			[]string{"Cord 50.0 g looks like 1 ounce too many: 22.0 g would fit. Look at the scale again."}},
	} {
		if got := c.r.Doubts(Metric); !slices.Equal(got, c.want) {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

func TestChanged(t *testing.T) {
	labels := model.Labels{Maker: "dita", CoreBatch: "C14", StrandBatch: "N07"}
	i := func(median, half float64) calibrate.Interval {
		return calibrate.Interval{Median: median, Low: median * (1 - half), High: median * (1 + half)}
	}
	none := calibrate.Interval{Median: 1, Low: model.Unknown, High: model.Unknown}
	for _, c := range []struct {
		name   string
		change calibrate.Change
		base   float64
		want   string
	}{
		{"load", calibrate.Change{Quantity: model.Shot, Labels: labels, Before: i(1, .06), After: i(.94, .03), Rows: 3}, 2.19 / 25.4,
			"Core batch C14: 2.19 to 2.06 g per inch (± 3 %), from 3 builds or test fills."},
		{"first of a batch", calibrate.Change{Quantity: model.Shot, Labels: labels, Before: none, After: i(.94, .03), Rows: 1}, 2.19 / 25.4,
			"Core batch C14: 2.06 g per inch (± 3 %), from 1 build or test fill."},
		{"load, nothing known of the plan's", calibrate.Change{Quantity: model.Shot, Labels: labels, Before: i(.98, .06), After: i(.94, .03), Rows: 3}, model.Unknown,
			"Core batch C14: 2.0 to 6.0 % less than planned (± 3 %), from 3 builds or test fills."},
		{"other side of the plan", calibrate.Change{Quantity: model.Length, Labels: labels, Before: i(.98, .02), After: i(1.01, .01), Rows: 5}, model.Unknown,
			"Finished length with strand batch N07: 2.0 % shorter to 1.0 % longer than planned (± 1 %), from 5 builds."},
		{"surer", calibrate.Change{Quantity: model.Weight, Labels: labels, Before: i(1.02, .05), After: i(1.02, .03), Rows: 9}, model.Unknown,
			"Finished weight by dita: still 2.0 % heavier than planned (± 3 %, before ± 5 %), from 9 builds."},
		{"no label at all", calibrate.Change{Quantity: model.Body, Before: i(1.02, .05), After: i(1.04, .05), Rows: 2}, model.Unknown,
			"Weight less shot: 2.0 to 4.0 % heavier than planned (± 5 %), from 2 builds or cord checks."},
		{"nothing to see", calibrate.Change{Quantity: model.Strand, Labels: labels, Before: i(1.02, .05), After: i(1.0201, .0501), Rows: 2}, model.Unknown,
			"No factor moved by as much as is shown."},
	} {
		s := Saved{Changes: []calibrate.Change{c.change}, BaseLoadGMM: c.base}
		if got := strings.Join(s.Changed(Both), "|"); got != c.want {
			t.Errorf("%s:\n%s\nwant\n%s", c.name, got, c.want)
		}
	}
}

func TestHeadline(t *testing.T) {
	row := &model.Fill{ID: "F1"}
	for _, c := range []struct {
		s    Saved
		want string
	}{
		{Saved{Row: row}, "Test fill F1 is saved."},
		{Saved{Row: row, Amended: true}, "Test fill F1 is corrected. What it said before is kept in its history."},
		{Saved{Row: row, Again: true, Amended: true}, "Test fill F1 was in the log already. Nothing was saved twice."},
	} {
		if got := c.s.Headline(); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}

func TestEntryTables(t *testing.T) {
	b := blankBuild()
	b.ID, b.WeightG, b.ShotUsedG = "W265", 390, 83.5
	r := &Reading{Row: b, ShotFrom: "the tub, 2412 g before and 2328.5 g after", Warnings: []string{"date is after today"},
		Today: []calibrate.Expected{{Quantity: model.Weight, Measured: 390, Planned: 400, Today: calibrate.Interval{Median: 416, Low: 402, High: 431}}}}
	var out strings.Builder
	if err := ReadingTable(&out, r, Style{Units: Metric, Width: 72}); err != nil {
		t.Fatal(err)
	}
	want := `            understood as
───────────────────────────────────────────────────────────────────────
build       W265
weight      390 g
shot used   83.5 g, from the tub, 2412 g before and 2328.5 g after

Against today's prediction
  - Finished weight 390 g: 12.0 g lighter than today's 95 % band, 402
    to 431 g.

Look again before saving
  - Date is after today
`
	if got := out.String(); squeezed(got) != squeezed(want) {
		t.Errorf("reading:\n%s\nwant\n%s", got, want)
	}

	out.Reset()
	saved := &Saved{Row: b, Calibration: 13, BaseLoadGMM: model.Unknown, Warnings: []string{"odd"},
		Changes:   []calibrate.Change{{Quantity: model.Weight, Labels: model.Labels{Maker: "dita"}, Before: calibrate.Interval{Median: 1, Low: .9, High: 1.1}, After: calibrate.Interval{Median: .98, Low: .95, High: 1.01}, Rows: 2}},
		Reminders: []Advice{{Do: "Weigh the cord.", Why: "It is new."}}}
	if err := SavedTable(&out, saved, Style{Units: Metric, Width: 72}); err != nil {
		t.Fatal(err)
	}
	want = `Build W265 is saved.

What it changed (calibration 13)
  - Finished weight by dita: as planned before, now 2.0 % lighter than
    planned (± 3 %), from 2 builds.

Mind
  - odd

Next
  - Weigh the cord. It is new.
`
	if got := out.String(); got != want {
		t.Errorf("saved:\n%s\nwant\n%s", got, want)
	}
}

// squeezed is a table without its rules and runs of spaces, whose widths are
// the table writer's own.
func squeezed(s string) string {
	return strings.Join(strings.Fields(strings.ReplaceAll(s, "─", "")), " ")
}
