package calibrate

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"trueplait/model"
)

// steady is a shop of two makers and four batches, 40 builds.
var steady = shop{builds: 40, makers: 2, cores: 4, scatter: 0.02,
	spread: map[model.Effect]float64{model.Maker: 0.03, model.CoreBatch: 0.05}}

func steadyRows(seed uint64, spoil func(obs []model.Observation)) *Rows {
	obs, _ := steady.simulate(rand.New(rand.NewPCG(seed, 7)))
	spoil(obs)
	for i := range obs {
		obs[i].Measured = obs[i].Base * math.Exp(obs[i].Y)
	}
	return NewRows(map[model.Quantity][]model.Observation{model.Shot: obs})
}

func screenShot(t *testing.T, rows Source, off bool) *screened {
	t.Helper()
	scr, err := screen(context.Background(), rows, model.Shot, nil, off)
	if err != nil {
		t.Fatal(err)
	}
	return scr
}

func asideIDs(scr *screened) []string {
	ids := []string{}
	for _, f := range scr.aside {
		ids = append(ids, f.Key.ID)
	}
	return ids
}

func TestScreen(t *testing.T) {
	tests := []struct {
		name   string
		spoil  func(obs []model.Observation)
		aside  []string
		shifts int
	}{
		{"nothing wrong", func([]model.Observation) {}, []string{}, 0},
		{"one typing error", func(obs []model.Observation) { obs[17].Y += 0.4 }, []string{"B00017"}, 0},
		{"two errors of different size in a row", func(obs []model.Observation) { obs[17].Y += 0.4; obs[18].Y += 0.8 }, []string{"B00017", "B00018"}, 0},
		{"errors either side", func(obs []model.Observation) { obs[17].Y += 0.4; obs[18].Y -= 0.4 }, []string{"B00017", "B00018"}, 0},
		{"a shift of one batch's last rows is kept", func(obs []model.Observation) {
			for i := 37; i < 40; i++ {
				obs[i].Y += 0.3
			}
		}, []string{}, 1},
		{"the only build of its batch", func(obs []model.Observation) { obs[20].Labels.CoreBatch = "alone"; obs[20].Y -= 0.5 }, []string{"B00020"}, 0},
		{"a plausible only build of its batch", func(obs []model.Observation) { obs[20].Labels.CoreBatch = "alone"; obs[20].Y -= 0.1 }, []string{}, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			scr := screenShot(t, steadyRows(2, tt.spoil), false)
			if got := asideIDs(scr); !slices.Equal(got, tt.aside) {
				t.Errorf("set aside %v, want %v", got, tt.aside)
			}
			if len(scr.shifts) != tt.shifts {
				t.Errorf("shifts %v, want %d", scr.shifts, tt.shifts)
			}
			if got := int(scr.sys.n); got != 40-len(tt.aside) {
				t.Errorf("%d rows in the fit, want %d", got, 40-len(tt.aside))
			}
		})
	}
}

func TestScreen_ShiftIsTold(t *testing.T) {
	scr := screenShot(t, steadyRows(2, func(obs []model.Observation) {
		for i := 37; i < 40; i++ {
			obs[i].Y += 0.3
		}
	}), false)
	s := scr.shifts[0]
	if s.Effect != model.CoreBatch || s.Level != "c03" || s.First.ID != "B00037" || s.Last.ID != "B00039" || s.Rows != 3 || s.Ratio < 1.1 {
		t.Errorf("shift %+v, want core batch c03 up from B00037 to B00039", s)
	}
}

// At most one row in ten is set aside as far out, the farthest first.
func TestScreen_AtMostATenth(t *testing.T) {
	scr := screenShot(t, steadyRows(2, func(obs []model.Observation) {
		for i := range 6 {
			obs[6*i].Y += 0.3 + 0.1*float64(i)
		}
	}), false)
	if got, want := asideIDs(scr), []string{"B00012", "B00018", "B00024", "B00030"}; !slices.Equal(got, want) {
		t.Errorf("set aside %v, want the farthest four %v", got, want)
	}
}

func TestScreen_TooFewOrOff(t *testing.T) {
	few := steadyRows(2, func(obs []model.Observation) { obs[3].Y += 1 })
	few.of[model.Shot] = few.of[model.Shot][:7]
	if got := asideIDs(screenShot(t, few, false)); len(got) != 0 {
		t.Errorf("7 rows: set aside %v, want none", got)
	}
	off := steadyRows(2, func(obs []model.Observation) { obs[3].Y += 1 })
	if scr := screenShot(t, off, true); len(scr.aside) != 0 || int(scr.sys.n) != 40 {
		t.Errorf("off: set aside %v of %v rows", asideIDs(scr), scr.sys.n)
	}
}

// cycling flags one row of the two that were not set aside, so that no set
// repeats the one before.
type cycling struct {
	*Rows
	scans int
}

func (c *cycling) Screen(_ context.Context, _ model.Quantity, _ model.Fitted, _ []model.RowKey) (model.Screen, error) {
	c.scans++
	s := model.Screen{N: 40, Scale: 0.01}
	for _, i := range [][]int{{1, 2}, {2, 3}, {1, 2}, {2, 3}}[c.scans%4] {
		s.Flagged = append(s.Flagged, model.Flagged{Key: model.RowKey{Kind: model.Builds, ID: fmt.Sprintf("B%05d", i)}, T: 1 - 0.2*float64(i)})
	}
	return s, nil
}

// Where an earlier set comes back, the rows of every set of the cycle are set
// aside and the others kept.
func TestScreen_Cycle(t *testing.T) {
	src := &cycling{Rows: steadyRows(2, func([]model.Observation) {})}
	if got := asideIDs(screenShot(t, src, false)); !slices.Equal(got, []string{"B00002"}) {
		t.Errorf("set aside %v, want the row of both sets", got)
	}
	if src.scans > 4 {
		t.Errorf("%d scans, want the cycle noticed at once", src.scans)
	}
}
