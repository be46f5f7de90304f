package calibrate

import (
	"math"
	"testing"

	"trueplait/model"
)

// Gneiting & Raftery (2007), eq. 43, worked by hand at α = 0.05.
func TestIntervalScore(t *testing.T) {
	tests := []struct{ low, high, x, want float64 }{
		{10, 14, 12, 4},
		{10, 14, 10, 4},
		{10, 14, 9, 4 + 40},
		{10, 14, 14.5, 4 + 20},
	}
	for _, tt := range tests {
		checkNear(t, "interval score", intervalScore(tt.low, tt.high, tt.x, 0.05), tt.want, 1e-9)
	}
}

// Wilson's interval, e.g. Newcombe (1998), Stat Med 17:857, Table I: 81 of 263
// has limits 0.2553 and 0.3662; 0 of 20 has 0 and 0.1611; 1 of 29 has 0.0061
// and 0.1718.
func TestWilson(t *testing.T) {
	tests := []struct{ k, n, low, high float64 }{
		{81, 263, 0.2553, 0.3662},
		{0, 20, 0, 0.1611},
		{1, 29, 0.0061, 0.1718},
	}
	for _, tt := range tests {
		low, high := wilson(tt.k, tt.n)
		checkNear(t, "low", low, tt.low, 5e-5)
		checkNear(t, "high", high, tt.high, 5e-5)
	}
}

func TestPercentiles(t *testing.T) {
	x := make([]float64, 41) // 40, 39, …, 0
	for i := range x {
		x[i] = float64(40 - i)
	}
	low, high := percentiles(x)
	checkNear(t, "low", low, 1, 1e-12)
	checkNear(t, "high", high, 39, 1e-12)
}

func TestBlockLength(t *testing.T) {
	build := func(batch string) Scored { return Scored{Labels: model.Labels{CoreBatch: batch}} }
	var builds []Scored
	for range 27 {
		builds = append(builds, build(""))
	}
	if got := blockLength(builds); got != 3 {
		t.Errorf("27 builds without batches: blocks of %d, want 3", got)
	}
	for i := range builds {
		builds[i] = build([]string{"A", "B", "B"}[i/9])
	}
	if got := blockLength(builds); got != 13 { // median of 9 and 18
		t.Errorf("batches of 9 and 18: blocks of %d, want 13", got)
	}
	if got := blockLength(builds[:1]); got != 1 {
		t.Errorf("one build: blocks of %d, want 1", got)
	}
}

// A predictor that halves every error has a ratio of one half, surely.
func TestFigures_Ratio(t *testing.T) {
	var builds []Scored
	for i := range 50 {
		e := 1 + float64(i%7)
		builds = append(builds, Scored{Measured: 100, Low: 90, High: 110, Predicted: map[Predictor]float64{
			Planner: 100 + e, RunningMean: 100 - e, Calibrated: 100 + e/2, AsPlanned: 100, LastRatio: 100,
		}})
	}
	f := figures(builds, 1)
	for _, r := range []Ratio{f.MAERatio, f.MAERatioRunningMean} {
		checkNear(t, "ratio", r.Value, 0.5, 1e-12)
		checkNear(t, "low", r.Low, 0.5, 1e-12)
		checkNear(t, "high", r.High, 0.5, 1e-12)
	}
	if !f.better() {
		t.Error("not better")
	}
	if a := f.Scores[AsPlanned]; a.Bias != 0 || a.MAE != 0 || a.RMSE != 0 || a.MAPE != 0 {
		t.Errorf("perfect predictor scored %+v", a)
	}
	if f.Coverage.Achieved != 1 || f.Coverage.High != 1 || !(f.Coverage.Low < 1) {
		t.Errorf("coverage %+v, want all inside and a lower limit below 1", f.Coverage)
	}
}

func TestFigures_NoBuilds(t *testing.T) {
	f := figures(nil, 1)
	if f.N != 0 || !math.IsNaN(f.Scores[Planner].MAE) || !math.IsNaN(f.Coverage.Achieved) || !math.IsNaN(f.MAERatio.Value) || f.better() {
		t.Errorf("figures of nothing: %+v", f)
	}
}
