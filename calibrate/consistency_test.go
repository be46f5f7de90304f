package calibrate

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"trueplait/model"
)

// lineRow is one build of a product line, with its planned size.
func lineRow(i int, product string, measured, base float64, l model.Labels) model.Observation {
	l.Product = product
	return model.Observation{Key: model.RowKey{Kind: model.Builds, ID: fmt.Sprintf("B-%03d", i)}, Date: day(i), Labels: l,
		Measured: measured, Base: base, Planned: base, Y: math.Log(measured / base)}
}

func judged(t *testing.T, rows []model.Observation, products []*model.ProductLine, opt ConsistencyOptions) []Line {
	t.Helper()
	lines, err := Consistency(context.Background(), NewRows(map[model.Quantity][]model.Observation{model.Weight: rows}), products, opt)
	if err != nil {
		t.Fatal(err)
	}
	return lines
}

func bull(low, high float64) []*model.ProductLine {
	return []*model.ProductLine{{Product: "bull", WeightLowG: low, WeightHighG: high, LengthLowMM: math.NaN(), LengthHighMM: math.NaN()}}
}

// TestConsistencyLines checks which lines there are, on which scale, and what
// is left out.
func TestConsistencyLines(t *testing.T) {
	rows := []model.Observation{
		lineRow(3, "stock", 300, 300, model.Labels{}),
		lineRow(1, "bull", 440, 400, model.Labels{}),
		lineRow(0, "bull", 420, 400, model.Labels{}),
		lineRow(2, "bull", 14.8, 420, model.Labels{}),
		lineRow(4, "bull", 380, 400, model.Labels{}),
		lineRow(5, "snake", 250, 260, model.Labels{}),
	}
	rows[3].Excluded, rows[4].Excluded, rows[5].Excluded = model.UnitSlip, model.ByHand, model.ByHand
	check := lineRow(6, "(check)", 1, 1, model.Labels{})
	check.Key.Kind = model.Checks
	lines := judged(t, append(rows, check), bull(410, 450), ConsistencyOptions{})
	var got []string
	for _, l := range lines {
		got = append(got, fmt.Sprintf("%s %s %s n=%d mean=%.4g", l.Product, l.Quantity, l.Scale, len(l.Builds), l.Mean))
	}
	want := []string{"bull weight ratio n=2 mean=107.5", "bull weight measured n=2 mean=430", "stock weight ratio n=1 mean=100", "stock weight measured n=1 mean=300"}
	if !slices.Equal(got, want) {
		t.Errorf("lines = %q, want %q", got, want)
	}
	l := lines[1]
	if l.Builds[0].ID != "B-000" || l.Builds[1].ID != "B-001" {
		t.Errorf("builds = %v, want them by date", l.Builds)
	}
	if want := "left out: B-002 (looks like ounces entered as grams (1/28.35)) and B-004 (by hand)"; l.Warnings[0] != want {
		t.Errorf("warning = %q, want %q", l.Warnings[0], want)
	}
	if lines[0].Capability != nil || l.Capability == nil || l.Capability.Outside != 0 {
		t.Error("limits are for the line as measured only")
	}
	if only := judged(t, rows, nil, ConsistencyOptions{Product: "stock"}); len(only) != 2 || only[0].Product != "stock" {
		t.Errorf("one product asked for: %d lines", len(only))
	}
	if none := judged(t, nil, bull(1, 2), ConsistencyOptions{}); len(none) != 0 {
		t.Errorf("no builds: %d lines", len(none))
	}
}

// TestConsistencyFigures works a line out by hand: 400, 410, 405, 425.
func TestConsistencyFigures(t *testing.T) {
	var rows []model.Observation
	for i, g := range []float64{400, 410, 405, 425} {
		rows = append(rows, lineRow(i, "bull", g, 400, model.Labels{}))
	}
	l := judged(t, rows, bull(395, 420), ConsistencyOptions{})[1]
	mr, sd := 35.0/3, math.Sqrt(350.0/3)
	sigma := mr * math.Sqrt(math.Pi) / 2
	c := l.Capability
	for name, v := range map[string][2]float64{
		"mean": {l.Mean, 410}, "mr_bar": {l.MRBar, mr}, "upper": {l.Upper, 410 + 3*sigma}, "lower": {l.Lower, 410 - 3*sigma},
		"sd": {l.SD, sd}, "cp": {c.Cp, 25 / (6 * sigma)}, "cpk": {c.Cpk, 10 / (3 * sigma)}, "ppk": {c.Ppk, 10 / (3 * sd)},
		"outside": {c.OutsideShare, 0.25}, "tolerance": {l.Tolerance.High, 410 + 6.341082641*sd}, // k of 4 builds, ISO 16269-6
		"ewma": {l.EWMAUpper, 410 + 3*sigma*math.Sqrt(0.2/1.8*(1-math.Pow(0.8, 8)))},
	} {
		if math.Abs(v[0]-v[1]) > 1e-6 {
			t.Errorf("%s = %v, want %v", name, v[0], v[1])
		}
	}
	asked := judged(t, rows, bull(395, 420), ConsistencyOptions{Coverage: 0.9, Confidence: 0.99})[1]
	if k := asked.Tolerance.K; math.Abs(k-9.416109600) > 1e-6 {
		t.Errorf("k(4, 0.9, 0.99) = %v, want 9.416109600", k)
	}
}

