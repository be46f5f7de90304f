package calibrate

import (
	"context"
	"math"
	"slices"
	"strings"
	"testing"

	"trueplait/model"
)

func fitLog(t *testing.T, rows Source, opt Options) *Calibration {
	t.Helper()
	c, err := Fit(context.Background(), rows, opt)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func TestFit_Empty(t *testing.T) {
	c := fitLog(t, NewRows(map[model.Quantity][]model.Observation{}), Options{For: []model.Labels{{Maker: "a"}}})
	if len(c.Quantities) != 5 || !c.Through.IsZero() {
		t.Fatalf("calibration of nothing: %+v", c)
	}
	for _, q := range c.Quantities {
		if q.Overall.Median != 1 || !math.IsNaN(q.Overall.Low) || !math.IsNaN(q.Overall.High) || len(q.Warnings) != 1 || q.REML != nil {
			t.Errorf("%s of nothing: %+v", q.Quantity, q)
		}
	}
}

// Fit recovers what a simulated shop was made with: every level's limits hold
// the truth about as often as they say.
func TestFit_Recovers(t *testing.T) {
	rows := workshopRows(5, 300)
	c := fitLog(t, rows, Options{For: []model.Labels{{Maker: "m00", CoreBatch: model.NewLevel}}})
	q := c.Quantity(model.Shot)
	if q.Rows != 300 || !slices.Equal(q.Effects, []model.Effect{model.Maker, model.CoreBatch}) {
		t.Fatalf("%d rows, effects %v", q.Rows, q.Effects)
	}
	seen := q.Factors[:len(q.Factors)-1]
	total := 0
	for _, f := range seen {
		total += f.Rows
		if !(f.Low < f.Median && f.Median < f.High) {
			t.Errorf("factor %+v is out of order", f)
		}
	}
	if total != 300 {
		t.Errorf("rows of the factors sum to %d, want 300", total)
	}
	asked := q.Factors[len(q.Factors)-1]
	if asked.Labels.CoreBatch != model.NewLevel || asked.Width() < 3*seen[0].Width() {
		t.Errorf("a new batch's factor %+v should be far wider than a known one's %+v", asked, seen[0])
	}
	// Each maker's limits hold what the best linear predictions say of them.
	mean := 0.0
	blup := map[string]float64{}
	for _, b := range q.REML.BLUP {
		if b.Effect == model.Maker {
			blup[b.Level] = b.Value
			mean += b.Value / 3
		}
	}
	if len(q.Makers) != 3 {
		t.Fatalf("makers %+v", q.Makers)
	}
	for _, m := range q.Makers {
		if want := math.Exp(blup[m.Maker] - mean); !(m.Low < want && want < m.High) || m.Width() > 0.03 {
			t.Errorf("maker %+v, want about %g and narrow: every batch is shared", m, want)
		}
	}
}

// What is set aside in shot leaves body as well, with its own ratio.
func TestFit_ShotLeavesBody(t *testing.T) {
	rows := workshopRows(5, 60)
	o := &rows.of[model.Shot][30]
	o.Y += 0.5
	o.Measured = o.Base * math.Exp(o.Y)
	c := fitLog(t, rows, Options{})
	body := c.Quantity(model.Body)
	if len(body.SetAside) != 1 || body.SetAside[0].Key != o.Key || body.SetAside[0].Reason != model.AsideShot {
		t.Fatalf("body sets aside %+v, want %s for its shot", body.SetAside, o.Key.ID)
	}
	if b := rows.of[model.Body][30]; math.Abs(body.SetAside[0].Ratio-b.Measured/b.Base) > 1e-12 {
		t.Errorf("ratio %g, want body's own %g", body.SetAside[0].Ratio, b.Measured/b.Base)
	}
	if body.Rows != 59 || c.Quantity(model.Shot).Rows != 59 || c.Quantity(model.Length).Rows != 60 {
		t.Errorf("rows: body %d, shot %d, length %d", body.Rows, c.Quantity(model.Shot).Rows, c.Quantity(model.Length).Rows)
	}
	if c := fitLog(t, rows, Options{KeepAll: true}); c.Quantity(model.Body).Rows != 60 || c.Quantity(model.Shot).Rows != 60 {
		t.Error("keeping all rows, some were set aside")
	}
}

// The slip's guess is judged against the overall factor.
func TestFit_SlipGuess(t *testing.T) {
	rows := workshopRows(5, 60)
	o := &rows.of[model.Weight][30]
	o.Measured /= 28.349523125
	o.Y -= math.Log(28.349523125)
	o.Excluded = model.UnitSlip
	got := fitLog(t, rows, Options{}).Quantity(model.Weight).SetAside
	if len(got) != 1 || !strings.Contains(got[0].Text, "ounces entered as grams") {
		t.Errorf("set aside %+v, want ounces entered as grams", got)
	}
}

func TestUnlinked(t *testing.T) {
	cell := func(maker, batch string, n int) model.Cell {
		return model.Cell{Kind: model.Builds, Labels: model.Labels{Maker: maker, StrandBatch: batch}, N: n}
	}
	apart := []model.Cell{cell("a", "1", 5), cell("b", "1", 5), cell("c", "2", 9)}
	if got := unlinked(model.Body, apart); len(got) != 1 || !slices.Equal(got[0].Makers, []string{"c"}) {
		t.Errorf("unlinked %v, want c alone", got)
	}
	// A cord check of both strand batches tells them apart.
	checked := append(apart, cell(model.CheckLevel, "1", 1), cell(model.CheckLevel, "2", 1))
	if got := unlinked(model.Body, checked); len(got) != 0 {
		t.Errorf("unlinked %v, want none: both batches were checked", got)
	}
	if got := unlinked(model.Body, []model.Cell{cell("a", "", 3), cell("b", "", 3)}); len(got) != 1 {
		t.Errorf("unlinked %v: makers without a recorded batch share none", got)
	}
	if got := unlinked(model.Body, nil); len(got) != 0 {
		t.Errorf("unlinked %v of nothing", got)
	}
}

func TestFillWarnings(t *testing.T) {
	cells := func(fillSD, by float64) []model.Cell {
		l := model.Labels{Maker: "a", CoreBatch: "C1"}
		return []model.Cell{
			{Kind: model.Builds, Labels: l, N: 20, Mean: 0, SS: 19 * 0.02 * 0.02},
			{Kind: model.Fills, Labels: l, N: 10, Mean: by, SS: 9 * fillSD * fillSD},
		}
	}
	tests := []struct {
		name   string
		sd, by float64
		want   []string
	}{
		{"alike", 0.02, 0.005, nil},
		{"scattered", 0.05, 0, []string{"scatter 5.0 %, builds 2.0 %"}},
		{"apart", 0.02, 0.03, []string{"10 test fills of a with core batch C1 came out 3 % above the 20 builds"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got := fillWarnings(cells(tt.sd, tt.by))
			if len(got) != len(tt.want) {
				t.Fatalf("warnings %q, want %d", got, len(tt.want))
			}
			for i := range got {
				if !strings.Contains(got[i], tt.want[i]) {
					t.Errorf("warning %q, want %q in it", got[i], tt.want[i])
				}
			}
		})
	}
}

// A single maker differs from nobody; his factor is there all the same.
func TestFit_OneMaker(t *testing.T) {
	rows := NewRows(map[model.Quantity][]model.Observation{model.Shot: {
		{Key: model.RowKey{Kind: model.Builds, ID: "1"}, Date: day(1), Labels: model.Labels{Maker: "a", CoreBatch: "c"}, Base: 100, Measured: 92, Y: math.Log(0.92)},
	}})
	q := fitLog(t, rows, Options{}).Quantity(model.Shot)
	if len(q.Makers) != 0 || len(q.Factors) != 1 || q.Factors[0].Rows != 1 || q.REML != nil {
		t.Fatalf("one build: %+v", q)
	}
	checkNear(t, "factor", q.Factors[0].Median, 0.92, 1e-9)
}
