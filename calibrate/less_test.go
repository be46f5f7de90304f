package calibrate

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"trueplait/model"
)

// Cells less some rows are those of the others.
func TestCellsWithout_SumsOfTheRest(t *testing.T) {
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
		before := fmt.Sprint(all)
		got := cellsWithout(all, model.Shot, rows)
		if fmt.Sprint(all) != before {
			t.Fatal("the cells themselves changed")
		}
		if len(got) != len(want) {
			t.Fatalf("%d cells, want %d", len(got), len(want))
		}
		for i := range got {
			g, w := got[i], want[i]
			if g.Kind != w.Kind || g.Labels != w.Labels || g.N != w.N || math.Abs(g.Mean-w.Mean) > 1e-14 || math.Abs(g.SS-w.SS) > 1e-14 {
				t.Fatalf("cell %+v, want %+v", g, w)
			}
		}
	})
}
