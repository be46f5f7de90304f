package report

import (
	"bytes"
	"encoding/json"
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"trueplait/calibrate"
	"trueplait/model"
)

// option is what the tests read of a chart.
type option struct {
	Dataset []struct {
		Source [][]any `json:"source"`
	} `json:"dataset"`
	YAxis []struct {
		Data     []string `json:"data"`
		Min, Max any
	} `json:"yAxis"`
	Series []struct {
		Name string `json:"name"`
		Type string `json:"type"`
		Data []struct {
			Name  string `json:"name"`
			Value []any  `json:"value"`
		} `json:"data"`
		MarkLine struct {
			Data []struct {
				Name  string `json:"name"`
				XAxis any    `json:"xAxis"`
			} `json:"data"`
		} `json:"markLine"`
	} `json:"series"`
}

func (o option) series(t *testing.T, name string) (values [][]any) {
	t.Helper()
	for _, s := range o.Series {
		if s.Name == name {
			for _, d := range s.Data {
				values = append(values, d.Value)
			}
			return values
		}
	}
	t.Fatalf("no series %q", name)
	return nil
}

var islandPattern = regexp.MustCompile(`(?s)<script type="application/json" data-chart="chart-([^"]*)"[^>]*>(.*?)</script>`)

// islands are the charts of a page by id.
func islands(t *testing.T, html []byte) map[string]option {
	t.Helper()
	out := map[string]option{}
	for _, m := range islandPattern.FindAllSubmatch(html, -1) {
		var o option
		if err := json.Unmarshal(m[2], &o); err != nil {
			t.Fatalf("chart %s: %v", m[1], err)
		}
		out[string(m[1])] = o
	}
	return out
}

func TestErrorChartsHoldTheBuilds(t *testing.T) {
	p := fakeShop(60)
	charts := islands(t, render(t, p))
	for i := range p.Proof.Quantities {
		q := &p.Proof.Quantities[i]
		o := charts["predicted-"+string(q.Quantity)]
		byBuild := map[string]calibrate.Scored{}
		for _, s := range q.Scored {
			byBuild[s.Build] = s
		}
		beyond := len(o.series(t, offChart))
		points := 0
		for _, row := range o.Dataset[0].Source[1:] {
			s := byBuild[row[0].(string)]
			if math.Abs(row[1].(float64)-s.Measured) > 0.051 {
				t.Errorf("%s: %s measured %v, want %v", q.Quantity, s.Build, row[1], s.Measured)
			}
			for j, p := range []calibrate.Predictor{calibrate.Planner, calibrate.Calibrated} {
				if row[2+j] == nil {
					continue
				}
				points++
				if want := 100 * (s.Predicted[p] - s.Measured) / s.Measured; math.Abs(row[2+j].(float64)-want) > 0.0051 {
					t.Errorf("%s: %s %s off by %v %%, want %v", q.Quantity, s.Build, p, row[2+j], want)
				}
			}
		}
		if points+beyond != 2*len(q.Scored) {
			t.Errorf("%s: %d points and %d arrows for %d builds before and after", q.Quantity, points, beyond, len(q.Scored))
		}
		if beyond == 0 {
			t.Errorf("%s: the typing error of the fake shop is not off the chart", q.Quantity)
		}
	}
}

func TestTimelineMarksCalibrations(t *testing.T) {
	p := fakeShop(60)
	for i := range 20 {
		p.Calibrations = append(p.Calibrations, SavedMark{5 + i, time.Date(2025, 8, 1+i, 0, 0, 0, 0, time.UTC)})
	}
	html := render(t, p)
	var names []string
	for _, s := range islands(t, html)["time-weight"].Series {
		for _, m := range s.MarkLine.Data {
			if m.Name != "" {
				names = append(names, m.Name)
			}
		}
	}
	if len(names) != mostMarks || names[0] != "no. 13" || names[mostMarks-1] != "no. 24" {
		t.Errorf("marks = %q, want the newest %d", names, mostMarks)
	}
	if !bytes.Contains(html, []byte("the newest 12 of 24 saved calibrations")) {
		t.Error("the caption does not say which calibrations are marked")
	}
}

