package workshop

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"trueplait/calibrate"
	"trueplait/model"
)

// fakeGuild lends a pool, and keeps what is shared.
type fakeGuild struct {
	pool   model.Pool
	shared [][]model.Shared
	broken error
}

func (g *fakeGuild) Pool(context.Context) (model.Pool, error) { return g.pool, g.broken }

func (g *fakeGuild) SharePool(_ context.Context, shared []model.Shared) error {
	if g.broken == nil {
		g.shared = append(g.shared, shared)
	}
	return g.broken
}

// newFakeGuild lends what seven workshops know of the shot they use.
func newFakeGuild() *fakeGuild {
	g := &fakeGuild{pool: model.Pool{Workshops: 7}}
	for of, sd := range map[model.Parameter]float64{model.ScatterParameter: 0.02, model.SpreadParameter(model.Maker): 0.03, model.SpreadParameter(model.CoreBatch): 0.06} {
		g.pool.Parameters = append(g.pool.Parameters, model.Pooled{Quantity: model.Shot, Parameter: of, Workshops: 6, Mean: math.Log(sd), Variance: 0.05, SquaredSE: 0.08})
	}
	g.pool.Parameters = append(g.pool.Parameters, model.Pooled{Quantity: model.Shot, Parameter: model.MeanParameter, Workshops: 7, Mean: -0.05, Variance: 0.002, SquaredSE: 0.001})
	slices.SortFunc(g.pool.Parameters, func(a, b model.Pooled) int { return strings.Compare(string(a.Parameter), string(b.Parameter)) })
	return g
}

// nineBuilds are enough to share what was learnt of them.
const nineBuilds = `build,date,maker,product,core_batch,predicted_shot_g,shot_used
B1,2024-01-05,arlo,bull,C1,80,72 g
B2,2024-01-09,arlo,bull,C1,80,73.2 g
B3,2024-01-11,arlo,bull,C1,81,72.5 g
B4,2024-01-12,arlo,bull,C1,80,73 g
B5,2024-01-15,dita,bull,C1,80,75.1 g
B6,2024-01-16,dita,bull,C2,80,79 g
B7,2024-01-17,arlo,bull,C2,80,78.1 g
B8,2024-01-18,dita,bull,C2,80,80.3 g
B9,2024-01-19,dita,bull,C2,80,79.5 g
`

// sharedLog is a small log of a workshop in a guild.
func sharedLog(t *testing.T, path string, g Guild, opt Options) *Workshop {
	t.Helper()
	opt.Clock = func() (time.Time, error) { return today, nil }
	w, err := Make(t.Context(), path, opt)
	if err != nil {
		t.Fatal(err)
	}
	im, err := w.Log.Begin(t.Context(), today)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := NewLoader(im, Taking{}).Load(t.Context(), []Input{{Name: "builds.csv", Reader: strings.NewReader(nineBuilds)}}); err != nil {
		t.Fatal(errors.Join(err, im.Rollback()))
	}
	if err := im.Commit(t.Context()); err != nil {
		t.Fatal(err)
	}
	if err := w.Reread(t.Context()); err != nil {
		t.Fatal(err)
	}
	w.guild = g
	return w
}

