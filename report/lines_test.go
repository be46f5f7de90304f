package report

import (
	"context"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"trueplait/calibrate"
	"trueplait/model"
)

// smallLines judges a line of one build, one of which only a least weight is
// promised, and one that a new batch moved.
func smallLines(t *testing.T) []calibrate.Line {
	t.Helper()
	day := func(d int) time.Time { return time.Date(2024, 3, d, 0, 0, 0, 0, time.UTC) }
	row := func(product string, i int, measured, base float64, batch string) model.Observation {
		return model.Observation{Key: model.RowKey{Kind: model.Builds, ID: fmt.Sprintf("%c-%03d", product[0]-32, i)}, Date: day(i),
			Labels: model.Labels{Maker: "dita", CoreBatch: batch, Product: product}, Measured: measured, Base: base}
	}
	weight := []model.Observation{row("snake", 1, 250, 260, "C01"), row("hobby", 1, 210, 200, ""), row("hobby", 2, 214, 200, ""), row("hobby", 3, 209, 200, "")}
	for i := 1; i <= 24; i++ {
		batch, more := "C01", 0.0
		if i > 12 {
			batch, more = "C02", 9
		}
		weight = append(weight, row("bull", i, 400+more+float64(i*7%11), 400, batch))
	}
	weight[8].Measured, weight[8].Excluded = 14.3, model.UnitSlip
	lines, err := calibrate.Consistency(context.Background(), calibrate.NewRows(map[model.Quantity][]model.Observation{model.Weight: weight}), []*model.ProductLine{
		{Product: "bull", WeightLowG: 390, WeightHighG: 418, LengthLowMM: model.Unknown, LengthHighMM: model.Unknown},
		{Product: "hobby", WeightLowG: 200, WeightHighG: model.Unknown, LengthLowMM: model.Unknown, LengthHighMM: model.Unknown},
	}, calibrate.ConsistencyOptions{})
	if err != nil {
		t.Fatal(err)
	}
	return lines
}

// fixedLines has every figure once, and every absence.
func fixedLines() []calibrate.Line {
	nan := math.NaN()
	return []calibrate.Line{{
		Product: "bull <6 ft>", Quantity: model.Weight, Scale: calibrate.MeasuredScale, Builds: make([]calibrate.LineBuild, 12),
		Mean: 410.5, MRBar: 5.5, Upper: 425.125, Lower: 395.875, MRUpper: 17.96875, SDMovingRange: 4.875, SD: 5.25,
		Signals: []calibrate.Signal{{Build: "B-007", At: 6, From: 6, Rule: calibrate.BeyondLimit, Changed: "new core batch C02"},
			{Build: "B-009", At: 8, From: 7, Rule: calibrate.TwoOfThree}},
		EWMAUpper: 415, EWMALower: 406, EWMASignals: []string{"B-009"},
		Capability: &calibrate.Capability{Low: 390, High: 430, Cp: 1.375, Cpk: 1.3125, Pp: 1.25, PpLow: 0.75, PpHigh: 1.75, Ppk: 1.125, PpkLow: 0.625, PpkHigh: 1.625,
			Outside: 3, OutsideShare: 0.25, ExpectedShare: 0.001, Bound: nan},
		Tolerance: calibrate.Tolerance{Coverage: 0.95, Confidence: 0.9, K: 2.875, Low: 395.5, High: 425.5},
		Normality: calibrate.Normality{A2: 0.25, P: 0.75}, BatchShare: 0.5, BatchEffect: model.CoreBatch, NEff: 4.5,
		Warnings: []string{"batches differ: this line has about 4.5 independent builds"},
	}, {
		Product: "snake", Quantity: model.Shot, Scale: calibrate.RatioScale, Builds: make([]calibrate.LineBuild, 1),
		Mean: 98.5, MRBar: nan, Upper: nan, Lower: nan, MRUpper: nan, SDMovingRange: nan, SD: nan, EWMAUpper: nan, EWMALower: nan,
		Tolerance: calibrate.Tolerance{Coverage: 0.95, Confidence: 0.95, K: nan, Low: nan, High: nan},
		Normality: calibrate.Normality{A2: nan, P: nan}, BatchShare: nan, NEff: nan,
	}}
}

