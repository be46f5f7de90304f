package report

import (
	"io"
	"math"
	"strings"
	"testing"

	"trueplait/calibrate"
	"trueplait/model"
)

// smallPromise is a promise for a new core batch.
func smallPromise() *calibrate.Promise {
	none := math.NaN()
	p := &calibrate.Promise{
		Labels:     model.Labels{Maker: "dita", CoreBatch: model.NewLevel, StrandBatch: "N12", ShotBatch: "S3", Product: "6 ft bull 12pl"},
		LabelsFrom: "maker dita, strand batch N12, shot batch S3: as in build D-205",
		Coverage:   0.95, Of: 1, Basis: calibrate.FromParts,
		Planned: calibrate.Planned{WeightG: 415, BodyG: 320, ShotG: 95, LengthMM: model.Unknown, From: "parts list"},
		Weight:  calibrate.Band{Planned: 415, Interval: calibrate.Interval{Median: 416.25, Low: 402.1, High: 431.3}, PlannerLow: 371, PlannerHigh: 455, FloorLow: 408.5, FloorHigh: 424.5},
		Body:    calibrate.Band{Planned: 320, Interval: calibrate.Interval{Median: 326, Low: 318, High: 334}, PlannerLow: 290, PlannerHigh: 352, FloorLow: 319, FloorHigh: 333},
		Shot:    calibrate.Band{Planned: 95, Interval: calibrate.Interval{Median: 90.25, Low: 78, High: 104}, PlannerLow: 76, PlannerHigh: 114, FloorLow: 86, FloorHigh: 94.5},
		Length:  calibrate.Band{Planned: none, Interval: calibrate.Interval{Median: none, Low: none, High: none}, PlannerLow: none, PlannerHigh: none, FloorLow: none, FloorHigh: none},
		Sources: []calibrate.VarianceSource{{Effect: model.Maker, Share: 0.125, SDG: 4}, {Effect: model.CoreBatch, Share: 0.5, SDG: 8}, {Effect: model.StrandBatch, Share: 0.25, SDG: 5.7},
			{Effect: model.ShotBatch}, {Effect: model.Product}, {Share: 0.125, SDG: 4}},
		Within: &calibrate.Within{HalfWidthG: 10, AroundG: 415, Chance: 0.83, Fills: 2, Checks: calibrate.Never},
	}
	for i, n := range []int{1, 2, 3, 5, 10} {
		p.Tighten = append(p.Tighten, calibrate.Tighter{More: calibrate.More{Fills: n}, HalfWidthG: []float64{10.4, 9.6, 9.2, 9, 8.9}[i]})
	}
	for i, n := range []int{1, 2, 3, 5, 10} {
		p.Tighten = append(p.Tighten, calibrate.Tighter{More: calibrate.More{Checks: n}, HalfWidthG: []float64{14.55, 14.54, 14.53, 14.52, 14.5}[i]})
	}
	for i, n := range []int{1, 2, 3, 5, 10} {
		p.Tighten = append(p.Tighten, calibrate.Tighter{More: calibrate.More{Builds: n}, HalfWidthG: []float64{10, 9, 8.6, 8.3, 8.1}[i]})
	}
	return p
}

// firstPromise is one without any build.
func firstPromise() *calibrate.Promise {
	none := math.NaN()
	band := func(x float64) calibrate.Band {
		return calibrate.Band{Planned: x, Interval: calibrate.Interval{Median: x, Low: none, High: none}, PlannerLow: none, PlannerHigh: none, FloorLow: none, FloorHigh: none}
	}
	return &calibrate.Promise{
		Labels:   model.Labels{Maker: model.NewLevel, CoreBatch: model.NewLevel, StrandBatch: model.NewLevel, ShotBatch: model.NewLevel, Product: "bull"},
		Coverage: 0.95, Of: 1, Planned: calibrate.Planned{From: "options"},
		Weight: band(400), Body: band(320), Shot: band(80), Length: band(1800),
		Warnings: []string{"no finished whip to learn from: the limits come with the first build"},
	}
}

func TestPromise_Golden(t *testing.T) {
	for name, form := range map[string]func(io.Writer) error{
		"promise.json":         func(w io.Writer) error { return PromiseJSON(w, smallPromise()) },
		"promise.txt":          func(w io.Writer) error { return PromiseTable(w, smallPromise(), Style{}) },
		"promise_imperial.txt": func(w io.Writer) error { return PromiseTable(w, smallPromise(), Style{Units: Imperial}) },
		"promise_none.json":    func(w io.Writer) error { return PromiseJSON(w, firstPromise()) },
		"promise_none.txt":     func(w io.Writer) error { return PromiseTable(w, firstPromise(), Style{}) },
	} {
		t.Run(name, func(t *testing.T) { golden(t, name, written(t, form)) })
	}
}

