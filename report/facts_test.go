package report

import (
	"fmt"
	"strconv"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"trueplait/model"
)

func blankBuild() *model.Build {
	x := model.Unknown
	return &model.Build{PredictedWeightG: x, PredictedLengthMM: x, PredictedShotG: x, PredictedStrandMM: x, ShotFactor: x, BodyFactor: x,
		LengthFactor: x, WeightG: x, LengthMM: x, ShotUsedG: x, StrandCutMM: x, StrandLeftMM: x, LoadLengthMM: x, Humidity: x}
}

func TestFacts(t *testing.T) {
	day := time.Date(2026, 3, 4, 0, 0, 0, 0, time.UTC)
	b := blankBuild()
	b.ID, b.Date, b.Maker, b.Product, b.WeightG, b.StrandLeftMM, b.Humidity, b.Calibration, b.ShotFactor, b.Note =
		"W\u202e1", day, "dita", "8 ft", 411.0681, 0, 45, 12, 0.94123456, "two\nlines"
	for _, c := range []struct {
		row  model.Row
		want string
	}{
		{b, "build=W<U+202E>1=W\u202e1|date=2026-03-04=2026-03-04|maker=dita=dita|product=8 ft=8 ft|weight=411 g=411.0681 g|strand left=0.0 mm=0 mm|" +
			"humidity=45 %=45 %|calibration=12=12|shot factor=0.9412=0.94123456|note=two<U+000A>lines=two\nlines"},
		{&model.Fill{ID: "F1", Labels: model.Labels{CoreBatch: "C1", Product: "none of a fill's"}, FilledLengthMM: 152.4, ShotMassG: 14.25, PredictedShotG: model.Unknown},
			"fill=F1=F1|core batch=C1=C1|filled length=152 mm=152.4 mm|shot mass=14.2 g=14.25 g"},
		{&model.Check{ID: "K1", Labels: model.Labels{StrandBatch: "N1"}, CheckedLengthMM: 5000, CheckedMassG: 22, PredictedMassG: 23},
			"check=K1=K1|strand batch=N1=N1|checked length=5000 mm=5000 mm|checked mass=22.0 g=22 g|predicted mass=23.0 g=23 g"},
		{&model.ProductLine{Product: "8 ft", WeightLowG: 400, WeightHighG: model.Unknown, LengthLowMM: model.Unknown, LengthHighMM: model.Unknown},
			"product=8 ft=8 ft|weight low=400 g=400 g"},
		{&model.Part{Product: "8 ft"}, ""},
	} {
		var got []string
		for _, f := range Facts(c.row, Metric) {
			got = append(got, fmt.Sprintf("%s=%s=%s", f.Name, f.Text, f.Exact))
		}
		if s := strings.Join(got, "|"); s != c.want {
			t.Errorf("facts of %T:\n%s\nwant\n%s", c.row, s, c.want)
		}
	}
}

// TestExactGivesBack: a figure that is shown to be corrected is the figure of
// the log, to the last bit.
func TestExactGivesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(1e-6, 1e9).Draw(t, "x")
		text := Exact(x)
		if back, err := strconv.ParseFloat(text, 64); err != nil || back != x || strings.ContainsAny(text, "eE") {
			t.Fatalf("%v is shown as %s, read back as %v (%v)", x, text, back, err)
		}
	})
}

func TestAmount(t *testing.T) {
	for _, c := range []struct {
		x    float64
		of   model.Dimension
		want string
	}{
		{411, model.MassDimension, "411 g (14 1/2 oz)"},
		{1869, model.LengthDimension, "1869 mm (73 5/8 in)"},
		{0.25, model.NoDimension, "0.25"},
	} {
		if got := Amount(c.x, c.of, Both); got != c.want {
			t.Errorf("Amount(%v, %v) = %q, want %q", c.x, c.of, got, c.want)
		}
	}
}
