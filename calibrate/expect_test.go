package calibrate

import (
	"math"
	"testing"

	"trueplait/model"
)

// What is expected of a build is what its plan sheet says, to the digit.
func TestExpect_AgreesWithThePlan(t *testing.T) {
	d := bareWhip(t)
	c := fitLog(t, workshopRows(5, 60), Options{})
	labels := model.Labels{Maker: "m00", CoreBatch: "c02", StrandBatch: "nc02", Product: "p00"}
	p := c.Plan(d, PlanOptions{Labels: labels, ShortRisk: 0.01, TargetG: model.Unknown})
	base := map[model.Quantity]float64{model.Weight: d.WeightG, model.Shot: d.ShotG, model.Length: d.LengthMM}
	got := c.Expect(labels, base, base)
	if len(got) != 3 {
		t.Fatalf("%d figures expected of three", len(got))
	}
	want := map[model.Quantity]Interval{model.Weight: p.Calibrated.Weight, model.Shot: p.Calibrated.Shot, model.Length: p.Calibrated.Length}
	for _, e := range got {
		w := want[e.Quantity]
		checkNear(t, string(e.Quantity)+" median", e.Today.Median, w.Median, 1e-9*w.Median)
		checkNear(t, string(e.Quantity)+" low", e.Today.Low, w.Low, 1e-9*w.Low)
		checkNear(t, string(e.Quantity)+" high", e.Today.High, w.High, 1e-9*w.High)
	}
}

// Before any row nothing is out of place, and figures without a base are left
// out.
func TestExpect_NothingKnown(t *testing.T) {
	c := fitLog(t, NewRows(map[model.Quantity][]model.Observation{}), Options{})
	got := c.Expect(model.Labels{}, map[model.Quantity]float64{model.Weight: 400, model.Length: model.Unknown},
		map[model.Quantity]float64{model.Weight: 900, model.Length: 1800, model.Shot: 100})
	if len(got) != 1 || got[0].Today.Median != 400 || !math.IsNaN(got[0].Today.Low) || got[0].Slip != nil || !got[0].Inside() {
		t.Errorf("expected %+v, want the base of 400 g alone, without limits", got)
	}
}

// A foot, a pound or an inch too many is asked about where the figure without
// it fits, and only there.
func TestExpect_WholeUnits(t *testing.T) {
	c := fitLog(t, workshopRows(5, 60), Options{})
	labels := model.Labels{Maker: "m00", CoreBatch: "c02", StrandBatch: "nc02", Product: "p00"}
	base := map[model.Quantity]float64{model.Length: 1800, model.Weight: 280, model.Shot: 80}
	median := map[model.Quantity]float64{}
	for _, e := range c.Expect(labels, base, base) {
		median[e.Quantity] = e.Today.Median
	}
	const foot, pound = 304.8, 453.59237
	for _, tt := range []struct {
		name     string
		quantity model.Quantity
		measured float64
		unit     string
		off      int
	}{
		{"as expected", model.Length, median[model.Length], "", 0},
		{"a foot too many", model.Length, median[model.Length] + foot, "foot", 1},
		{"a foot too few", model.Length, median[model.Length] - foot, "foot", -1},
		{"two feet too many", model.Length, median[model.Length] + 2*foot, "foot", 2},
		{"half a foot fits nothing", model.Length, median[model.Length] + 7.5*25.4*1.003, "", 0},
		{"a pound too many", model.Weight, median[model.Weight] + pound, "pound", 1},
	} {
		got := c.Expect(labels, base, map[model.Quantity]float64{tt.quantity: tt.measured})
		if len(got) != 1 {
			t.Fatalf("%s: %d figures", tt.name, len(got))
		}
		slip := Whole{}
		if got[0].Slip != nil {
			slip = *got[0].Slip
		}
		if slip.Unit != tt.unit || slip.Off != tt.off {
			t.Errorf("%s (%g, 95 %% are %g to %g): %d %q, want %d %q", tt.name, tt.measured, got[0].Today.Low, got[0].Today.High, slip.Off, slip.Unit, tt.off, tt.unit)
		}
		if tt.unit != "" {
			checkNear(t, tt.name, slip.Fits, median[tt.quantity], 1e-6)
		}
	}
}

// A factor before and after a build is that of the two calibrations, and one
// that nothing was known of was 1.
func TestChanges(t *testing.T) {
	labels := model.Labels{Maker: "m00", CoreBatch: "c02", StrandBatch: "nc02", Product: "p00"}
	before := fitLog(t, workshopRows(5, 40), Options{For: []model.Labels{labels}})
	after := fitLog(t, workshopRows(5, 60), Options{For: []model.Labels{labels}})
	asked := func(c *Calibration, q model.Quantity) Interval {
		f := c.Quantity(q).Factors
		return f[len(f)-1].Interval
	}
	changes := Changes(before, after, labels)
	if len(changes) == 0 {
		t.Fatal("no factor changed")
	}
	for _, ch := range changes {
		if got, want := ch.Before, asked(before, ch.Quantity); got != want {
			t.Errorf("%s before: %v, want %v", ch.Quantity, got, want)
		}
		if got, want := ch.After, asked(after, ch.Quantity); got != want {
			t.Errorf("%s after: %v, want %v", ch.Quantity, got, want)
		}
		if ch.Rows == 0 {
			t.Errorf("%s: no rows behind the change", ch.Quantity)
		}
	}
	for _, ch := range Changes(nil, after, labels) {
		if ch.Before.Median != 1 || !math.IsNaN(ch.Before.Low) {
			t.Errorf("%s before anything was known: %v", ch.Quantity, ch.Before)
		}
	}
}
