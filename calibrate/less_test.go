package calibrate

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"trueplait/model"
)

// Cells less some rows are those of the others, whatever was taken off before,
// and their system is the same as one of their own.
func TestLessCells(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 40).Draw(t, "rows")
		label := rapid.SampledFrom([]string{"", "a", "b"})
		var obs []model.Observation
		var rows []model.Flagged
		var keys []model.RowKey
		for i := range n {
			o := model.Observation{Key: model.RowKey{Kind: rapid.SampledFrom([]model.Kind{model.Builds, model.Fills}).Draw(t, "kind"), ID: fmt.Sprint(i)},
				Labels: model.Labels{Maker: label.Draw(t, "maker"), CoreBatch: label.Draw(t, "core"), StrandBatch: "s", ShotBatch: label.Draw(t, "shot"), Product: "p"},
				Y:      rapid.Float64Range(-0.5, 0.5).Draw(t, "y")}
			obs = append(obs, o)
			if rapid.Bool().Draw(t, "aside") {
				rows = append(rows, model.Flagged{Key: o.Key, Labels: o.Labels, Ratio: math.Exp(o.Y)})
				keys = append(keys, o.Key)
			}
		}
		src := NewRows(map[model.Quantity][]model.Observation{model.Shot: obs})
		all, _ := src.Cells(t.Context(), model.Shot, nil)
		want, _ := src.Cells(t.Context(), model.Shot, keys)
		less := newLessCells(model.Shot, all)
		before := fmt.Sprint(all)
		whole := newSystem(model.Shot.Effects(), all, nil)
		less.take(rows[:len(rows)/2])
		less.take(rows)
		sys := whole.less(less)
		got := slices.Clone(less.cells)
		if less.take(nil); fmt.Sprint(less.cells) != before {
			t.Fatal("not all is put back")
		}
		got = withRows(got)
		if len(got) != len(want) {
			t.Fatalf("%d cells, want %d", len(got), len(want))
		}
		for i := range got {
			g, w := got[i], want[i]
			if g.Kind != w.Kind || g.Labels != w.Labels || g.N != w.N || math.Abs(g.Mean-w.Mean) > 1e-14 || math.Abs(g.SS-w.SS) > 1e-14 {
				t.Fatalf("cell %+v, want %+v", g, w)
			}
		}
		checkSameSystem(t, sys, newSystem(model.Shot.Effects(), got, nil))
	})
}

// checkSameSystem compares what a system sums up, and what it comes to.
func checkSameSystem(t *rapid.T, got, want *system) {
	t.Helper()
	for _, part := range [][2]any{
		{got.effects, want.effects}, {got.levels, want.levels}, {got.cells, want.cells}, {got.blank, want.blank},
		{got.margins, want.margins}, {got.whole, want.whole}, {got.n, want.n}, {got.centre, want.centre},
	} {
		if !reflect.DeepEqual(part[0], part[1]) {
			t.Fatalf("%v, want %v", part[0], part[1])
		}
	}
	if want.n < 2 {
		return
	}
	theta := []float64{0.7, 1.5, 0.4}[:len(want.effects)]
	a, b := got.solve(theta, nil), want.solve(theta, nil)
	slopes := func(o *solution) []float64 {
		det, quad := make([]float64, len(theta)), make([]float64, len(theta))
		o.slopes(det, quad)
		return slices.Concat([]float64{o.logDet, o.rx2, o.r2}, det, quad)
	}
	for i, x := range slopes(b) {
		if y := slopes(a)[i]; math.Abs(x-y) > 1e-9*(1+math.Abs(x)) {
			t.Fatalf("figure %d: %g, want %g", i, y, x)
		}
	}
}