// TestConsistencyEdges checks what is given and what is not where there is
// little to go by.
func TestConsistencyEdges(t *testing.T) {
	nan := math.NaN()
	tests := []struct {
		name          string
		grams         []float64
		low, high     float64
		limits        bool // control limits
		tolerance     bool
		pp, ppk, side bool
		warning       string
	}{
		{"one build", []float64{410}, 400, 420, false, false, false, false, false, "one build has no scatter"},
		{"two builds", []float64{410, 412}, 400, 420, true, true, true, true, false, "limits from 2 builds are rough"},
		{"all alike", []float64{410, 410, 410, 410, 410, 410, 410, 410, 410}, 400, 420, true, false, false, false, false, "all 9 builds are alike"},
		{"low limit only", []float64{410, 412, 414}, 400, nan, true, true, false, true, true, "rough"},
		{"high limit only", []float64{410, 412, 414}, nan, 420, true, true, false, true, true, "rough"},
		{"no limits", []float64{410, 412, 414}, nan, nan, true, true, false, false, false, "rough"},
	}
	for _, c := range tests {
		t.Run(c.name, func(t *testing.T) {
			var rows []model.Observation
			for i, g := range c.grams {
				rows = append(rows, lineRow(i, "bull", g, 400, model.Labels{}))
			}
			l := judged(t, rows, bull(c.low, c.high), ConsistencyOptions{})[1]
			cap := l.Capability
			if cap == nil {
				cap = &Capability{Pp: nan, Ppk: nan, Bound: nan}
			}
			for name, v := range map[string]struct {
				x    float64
				want bool
			}{"upper": {l.Upper, c.limits}, "tolerance": {l.Tolerance.High, c.tolerance}, "pp": {cap.Pp, c.pp}, "ppk": {cap.Ppk, c.ppk}, "bound": {cap.Bound, c.side}} {
				if model.Known(v.x) != v.want {
					t.Errorf("%s = %v", name, v.x)
				}
			}
			if len(l.Signals) > 0 || len(l.EWMASignals) > 0 {
				t.Errorf("signals %v, %v", l.Signals, l.EWMASignals)
			}
			if !strings.Contains(strings.Join(l.Warnings, "\n"), c.warning) {
				t.Errorf("warnings %q, want %q", l.Warnings, c.warning)
			}
			if c.side && (cap.Bound > l.Mean) != model.Known(c.high) {
				t.Errorf("bound = %v of mean %v is on the wrong side", cap.Bound, l.Mean)
			}
		})
	}
}

// TestConsistencySaysWhatChanged steps a line up with a new batch.
func TestConsistencySaysWhatChanged(t *testing.T) {
	var rows []model.Observation
	for i := range 24 {
		l := model.Labels{Maker: "ansa", CoreBatch: "C1", StrandBatch: "N1"}
		ratio := 1 + 0.01*float64(i%3-1)
		if i >= 12 {
			l.CoreBatch = "C2"
			ratio += 0.06
		}
		if i == 12 || i == 20 {
			l.Maker = "bero"
		}
		if i == 23 {
			l.StrandBatch = "" // not recorded: nothing to say
		}
		rows = append(rows, lineRow(i, "bull", 400*ratio, 400, l))
	}
	l := judged(t, rows, nil, ConsistencyOptions{})[0]
	found := map[string]string{}
	for _, s := range l.Signals {
		found[fmt.Sprintf("%s %s", s.Build, s.Rule)] = s.Changed
	}
	for signal, want := range map[string]string{
		"B-020 nine on one side": "new maker bero, new core batch C2 from B-012 on; other maker bero at B-020",
		"B-021 nine on one side": "new maker bero, new core batch C2 from B-012 on; other maker ansa at B-021",
		"B-023 nine on one side": "new maker bero, new core batch C2 from B-012 on",
	} {
		if got, ok := found[signal]; !ok || got != want {
			t.Errorf("%s: changed %q (%v), want %q", signal, got, ok, want)
		}
	}
	if len(l.EWMASignals) == 0 {
		t.Error("the weighted mean does not notice the step")
	}
	if !model.Known(l.NEff) || l.BatchEffect != model.CoreBatch {
		t.Errorf("worth %v builds for %q", l.NEff, l.BatchEffect)
	}
	if want := fmt.Sprintf("batches differ: this line has about %.1f independent builds", l.NEff); !slices.Contains(l.Warnings, want) {
		t.Errorf("warnings %q, want %q", l.Warnings, want)
	}
}