func TestPromiseWords(t *testing.T) {
	change := func(f func(p *calibrate.Promise)) *calibrate.Promise {
		p := smallPromise()
		f(p)
		return p
	}
	tests := []struct {
		name string
		p    *calibrate.Promise
		u    Units
		want string
	}{
		{"both units", smallPromise(), Both, "Promise 402 to 431 g (14 1/8 to 15 1/4 oz): 19 of 20 such whips will be inside. The plan alone would need 371 to 455 g."},
		{"imperial", smallPromise(), Imperial, "Promise 14 1/8 to 15 1/4 oz: 19 of 20 such whips will be inside. The plan alone would need 13 1/8 to 16 oz."},
		{"all of five", change(func(p *calibrate.Promise) { p.Of, p.Coverage = 5, 0.9 }), Metric, "Promise 402 to 431 g: in 9 of 10 batches all 5 whips will be inside. The plan alone would need 371 to 455 g."},
		{"odd coverage", change(func(p *calibrate.Promise) { p.Coverage = 0.973; p.Weight.PlannerLow = math.NaN() }), Metric, "Promise 402 to 431 g: 97 % of such whips will be inside."},
		{"pounds", change(func(p *calibrate.Promise) { p.Weight.Low, p.Weight.High, p.Weight.PlannerLow = 900, 950, math.NaN() }), Both, "Promise 900 to 950 g (31 3/4 oz to 2 lb 1 1/2 oz): 19 of 20 such whips will be inside."},
	}
	for _, tt := range tests {
		if got := promiseWords(tt.p, tt.u); got != tt.want {
			t.Errorf("%s: %q, want %q", tt.name, got, tt.want)
		}
	}
}

// What to measure follows from the grams.
func TestMeasureWords(t *testing.T) {
	light := smallPromise() // a small load that fills cannot make surer
	light.Shot.Median = 20
	for i := range light.Tighten {
		if t := &light.Tighten[i]; t.Fills > 0 {
			t.HalfWidthG = 14.5
		}
	}
	cord := smallPromise() // the cord is what is not known
	for i := range cord.Tighten {
		if t := &cord.Tighten[i]; t.Checks > 0 {
			t.HalfWidthG = 8 - 0.01*float64(t.Checks)
		}
	}
	whole := smallPromise()
	whole.Basis = calibrate.FromWhole
	for name, tt := range map[string]struct {
		p        *calibrate.Promise
		has, not []string
	}{
		"new core batch": {smallPromise(), []string{"2 test fills of a new core batch narrow it to ± 9.6 g", "Cord checks of strand batch N12 cannot help: ten would narrow it by 0.1 g", "Start with 2 test fills.", "next whip of these batches narrows it to ± 10.0 g"}, nil},
		"small load":     {light, []string{"A test fill cannot help: the load is a small part of the weight, 20.0 g of 416 g, and ten would narrow the promise by 0.1 g"}, []string{"Start with"}},
		"cord":           {cord, []string{"A cord check of strand batch N12 narrows it to ± 8.0 g.", "Start with 1 cord check."}, []string{"Start with 2"}},
		"as a whole":     {whole, []string{"next whip"}, []string{"test fill", "ord check"}},
	} {
		got := measureWords(tt.p, Metric)
		for _, s := range tt.has {
			if !strings.Contains(got, s) {
				t.Errorf("%s: %q lacks %q", name, got, s)
			}
		}
		for _, s := range tt.not {
			if strings.Contains(got, s) {
				t.Errorf("%s: %q says %q", name, got, s)
			}
		}
	}
}

func TestWithinWords(t *testing.T) {
	for _, tt := range []struct {
		fills, checks int
		want          string
	}{
		{0, 0, "That is enough for 95 % as it is."},
		{2, calibrate.Never, "It takes 2 test fills of a new core batch to bring it to 95 %."},
		{3, 1, "It takes 3 test fills of a new core batch, or 1 cord check of strand batch N12 to bring it to 95 %."},
		{calibrate.Never, calibrate.Never, "No number of test fills or cord checks, up to 50, brings it to 95 %."},
	} {
		p := smallPromise()
		p.Within.Fills, p.Within.Checks = tt.fills, tt.checks
		if got := withinWords(p, Metric); !strings.HasSuffix(got, tt.want) || !strings.HasPrefix(got, "Within 10.0 g of 415 g: the next whip with a chance of 83 %.") {
			t.Errorf("%d fills, %d checks: %q", tt.fills, tt.checks, got)
		}
	}
}

// The section stands right after what to do now, and only where something can
// be promised.
func TestPromiseSection(t *testing.T) {
	p := fakeShop(60)
	p.Promises = []*calibrate.Promise{firstPromise()}
	if s := promiseSection(p); s.Title != "" {
		t.Errorf("nothing to promise: section %q", s.Title)
	}
	p.Promises = append(p.Promises, smallPromise())
	if got := sections(p)[0].ID; got != "promise" {
		t.Errorf("first section is %q", got)
	}
	page := string(render(t, p))
	for _, want := range []string{"For 1 of 1 product the promise is narrower", "6 ft bull 12pl: 402 to 431 g (14 1/8 to 15 1/4 oz) instead of 371 to 455 g", "408 to 424 g"} {
		if !strings.Contains(strings.ReplaceAll(page, nbsp, " "), want) {
			t.Errorf("the page lacks %q", want)
		}
	}
}
