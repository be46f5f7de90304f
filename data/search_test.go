package data

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"trueplait/model"
)

// keys are the ids of rows, in their order.
func keys(rows []model.Row) []string {
	var out []string
	for _, r := range rows {
		out = append(out, r.Key())
	}
	return out
}

func TestSearch(t *testing.T) {
	l := newLog(t)
	add(t, l,
		file{name: "fills.csv", rows: []model.Row{
			usualFill("F1"),
			edit(usualFill("F2"), func(f *model.Fill) { f.Date, f.Maker, f.Note = day(1), "", "Tin half empty" }),
		}},
		file{name: "checks.csv", rows: []model.Row{usualCheck("K1")}},
		file{name: "builds.csv", rows: []model.Row{
			edit(usualBuild("B1"), func(b *model.Build) { b.Note = "100 % nylon" }),
			edit(usualBuild("B2"), func(b *model.Build) { b.SetAside = "Scales were flat" }),
			edit(usualBuild("B10"), func(b *model.Build) { b.CoreBatch, b.StrandBatch, b.ShotBatch = "", "N_7", "" }),
			edit(usualBuild("A4"), func(b *model.Build) { b.Date, b.Maker = day(2), "Zoë\tÅ" }),
		}},
	)
	tests := []struct {
		kind model.Kind
		text string
		want []string
	}{
		{model.Builds, "", []string{"A4", "B2", "B10", "B1"}}, // by date, then id as text
		{model.Builds, " \t\n ", []string{"A4", "B2", "B10", "B1"}},
		{model.Builds, "b1", []string{"B10", "B1"}},
		{model.Builds, "SCALES flat", []string{"B2"}},
		{model.Builds, "flat scales", []string{"B2"}},
		{model.Builds, "flat nylon", nil},
		{model.Builds, "ann 6 ft", []string{"B2", "B10", "B1"}},
		{model.Builds, "annbob", nil},
		{model.Builds, "%", []string{"B1"}},
		{model.Builds, "_", []string{"B10"}},
		{model.Builds, "n_7", []string{"B10"}},
		{model.Builds, `\`, nil},
		{model.Builds, "'; drop table build", nil},
		{model.Builds, "ZOË å", []string{"A4"}},
		{model.Builds, "c1", []string{"A4", "B2", "B1"}},
		{model.Builds, "B1ann", nil}, // a word lies in one cell
		{model.Fills, "half", []string{"F2"}},
		{model.Fills, "ANN s1", []string{"F1"}},
		{model.Fills, "", []string{"F2", "F1"}},
		{model.Checks, "n1 k1", []string{"K1"}},
		{model.Checks, "c1", nil},
	}
	for _, tt := range tests {
		rows, total, err := l.Search(t.Context(), tt.kind, tt.text, 10, 0)
		if err != nil || !slices.Equal(keys(rows), tt.want) || total != len(tt.want) {
			t.Errorf("Search(%s, %q) = %v of %d, %v; want %v", tt.kind, tt.text, keys(rows), total, err, tt.want)
		}
	}
	for _, kind := range []model.Kind{model.Products, model.Parts, "whips"} {
		if _, _, err := l.Search(t.Context(), kind, "", 10, 0); err == nil {
			t.Errorf("Search(%s): no error", kind)
		}
	}
}

// Every page is a part of the same list, of which each says the length.
func TestSearchInPages(t *testing.T) {
	l := newLog(t)
	in := file{name: "b.csv"}
	for i := range 7 {
		in.rows = append(in.rows, edit(usualBuild(fmt.Sprint("B", i)), func(b *model.Build) { b.Date = day(i % 3) }))
	}
	add(t, l, in)
	want := []string{"B5", "B2", "B4", "B1", "B6", "B3", "B0"}
	for limit := 1; limit <= 8; limit++ {
		for offset := range 10 {
			rows, total, err := l.Search(t.Context(), model.Builds, "b", limit, offset)
			from := min(offset, len(want))
			if page := want[from:min(from+limit, len(want))]; err != nil || total != 7 || !slices.Equal(keys(rows), page) {
				t.Errorf("%d after %d: %v of %d, %v; want %v of 7", limit, offset, keys(rows), total, err, page)
			}
		}
	}
	if rows, total, err := l.Search(t.Context(), model.Builds, "nowhere", 5, 5); err != nil || rows != nil || total != 0 {
		t.Errorf("past the end of nothing: %v of %d, %v", rows, total, err)
	}
}

// Search gives rows as Rows does, whatever cells they lack and whatever was
// worked out for them.
func TestSearchGivesFullRows(t *testing.T) {
	l, _ := unstatedLog(t)
	add(t, l, usualRows()[3:]...)
	for _, kind := range []model.Kind{model.Builds, model.Fills, model.Checks} {
		want := all(t, l, kind)
		got, _, err := l.Search(t.Context(), kind, "", 10, 0)
		if err != nil {
			t.Fatal(err)
		}
		slices.SortFunc(got, func(a, b model.Row) int { return slices.Index(keys(want), a.Key()) - slices.Index(keys(want), b.Key()) })
		if d := diff(want, got); d != "" {
			t.Errorf("%s (-rows +search):\n%s", kind, d)
		}
	}
}

func TestSearchFindsEveryWord(t *testing.T) {
	l := newLog(t)
	cells := []string{"", "ab", "a%", "B_", "a b", "%_%", `\ab`, "'"}
	in := file{name: "b.csv"}
	text := map[string]string{}
	for i := range 40 {
		b := edit(usualBuild(fmt.Sprint("i", i)), func(b *model.Build) {
			b.Maker, b.Product = "m", "p"
			b.CoreBatch, b.StrandBatch, b.ShotBatch = cells[i%8], cells[i/8], cells[(i+3)%8]
			b.Note, b.SetAside = cells[(i*5)%8], cells[(i*3+1)%8]
		})
		in.rows = append(in.rows, b)
		text[b.ID] = strings.ToLower(strings.Join([]string{b.ID, "m", "p", b.CoreBatch, b.StrandBatch, b.ShotBatch, b.Note, b.SetAside}, "\n"))
	}
	add(t, l, in)
	rapid.Check(t, func(rt *rapid.T) {
		query := rapid.StringOf(rapid.RuneFrom([]rune(`aAbB%_\'i1 `))).Draw(rt, "text")
		want := map[string]bool{}
		for id, cells := range text {
			want[id] = true
			for _, word := range strings.Fields(strings.ToLower(query)) {
				want[id] = want[id] && strings.Contains(cells, word)
			}
			if !want[id] {
				delete(want, id)
			}
		}
		rows, total, err := l.Search(t.Context(), model.Builds, query, 100, 0)
		if err != nil {
			rt.Fatal(err)
		}
		got := map[string]bool{}
		for _, r := range rows {
			got[r.Key()] = true
		}
		if d := diff(want, got); d != "" || total != len(rows) {
			rt.Errorf("%q, %d of %d (-want +got):\n%s", query, len(rows), total, d)
		}
	})
}