// TestLoad checks grams per inch against their definition: factor times the
// planner's load in g/mm times 25.4.
func TestLoad(t *testing.T) {
	p := fakeShop(60)
	q := p.Calibration.Quantity(model.Shot)
	q.Factors = []calibrate.Factor{
		{Labels: model.Labels{Maker: "dita", CoreBatch: "C26"}, Rows: 1, Interval: calibrate.Interval{Median: 1.1, Low: 1, High: 1.2}},
		{Labels: model.Labels{Maker: "dita", CoreBatch: "C01"}, Rows: 9, Interval: calibrate.Interval{Median: 0.9, Low: 0.8, High: 1}},
	}
	p.Fills = []*model.Fill{
		{ID: "F1", Labels: model.Labels{CoreBatch: "C01"}, FilledLengthMM: 254, ShotMassG: 21},
		{ID: "F2", Labels: model.Labels{CoreBatch: "C01", Maker: "bero"}, FilledLengthMM: 254, ShotMassG: 21}, // no such row
	}
	p.Calibration.Summary.BaseLoadGMM = 0.1
	o := islands(t, render(t, p))["load"]
	if got := o.YAxis[0].Data; !slices.Equal(got, []string{"C01 · dita", "C26 · dita"}) {
		t.Errorf("rows = %q, want the batch used last at the end", got)
	}
	got := o.series(t, "expected load")
	want := [][]any{{2.286, 0.0, 2.032, 2.54}, {2.794, 1.0, 2.54, 3.048}}
	for i := range want {
		if !slices.Equal(got[i], want[i]) {
			t.Errorf("row %d = %v, want median, row, low, high = %v", i, got[i], want[i])
		}
	}
	if fills := o.series(t, "test fill as weighed"); len(fills) != 1 || !slices.Equal(fills[0], []any{2.1, 0.0}) {
		t.Errorf("test fills = %v, want 2.1 g per inch in the row of C01", fills)
	}

	p.Calibration.Summary.BaseLoadGMM = model.Unknown
	p.Fills[0].PredictedShotG = 24
	o = islands(t, render(t, p))["load"]
	if got := o.series(t, "expected load")[0]; !slices.Equal(got, []any{90.0, 0.0, 80.0, 100.0}) {
		t.Errorf("without a planner's load: %v, want the factor in %%", got)
	}
	if fills := o.series(t, "test fill as weighed"); len(fills) != 1 || fills[0][0] != 87.5 {
		t.Errorf("without a planner's load: test fills %v, want 87.5 %% of their own plan", fills)
	}
}

func TestMakersLeaveOutWhatCannotBeTold(t *testing.T) {
	p := fakeShop(60)
	html := string(render(t, p))
	rows := islands(t, []byte(html))["makers-shot"].YAxis[0].Data
	if want := []string{"ansa", "bero", "colm", "dita"}; !slices.Equal(rows, want) {
		t.Errorf("makers = %q, want %q: esko is unlinked", rows, want)
	}
	if !strings.Contains(html, "Not shown: esko. Without a batch in common") {
		t.Error("the page does not say why esko has no factor")
	}
}

func TestThinned(t *testing.T) {
	builds := make([]calibrate.Scored, 1000)
	for i := range builds {
		builds[i].Measured = float64(i)
	}
	for _, n := range []int{1, 7, 250, 333, 999, 1000, 5000} {
		kept, k := thinned(builds, n)
		if len(kept) > n || len(kept) < min(n, 1000)/2 {
			t.Errorf("thinned to %d: %d kept", n, len(kept))
		}
		if kept[len(kept)-1].Measured != 999 {
			t.Errorf("thinned to %d: the last build is gone", n)
		}
		for i := 1; i < len(kept); i++ {
			if kept[i].Measured-kept[i-1].Measured != float64(k) {
				t.Fatalf("thinned to %d: not every %d-th", n, k)
			}
		}
	}
}

// TestPageIsSmall checks the size of the page apart from the chart library,
// and that thinning is owned up to.
func TestPageIsSmall(t *testing.T) {
	html := render(t, fakeShop(20_000))
	if size := len(html) - len(echartsJS); size > 1_000_000 {
		t.Errorf("the page has %d bytes of its own, want at most 1 MB", size)
	}
	if !bytes.Contains(html, []byte("one in 13 of the 20000 is drawn, by date alone")) {
		t.Error("the page does not say that points were left out")
	}
	points := 0
	for id, o := range islands(t, html) {
		if strings.HasPrefix(id, "predicted-") || strings.HasPrefix(id, "time-") {
			points += 2 * (len(o.Dataset[0].Source) - 1)
		}
	}
	if points > mostPoints || points < mostPoints*3/4 {
		t.Errorf("%d points drawn, want nearly %d", points, mostPoints)
	}
}

func TestLateWords(t *testing.T) {
	run := func(high, low int) []float64 {
		out := slices.Repeat([]float64{2}, high)
		return append(out, slices.Repeat([]float64{-2}, low)...)
	}
	tests := []struct {
		high, low int
		want      string
	}{
		{27, 0, " Of the newest 27 builds 27 were predicted too high"},
		{5, 22, " Of the newest 27 builds 22 were predicted too low"},
		{6, 21, ""}, // 13.5 + 7.8 = 21.3
		{7, 0, ""},  // too few to say
		{0, 0, ""},
	}
	for _, c := range tests {
		if got := lateWords(run(c.high, c.low)); !strings.HasPrefix(got, c.want) || c.want == "" && got != "" {
			t.Errorf("%d high and %d low: %q, want %q", c.high, c.low, got, c.want)
		}
	}
}