// fitted fits with a pool or without, and saves.
func fitted(t *testing.T, w *Workshop, pooled bool) *calibrate.Calibration {
	t.Helper()
	var pool *model.Pool
	var err error
	if pooled {
		if pool, err = w.Pool(t.Context()); err != nil {
			t.Fatal(err)
		}
	}
	c, err := w.Calibrate(t.Context(), pool)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func TestPool_Refused(t *testing.T) {
	w := sharedLog(t, filepath.Join(t.TempDir(), "shop.duckdb"), nil, Options{})
	var err error
	defer w.Close(&err)
	if _, err := w.Pool(t.Context()); !errors.Is(err, ErrNotShared) || !strings.Contains(err.Error(), "--pool wants a log that several workshops share") {
		t.Errorf("a log of one workshop: %v", err)
	}
	g := newFakeGuild()
	g.pool.Workshops = 4
	w.guild = g
	var few *calibrate.PoolError
	if _, err := w.Pool(t.Context()); !errors.As(err, &few) || few.Workshops != 4 {
		t.Errorf("a guild of four others: %v", err)
	}
	g.broken = errors.New("the server went away")
	if _, err := w.Pool(t.Context()); !errors.Is(err, g.broken) {
		t.Errorf("a broken guild: %v", err)
	}
	if _, err := w.Calibrate(t.Context(), nil); !errors.Is(err, g.broken) || !strings.Contains(err.Error(), "calibration 1 is saved, but not shared") {
		t.Errorf("sharing with a broken guild: %v", err)
	}
}

// The same rows, options and pool have the same number; other figures of the
// guild are other options, but for their last digits.
func TestPool_Numbers(t *testing.T) {
	g := newFakeGuild()
	w := sharedLog(t, filepath.Join(t.TempDir(), "shop.duckdb"), g, Options{})
	var err error
	defer w.Close(&err)
	number := func(what string, pooled bool, want int) {
		t.Helper()
		if c := fitted(t, w, pooled); c.Number != want {
			t.Errorf("%s has number %d, want %d", what, c.Number, want)
		}
	}
	number("alone", false, 1)
	number("pooled", true, 2)
	number("pooled again", true, 2)
	number("alone again", false, 1)
	g.pool.Parameters[0].Mean *= 1 + 1e-14
	number("added up in another order", true, 2)
	g.pool.Parameters[0].Mean *= 1.01
	number("another pool", true, 3)
	if c, err := w.Fit(t.Context()); err != nil || c.Number != 1 || c.Pool != nil {
		t.Errorf("fitted anew: number %d, borrowed %v, %v; want number 1 on its own rows", c.Number, c.Pool, err)
	}
}

// What is shared is a calibration of all rows, without those that look wrong and
// without anything borrowed.
func TestPool_Shares(t *testing.T) {
	for name, tt := range map[string]struct {
		opt    Options
		pooled bool
		want   int
	}{
		"all rows":         {Options{}, false, 1},
		"pooled":           {Options{}, true, 0},
		"nothing left out": {Options{KeepAll: true}, false, 0},
		"up to a date":     {Options{Through: time.Date(2024, 1, 18, 0, 0, 0, 0, time.UTC)}, false, 0},
	} {
		t.Run(name, func(t *testing.T) {
			g := newFakeGuild()
			w := sharedLog(t, filepath.Join(t.TempDir(), "shop.duckdb"), g, tt.opt)
			var err error
			defer w.Close(&err)
			fitted(t, w, tt.pooled)
			if len(g.shared) != tt.want {
				t.Fatalf("shared %v", g.shared)
			}
			if tt.want > 0 && !slices.ContainsFunc(g.shared[0], func(s model.Shared) bool {
				return s.Quantity == model.Shot && s.Parameter == model.MeanParameter && math.Abs(s.Value-math.Log(0.95)) < 0.1 && s.SE > 0
			}) {
				t.Errorf("shared %v, want the mean of shot", g.shared[0])
			}
		})
	}
}

// A pooled calibration states all that it takes to fit it again.
func TestPool_Verified(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.duckdb")
	w := sharedLog(t, path, newFakeGuild(), Options{Program: workedProgram})
	fitted(t, w, true)
	saved, err := w.Log.Calibrations(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	var result bytes.Buffer
	if err := w.Log.WriteResult(t.Context(), saved[0].Number, &result); err != nil {
		t.Fatal(err)
	}
	pool, err := poolIn(result.Bytes())
	if err != nil || pool == nil || len(pool.Parameters) != 4 || saved[0].Options != autoOption+poolOption+poolPrint(pool) {
		t.Errorf("saved with options %q, and borrowed %+v (%v)", saved[0].Options, pool, err)
	}
	var keys struct{ Pool map[string]any }
	if err := json.Unmarshal(result.Bytes(), &keys); err != nil || keys.Pool["workshops"] != 7.0 {
		t.Errorf("pool %v, %v", keys.Pool, err)
	}
	if w.Close(&err); err != nil {
		t.Fatal(err)
	}
	if v := verified(t, path, workedProgram); !v.Sound() || len(v.Notes) > 0 {
		t.Errorf("%q, notes %q", faults(v), v.Notes)
	}
}