// TestLineChart checks where the builds of a chart in plain characters stand.
func TestLineChart(t *testing.T) {
	l := calibrate.Line{Quantity: model.Weight, Scale: calibrate.MeasuredScale, Mean: 400, SD: 5, Upper: 410, Lower: 390,
		Builds:  []calibrate.LineBuild{{X: 400}, {X: 405}, {X: 415}, {X: 385}},
		Signals: []calibrate.Signal{{At: 2, From: 2, Rule: calibrate.BeyondLimit}}}
	want := []string{
		"        |  @", "        |", "  410 g |----", "        | o", "        |", "  400 g |o...", "        |", "        |", "  390 g |----", "        |", "        |   o",
		"         o build   @ stands out   - usual limits   . average", ""}
	if got := strings.Split(newLineChart(&l, Style{}).String(), "\n"); !slices.Equal(got, want) {
		t.Errorf("chart:\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	if got := newLineChart(&l, Style{Width: 1}).String(); !strings.Contains(got, "|o...") {
		t.Errorf("a narrow terminal: %s", got)
	}
	l.SD = 0
	if got := newLineChart(&l, Style{}).String(); got != "" {
		t.Errorf("no scatter: %q, want no chart", got)
	}
	for range 100 {
		l.Builds = append(l.Builds, calibrate.LineBuild{X: 401})
	}
	l.SD = 5
	if got := newLineChart(&l, Style{}).String(); !strings.Contains(got, "the newest 64 of 104 builds") || strings.Contains(got, "|@") {
		t.Errorf("a long line: %s", got)
	}
}

// TestEpisodes checks that a pattern that goes on is told once.
func TestEpisodes(t *testing.T) {
	signal := func(at int, rule calibrate.Rule) calibrate.Signal {
		return calibrate.Signal{Build: fmt.Sprint("B", at), At: at, Rule: rule}
	}
	l := &calibrate.Line{Signals: []calibrate.Signal{
		signal(3, calibrate.BeyondLimit), signal(4, calibrate.BeyondLimit),
		{Build: "B5", At: 5, Rule: calibrate.BeyondLimit, Changed: "new maker fen"}, signal(8, calibrate.NineOneSide), signal(9, calibrate.NineOneSide),
		signal(9, calibrate.FourOfFive), signal(10, calibrate.NineOneSide), signal(12, calibrate.NineOneSide)}}
	var got []string
	for _, e := range episodes(l) {
		got = append(got, e.String())
	}
	want := []string{"B3 to B4: beyond limit", "B5: beyond limit; new maker fen", "B8 to B10: nine on one side", "B9: four of five out", "B12: nine on one side"}
	if !slices.Equal(got, want) {
		t.Errorf("episodes = %q, want %q", got, want)
	}
	if n := standOut(l); n != 7 {
		t.Errorf("%d builds stand out, want 7", n)
	}
}

// TestLinesOnPage checks the numbers of the charts, and that words stand
// beside a ring.
func TestLinesOnPage(t *testing.T) {
	p := fakeShop(60)
	p.Lines = smallLines(t)
	html := string(render(t, p))
	charts := islands(t, []byte(html))
	o := charts["line-0"]
	if got := o.series(t, "build"); len(got) != 23 || !slices.Equal(got[0], []any{1.0, 101.75, 101.8}) {
		t.Errorf("points = %v, want 23 builds against the plan", got)
	}
	rings := 0
	for _, s := range o.Series {
		if s.Name != "stands out" {
			continue
		}
		for _, d := range s.Data {
			rings++
			if name := d.Name; !strings.HasPrefix(name, "B-0") || !strings.Contains(name, ": ") {
				t.Errorf("ring named %q", name)
			}
		}
	}
	if want := standOut(&p.Lines[0]); rings != want || want == 0 {
		t.Errorf("%d rings, want %d", rings, want)
	}
	strip := charts["line-1"]
	if got := len(strip.series(t, "build")); got != 23-len(strip.series(t, "build outside")) {
		t.Errorf("%d builds inside the limits", got)
	}
	for _, want := range []string{"Bull, weight against the plan", "new core batch C02", "looks like ounces entered as grams", "today&#39;s promise of 390" + nbsp + "g"} {
		if !strings.Contains(html, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	if strings.Contains(html, "Nelson test") || strings.Contains(html, "rule 1") {
		t.Error("a test goes by its number")
	}
	p.Lines = nil
	if html := string(render(t, p)); strings.Contains(html, `id="lines"`) {
		t.Error("a page without lines has the section")
	}
}

// TestFarBuildDoesNotFlatten checks that one build far off is drawn on the
// edge, with its true value at the pointer.
func TestFarBuildDoesNotFlatten(t *testing.T) {
	var rows []model.Observation
	for i := range 30 {
		rows = append(rows, model.Observation{Key: model.RowKey{Kind: model.Builds, ID: fmt.Sprint("B", i)}, Date: time.Date(2024, 3, 1+i, 0, 0, 0, 0, time.UTC),
			Labels: model.Labels{Product: "bull"}, Measured: 400 + float64(i%3), Base: 400})
	}
	rows[20].Measured = 700
	lines, err := calibrate.Consistency(context.Background(), calibrate.NewRows(map[model.Quantity][]model.Observation{model.Weight: rows}), nil, calibrate.ConsistencyOptions{})
	if err != nil {
		t.Fatal(err)
	}
	d := newLineDots(&lines[0])
	if len(d.beyond) != 1 || len(d.dots) != 29 {
		t.Fatalf("%d builds beyond the chart, %d on it", len(d.beyond), len(d.dots))
	}
	if v := d.beyond[0].Value.([]any); v[0] != 21 || v[1] != d.high || v[2] != 175.0 {
		t.Errorf("the far build = %v, want it on the edge at %v and its value 175", v, d.high)
	}
	words := d.worded(&lines[0])
	if !words[20] {
		t.Errorf("words at %v, want them at the far build", words)
	}
}

func TestConsistencyWithoutLines(t *testing.T) {
	if got := string(written(t, func(w io.Writer) error { return ConsistencyJSON(w, nil) })); got != "{\n  \"lines\": []\n}\n" {
		t.Errorf("no lines: %s", got)
	}
}
