package data

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"trueplait/model"
)

// The latest build of a product is that of the last day, of several the one
// with the last id, asked for alone or with those of all others.
func TestLatest(t *testing.T) {
	l := newLog(t)
	built := func(n int, id, product, core string) model.Row {
		return edit(usualBuild(id), func(b *model.Build) { b.Date, b.Product, b.CoreBatch = day(n), product, core })
	}
	add(t, l, file{name: "b.csv", rows: []model.Row{
		built(3, "B1", "bull", "C1"), built(3, "B9", "bull", "C2"), built(1, "B3", "bull", "C3"),
		built(2, "B4", "stock", "C1"), built(7, "B5", "stock", "C4"), built(6, "B6", "snake", "C1"),
	}})
	split := model.Split{Effect: model.CoreBatch, Label: "C2", Since: day(2)}
	if err := l.Split(t.Context(), split, noon); err != nil {
		t.Fatal(err)
	}
	o, err := l.Observations(t.Context(), day(5), false)
	if err != nil {
		t.Fatal(err)
	}
	got, err := o.LatestByProduct(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	core := map[string]string{}
	for product, labels := range got {
		core[product] = labels.CoreBatch
		_, alone, ok, err := o.Latest(t.Context(), product)
		if d := cmp.Diff(alone, labels); !ok || err != nil || d != "" {
			t.Errorf("%s: found alone %v, %v (-alone +with the others):\n%s", product, ok, err, d)
		}
	}
	if d := cmp.Diff(map[string]string{"bull": split.Level(), "stock": "C1"}, core); d != "" {
		t.Errorf("core batches as of day 5 (-want +got):\n%s", d)
	}
}
