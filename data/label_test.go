package data

import (
	"testing"

	"trueplait/model"
)

func TestUses(t *testing.T) {
	l := newLog(t)
	add(t, l,
		file{name: "fills.csv", rows: []model.Row{usualFill("F1"), edit(usualFill("F2"), func(f *model.Fill) { f.Maker = "bob" })}},
		file{name: "checks.csv", rows: []model.Row{usualCheck("K1"), usualCheck("K2"), usualCheck("K3")}},
		file{name: "builds.csv", rows: []model.Row{
			usualBuild("B1"),
			edit(usualBuild("B2"), func(b *model.Build) { b.Maker, b.CoreBatch, b.ShotBatch = "bob", "ann", "" }),
		}},
	)
	// A split makes a level, not a label.
	split := model.Split{Effect: model.CoreBatch, Label: "C1", Since: day(0)}
	if err := l.Split(t.Context(), split, noon); err != nil {
		t.Fatal(err)
	}
	tests := []struct {
		effect model.Effect
		label  string
		want   map[model.Kind]int
	}{
		{model.Maker, "ann", map[model.Kind]int{model.Builds: 1, model.Fills: 1}},
		{model.Maker, "bob", map[model.Kind]int{model.Builds: 1, model.Fills: 1}},
		{model.Maker, "Ann", nil},
		{model.CoreBatch, "ann", map[model.Kind]int{model.Builds: 1}},
		{model.CoreBatch, "C1", map[model.Kind]int{model.Builds: 1, model.Fills: 2}},
		{model.CoreBatch, split.Level(), nil},
		{model.StrandBatch, "N1", map[model.Kind]int{model.Builds: 2, model.Checks: 3}},
		{model.ShotBatch, "S1", map[model.Kind]int{model.Builds: 1, model.Fills: 2}},
		{model.ShotBatch, "", nil},
		{model.Product, "6 ft", map[model.Kind]int{model.Builds: 2}},
		{"length", "6 ft", nil},
	}
	for _, tt := range tests {
		got, err := l.Uses(t.Context(), tt.effect, tt.label)
		if d := diff(tt.want, got); err != nil || d != "" {
			t.Errorf("Uses(%s, %q), %v (-want +got):\n%s", tt.effect, tt.label, err, d)
		}
	}
}
