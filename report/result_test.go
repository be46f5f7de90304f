package report

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"math"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/jedib0t/go-pretty/v6/text"

	"trueplait/calibrate"
	"trueplait/model"
)

// written returns what a form of a result writes.
func written(t *testing.T, form func(io.Writer) error) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := form(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

var importedFiles = []model.Imported{
	{File: "may.csv", Kind: model.Builds, Rows: 42, New: 40, Same: 1, Amended: 1,
		Warnings: []string{`may.csv:17: weight: "15 1/2" looks like ounces entered as grams`, "may.csv:30: date: 2031-01-01 is after today"}},
	{File: "fills.csv", Kind: model.Fills, Rows: 3, New: 2, Rejected: 1},
}

// smallCalibration has every kind of absence: no number, no limits, no
// component, nothing learnt.
func smallCalibration() *calibrate.Calibration {
	nan := math.NaN()
	day := func(d int) time.Time { return time.Date(2024, 3, d, 0, 0, 0, 0, time.UTC) }
	return &calibrate.Calibration{
		Through: day(31), Builds: 12, Fills: 2, Checks: 1,
		Quantities: []calibrate.QuantityFit{{
			Quantity: model.Shot, Rows: 13, Effects: []model.Effect{model.Maker, model.CoreBatch}, Method: "exact",
			SetAside: []calibrate.SetAside{
				{Key: model.RowKey{Kind: model.Builds, ID: "D-004"}, Date: day(4), Ratio: 0.0352739, Reason: model.UnitSlip, Text: "looks like ounces entered as grams"},
				{Key: model.RowKey{Kind: model.Fills, ID: "F<2>"}, Ratio: 1.5, Reason: model.ByHand, Text: "bag burst & spilled"},
				{Key: model.RowKey{Kind: model.Checks, ID: "K1"}, Date: day(9), Ratio: nan, Reason: model.FarOut},
			},
			Shifts: []calibrate.Shift{{Effect: model.CoreBatch, Level: "C02", First: model.RowKey{Kind: model.Builds, ID: "D-009"},
				Last: model.RowKey{Kind: model.Builds, ID: "D-012"}, Date: day(20), Rows: 4, Ratio: 1.08}},
			REML: &calibrate.REML{Criterion: -41.125, Mean: -0.0625, MeanSE: 0.015625, Residual: 0.0179,
				SD:   map[model.Effect]float64{model.Maker: nan, model.CoreBatch: 0.05},
				BLUP: []calibrate.BLUP{{Effect: model.CoreBatch, Level: "C01", Rows: 9, Value: 0, SE: 0.03}}},
			Overall: calibrate.Interval{Median: 0.9394130628134758, Low: 0.91, High: 0.97},
			Factors: []calibrate.Factor{
				{Labels: model.Labels{Maker: "dita", CoreBatch: "C01"}, Rows: 9, Interval: calibrate.Interval{Median: 0.94, Low: 0.92, High: 0.96}},
				{Labels: model.Labels{Maker: "dita", CoreBatch: "C02"}, Rows: 4, Interval: calibrate.Interval{Median: 1.01, Low: 0.98, High: 1.04}},
			},
			Drift:    []calibrate.Drift{{Effect: model.Maker, Level: "dita", AtBuild: "D-012", Since: "D-009", Direction: "up", Grade: "watch"}},
			Unlinked: []calibrate.Unlinked{{Makers: []string{"fen"}}},
			Warnings: []string{"1 build states no planned shot"},
		}, {
			Quantity: model.Strand, Method: "exact", Overall: calibrate.Interval{Median: 1, Low: nan, High: nan},
		}},
	}
}

// pooledCalibration is a small one that borrowed for shot.
func pooledCalibration() *calibrate.Calibration {
	c := smallCalibration()
	c.Pool = &model.Pool{Workshops: 7, Parameters: []model.Pooled{
		{Quantity: model.Shot, Parameter: model.MeanParameter, Workshops: 7, Mean: -0.0625, Variance: 0.0016, SquaredSE: 0.0009},
		{Quantity: model.Shot, Parameter: model.ScatterParameter, Workshops: 7, Mean: math.Log(0.02), Variance: 0.0625, SquaredSE: 0.03125},
		{Quantity: model.Shot, Parameter: model.SpreadParameter(model.Maker), Workshops: 5, Mean: math.Log(0.03), Variance: 0.25, SquaredSE: 0.125},
		{Quantity: model.Shot, Parameter: model.SpreadParameter(model.CoreBatch), Workshops: 7, Mean: math.Log(0.06), Variance: 0.125, SquaredSE: 0.0625},
	}}
	return c
}

// lonelyCalibration found nothing to borrow.
func lonelyCalibration() *calibrate.Calibration {
	c := smallCalibration()
	c.Pool = &model.Pool{Workshops: 9}
	return c
}

func smallProof() *calibrate.Proof {
	nan := math.NaN()
	figures := calibrate.Figures{N: 40,
		Scores: map[calibrate.Predictor]calibrate.Score{
			calibrate.Planner:     {Bias: -19.25, MAE: 26, RMSE: 41, MAPE: 0.051},
			calibrate.AsPlanned:   {Bias: -19.25, MAE: 26, RMSE: 41, MAPE: 0.051},
			calibrate.LastRatio:   {Bias: 3, MAE: 14, RMSE: 19, MAPE: 0.03},
			calibrate.RunningMean: {Bias: 2.5, MAE: 22.75, RMSE: 36, MAPE: 0.046},
			calibrate.Calibrated:  {Bias: -1.5, MAE: 10.25, RMSE: 13, MAPE: 0.02},
		},
		Coverage:  calibrate.Coverage{Nominal: 0.95, Achieved: 0.925, Low: 0.801, High: 0.974},
		MeanWidth: 48, IntervalScore: 61,
		MAERatio: calibrate.Ratio{Value: 0.394, Low: 0.31, High: 0.48}, MAERatioRunningMean: calibrate.Ratio{Value: 0.45, Low: 0.36, High: 0.55},
	}
	length := calibrate.Figures{N: 40, Scores: map[calibrate.Predictor]calibrate.Score{
		calibrate.Planner:    {Bias: 12, MAE: 21, RMSE: 30, MAPE: 0.012},
		calibrate.Calibrated: {Bias: 2, MAE: 19, RMSE: 27, MAPE: 0.011}},
		Coverage:  calibrate.Coverage{Nominal: 0.95, Achieved: 0.95, Low: 0.835, High: 0.986},
		MeanWidth: 90, IntervalScore: 110,
		MAERatio: calibrate.Ratio{Value: 0.9, Low: 0.78, High: 1.04}, MAERatioRunningMean: calibrate.Ratio{Value: 1, Low: 0.9, High: 1.1}}
	none := calibrate.Figures{Coverage: calibrate.Coverage{Nominal: 0.95, Achieved: nan, Low: nan, High: nan}, MeanWidth: nan, IntervalScore: nan,
		MAERatio: calibrate.Ratio{Value: nan, Low: nan, High: nan}, MAERatioRunningMean: calibrate.Ratio{Value: nan, Low: nan, High: nan}}
	return &calibrate.Proof{
		Cutoffs: []time.Time{time.Date(2024, 1, 5, 0, 0, 0, 0, time.UTC), time.Date(2024, 2, 9, 0, 0, 0, 0, time.UTC)},
		Quantities: []calibrate.QuantityProof{
			{Quantity: model.Weight, Builds: 40, LeftOut: 2, Figures: figures, Robust: figures, Better: true},
			{Quantity: model.Length, Builds: 40, Figures: length, Robust: length},
			{Quantity: model.Shot, Figures: none, Robust: none},
		},
	}
}

func TestGolden(t *testing.T) {
	narrow := Style{Width: 80}
	forms := map[string]func(io.Writer) error{
		"import.json":             func(w io.Writer) error { return ImportJSON(w, importedFiles) },
		"import_none.json":        func(w io.Writer) error { return ImportJSON(w, nil) },
		"import.txt":              func(w io.Writer) error { return ImportTable(w, importedFiles, narrow) },
		"calibration.json":        func(w io.Writer) error { return CalibrationJSON(w, smallCalibration()) },
		"calibration.txt":         func(w io.Writer) error { return CalibrationTable(w, smallCalibration(), narrow) },
		"calibration_pooled.json": func(w io.Writer) error { return CalibrationJSON(w, pooledCalibration()) },
		"calibration_pooled.txt":  func(w io.Writer) error { return CalibrationTable(w, pooledCalibration(), narrow) },
		"calibration_lonely.txt":  func(w io.Writer) error { return CalibrationTable(w, lonelyCalibration(), narrow) },
		"calibration_none.txt":    func(w io.Writer) error { return CalibrationTable(w, &calibrate.Calibration{}, narrow) },
		"factors.txt":             func(w io.Writer) error { return FactorsTable(w, smallCalibration(), narrow) },
		"proof.json":              func(w io.Writer) error { return ProofJSON(w, smallProof()) },
		"proof.txt":               func(w io.Writer) error { return ProofTable(w, smallProof(), narrow) },
		"consistency.json":        func(w io.Writer) error { return ConsistencyJSON(w, fixedLines()) },
		"consistency.txt":         func(w io.Writer) error { return ConsistencyTable(w, smallLines(t), narrow) },
		"consistency_none.txt":    func(w io.Writer) error { return ConsistencyTable(w, nil, narrow) },
		"proof_imperial.txt":      func(w io.Writer) error { return ProofTable(w, smallProof(), Style{Units: Imperial, Width: 80}) },
	}
	for name, form := range forms {
		t.Run(name, func(t *testing.T) { golden(t, name, written(t, form)) })
	}
}

// TestTablesFit checks that ordinary tables keep to the width of the terminal.
func TestTablesFit(t *testing.T) {
	shop := fakeShop(60)
	for name, form := range map[string]func(io.Writer) error{
		"import":      func(w io.Writer) error { return ImportTable(w, importedFiles, Style{}) },
		"calibration": func(w io.Writer) error { return CalibrationTable(w, shop.Calibration, Style{}) },
		"factors":     func(w io.Writer) error { return FactorsTable(w, shop.Calibration, Style{}) },
		"proof":       func(w io.Writer) error { return ProofTable(w, shop.Proof, Style{}) },
		"consistency": func(w io.Writer) error { return ConsistencyTable(w, shop.Lines, Style{}) },
	} {
		for _, line := range strings.Split(string(written(t, form)), "\n") {
			if n := text.StringWidth(line); n > 80 {
				t.Errorf("%s: %d columns: %s", name, n, line)
			}
		}
	}
}

// TestJSONWithoutNumber checks that figures that do not exist, and saved and
// unsaved numbers, are what they should be in JSON.
func TestJSONNumbers(t *testing.T) {
	c := smallCalibration()
	c.Number = 7
	c.Quantities[0].Overall = calibrate.Interval{Median: 1.0 / 3, Low: math.Inf(-1), High: math.NaN()}
	var got struct {
		Calibration *int    `json:"calibration"`
		Through     *string `json:"through"`
		Quantities  []struct {
			REML    *struct{} `json:"reml"`
			Overall struct {
				Factor, Low, High *float64
			} `json:"overall"`
		} `json:"quantities"`
	}
	if err := json.Unmarshal(written(t, func(w io.Writer) error { return CalibrationJSON(w, c) }), &got); err != nil {
		t.Fatal(err)
	}
	if got.Calibration == nil || *got.Calibration != 7 {
		t.Errorf("calibration = %v, want 7", got.Calibration)
	}
	o := got.Quantities[0].Overall
	if o.Factor == nil || *o.Factor != 1.0/3 || o.Low != nil || o.High != nil {
		t.Errorf("overall = %v %v %v, want 1/3 to the last bit, null, null", o.Factor, o.Low, o.High)
	}
	if got.Quantities[1].REML != nil {
		t.Errorf("reml = %v without a fit, want null", got.Quantities[1].REML)
	}
	empty := written(t, func(w io.Writer) error { return CalibrationJSON(w, &calibrate.Calibration{}) })
	if !strings.Contains(string(empty), `"through": null`) || !strings.Contains(string(empty), `"quantities": []`) {
		t.Errorf("an empty calibration is written as %s", empty)
	}
}

func TestJSONIsValidUTF8(t *testing.T) {
	files := []model.Imported{{File: "bad\xff\xfe.csv", Kind: model.Builds}}
	if got := written(t, func(w io.Writer) error { return ImportJSON(w, files) }); !utf8.Valid(got) || !json.Valid(got) {
		t.Errorf("not valid: %q", got)
	}
}

// full is a disk with no room left.
type full struct{ room int }

var errFull = errors.New("no space left")

func (f *full) Write(p []byte) (int, error) {
	if len(p) > f.room {
		return 0, errFull
	}
	f.room -= len(p)
	return len(p), nil
}

func TestWriteErrorsComeBack(t *testing.T) {
	shop := fakeShop(30)
	for name, form := range map[string]func(io.Writer) error{
		"ImportTable":      func(w io.Writer) error { return ImportTable(w, importedFiles, Style{}) },
		"ImportJSON":       func(w io.Writer) error { return ImportJSON(w, importedFiles) },
		"CalibrationTable": func(w io.Writer) error { return CalibrationTable(w, shop.Calibration, Style{}) },
		"CalibrationJSON":  func(w io.Writer) error { return CalibrationJSON(w, shop.Calibration) },
		"FactorsTable":     func(w io.Writer) error { return FactorsTable(w, shop.Calibration, Style{}) },
		"ProofTable":       func(w io.Writer) error { return ProofTable(w, shop.Proof, Style{}) },
		"ProofJSON":        func(w io.Writer) error { return ProofJSON(w, shop.Proof) },
		"HTML":             func(w io.Writer) error { return HTML(w, shop) },
	} {
		if err := form(&full{room: 100}); !errors.Is(err, errFull) {
			t.Errorf("%s on a full disk: %v, want %v", name, err, errFull)
		}
	}
}
