package calibrate

import (
	"context"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"trueplait/model"
)

// Whatever the order of the combinations, the finder counts the rows with just
// their labels, of all kinds, and returns one of their cells.
func TestFinder(t *testing.T) {
	labels := rapid.Custom(func(t *rapid.T) model.Labels {
		name := rapid.SampledFrom([]string{"", "a", "b", "c", "d"})
		return model.Labels{Maker: name.Draw(t, "maker"), CoreBatch: name.Draw(t, "core"), Product: name.Draw(t, "product")}
	})
	rapid.Check(t, func(t *rapid.T) {
		kind := rapid.SampledFrom([]model.Kind{model.Builds, model.Fills})
		var obs []model.Observation
		rows := map[model.Labels]int{}
		for range rapid.IntRange(0, 60).Draw(t, "rows") {
			o := model.Observation{Key: model.RowKey{Kind: kind.Draw(t, "kind")}, Labels: labels.Draw(t, "row")}
			o.Labels.Product = "" // shot has no product
			rows[o.Labels]++
			obs = append(obs, o)
		}
		cells, err := NewRows(map[model.Quantity][]model.Observation{model.Shot: obs}).Cells(context.Background(), model.Shot, nil)
		if err != nil {
			t.Fatal(err)
		}
		find := newFinder(cells)
		asked := rapid.SliceOf(labels).Draw(t, "asked")
		if rapid.Bool().Draw(t, "in order") {
			slices.SortFunc(asked, func(a, b model.Labels) int { return compareLabels(&a, &b, model.Effects) })
		}
		for _, l := range asked {
			n, cell := find.rows(&l)
			if n != rows[l] || n > 0 && cells[cell].Labels != l {
				t.Fatalf("%d rows of %v, want %d", n, l, rows[l])
			}
		}
	})
}

// asking counts how often it is asked for combinations.
type asking struct {
	Source
	times int
}

func (a *asking) Combinations(_ context.Context, q model.Quantity, _ []model.Effect) ([]model.Labels, error) {
	a.times++
	return []model.Labels{{Maker: string(q)}}, nil
}

// The combinations of builds are read once for each set of effects; those of
// shot, which test fills have too, are its own.
func TestCombinations(t *testing.T) {
	src := &asking{}
	var c combinations
	maker, both := []model.Effect{model.Maker}, []model.Effect{model.Maker, model.Product}
	for i, tt := range []struct {
		q       model.Quantity
		effects []model.Effect
		want    string
		times   int
	}{
		{model.Weight, maker, "weight", 1},
		{model.Shot, maker, "shot", 2},
		{model.Body, maker, "weight", 2},
		{model.Length, both, "length", 3},
		{model.Strand, both, "length", 3},
	} {
		got, err := c.of(t.Context(), src, tt.q, tt.effects)
		if err != nil || got[0].Maker != tt.want || src.times != tt.times {
			t.Errorf("%d: combinations of %s after asking %d times, %v; want those of %s after %d", i, got[0].Maker, src.times, err, tt.want, tt.times)
		}
	}
	if got, err := c.of(t.Context(), src, model.Body, nil); got != nil || err != nil || src.times != 3 {
		t.Errorf("combinations of no effects: %v, %v", got, err)
	}
}
