package report

import (
	"bytes"
	"fmt"
	"html/template"
	"regexp"
	"slices"
	"strings"
	"testing"

	"trueplait/calibrate"
	"trueplait/model"
)

// focusable is a table that is scrolled with the keyboard.
var focusable = regexp.MustCompile(`<div class="scroll" tabindex="0" role="region" aria-label="[^"]+">`)

// Sections on a page of their own are the report's, but that their tables can
// be scrolled with the keyboard.
func TestSectionsHTML(t *testing.T) {
	for name, p := range map[string]Page{"ordinary": fakeShop(80), "hostile": hostileShop()} {
		p = p.complete()
		all := sections(p)
		if len(all) < 5 || !Charted(all) {
			t.Fatalf("%s: %d sections, charts %v", name, len(all), Charted(all))
		}
		page := render(t, p)
		for _, s := range all {
			html, err := SectionsHTML([]Section{s})
			if err != nil {
				t.Fatal(err)
			}
			marks, section, found := strings.Cut(string(html), "<section")
			section = focusable.ReplaceAllString(section, `<div class="scroll">`)
			if !found || !bytes.Contains(page, []byte("<section"+section)) {
				t.Errorf("%s: section %s is not that of the report", name, s.ID)
			}
			if charts := strings.Contains(section, "data-chart="); charts != Charted([]Section{s}) || charts != strings.Contains(marks, `id="mark-dot"`) {
				t.Errorf("%s: section %s: charts %v, but Charted says otherwise or the marks are missing", name, s.ID, charts)
			}
		}
		html, err := SectionsHTML(all)
		if err != nil {
			t.Fatal(err)
		}
		if n := strings.Count(string(html), `id="mark-dot"`); n != 1 {
			t.Errorf("%s: the marks of the keys are there %d times", name, n)
		}
	}
	if html, err := SectionsHTML(nil); html != "" || err != nil {
		t.Errorf("no sections: %q, %v", html, err)
	}
}

// A promise on its own has its words, its band beside the plan's, where the
// spread comes from and what to measure; without limits it has words alone.
func TestPromiseSections(t *testing.T) {
	list := PromiseSections(smallPromise(), Metric)
	var ids []string
	for _, s := range list {
		ids = append(ids, s.ID)
	}
	if want := []string{"promise", "scatter", "measure"}; !slices.Equal(ids, want) {
		t.Fatalf("sections %q, want %q", ids, want)
	}
	html, err := SectionsHTML(list)
	if err != nil {
		t.Fatal(err)
	}
	text := strings.ReplaceAll(string(html), nbsp, " ")
	for _, want := range []string{"Promise 402 to 431 g: 19 of 20 such whips will be inside.", "Within 10.0 g of 415 g", "402 to 431 g instead of 371 to 455 g.", "408 to 424 g",
		"± 8.0 g", "narrow it to ± 9.6 g", "Planned figures: from the parts list"} {
		if !strings.Contains(text, want) {
			t.Errorf("the sections lack %q", want)
		}
	}
	first := PromiseSections(firstPromise(), Metric)
	if len(first) != 1 || Charted(first) || !strings.HasPrefix(first[0].Intro, "Nothing can be promised yet.") || !slices.Contains(first[0].Notes, "No finished whip to learn from: the limits come with the first build") {
		t.Errorf("without a build: %+v", first)
	}
}

// Each quantity of a product is a section; what has no chart is said.
func TestLineSections(t *testing.T) {
	byProduct := map[string][]calibrate.Line{}
	for _, l := range smallLines(t) {
		byProduct[l.Product] = append(byProduct[l.Product], l)
	}
	bull := LineSections(byProduct["bull"], Metric)
	if len(bull) != 1 || bull[0].Title != "Weight" || len(bull[0].Figures) != 2 || bull[0].Figures[0].Chart == nil || bull[0].Figures[1].Chart == nil {
		t.Errorf("two lines with charts: %+v", bull)
	}
	snake := LineSections(byProduct["snake"], Metric)
	if Charted(snake) || !strings.Contains(snake[0].Figures[0].Reading, "one build so far") || len(snake[0].Figures[0].Notes) == 0 {
		t.Errorf("a line of one build: %+v", snake)
	}
	ids := map[string]bool{}
	for _, s := range LineSections(slices.Concat(smallLines(t)), Metric) {
		for _, f := range s.Figures {
			if ids[f.ID] {
				t.Errorf("two figures are called %s", f.ID)
			}
			ids[f.ID] = true
		}
	}
}

func TestLineSentence(t *testing.T) {
	lines := fixedLines()
	steady := lines[0]
	steady.Signals = nil
	alike := lines[0]
	alike.SD = 0
	for _, c := range []struct {
		l    calibrate.Line
		want string
	}{
		{lines[0], "weight: 410 g on average, usually 396–425 g; 2 of 12 builds stand out"},
		{steady, "weight: 410 g on average, usually 396–425 g; none of 12 builds stands out"},
		{alike, "weight: 410 g, all 12 builds alike"},
		{lines[1], "shot: 98.5 % of the plan, from one build"},
	} {
		if got := LineSentence(&c.l, Metric); got != c.want {
			t.Errorf("sentence %q, want %q", got, c.want)
		}
	}
}

// A long list of factors is searched by its labels and shown in pieces, in
// the order of the fit.
func TestFactorSection(t *testing.T) {
	q := &calibrate.QuantityFit{Quantity: model.Shot, Rows: 90, Effects: []model.Effect{model.Maker, model.CoreBatch}, Overall: around(0.94, 0.02)}
	for i := range 30 {
		q.Factors = append(q.Factors, calibrate.Factor{Labels: model.Labels{Maker: []string{"Dita", "ansa"}[i%2], CoreBatch: fmt.Sprintf("C%02d", i), Product: "hidden"},
			Rows: 30 - i, Interval: around(1, 0.02)})
	}
	for _, c := range []struct {
		search        string
		offset, limit int
		n, shown      int
		first         string
	}{
		{"", 0, 25, 30, 25, "C00"},
		{"", 25, 25, 30, 5, "C25"},
		{"", 99, 25, 30, 0, ""},
		{"dita", 0, 25, 15, 15, "C00"},
		{"ANSA c0", 2, 2, 5, 2, "C05"},
		{"dita ansa", 0, 25, 0, 0, ""},
		{"hidden", 0, 25, 0, 0, ""}, // no label of shot
	} {
		s, n := FactorSection(q, c.search, c.offset, c.limit)
		first := ""
		if len(s.Table.Rows) > 0 {
			first = s.Table.Rows[0][1]
		}
		if n != c.n || len(s.Table.Rows) != c.shown || first != c.first {
			t.Errorf("%q from %d: %d of %d from %q, want %d of %d from %q", c.search, c.offset, len(s.Table.Rows), n, first, c.shown, c.n, c.first)
		}
	}
	if len(q.Factors) != 30 || q.Factors[0].Labels.CoreBatch != "C00" {
		t.Error("the fit's own factors were changed")
	}
}

// The order of core batches may be given; the table may be cut to the newest.
func TestLoadSection(t *testing.T) {
	p := fakeShop(60)
	p.Proof, p.CoreBatches = nil, []string{"C02", "C26"}
	f := LoadSection(p, 3).Figures[0]
	if got := f.Table.Rows; len(got) != 3 || got[2][1] != "C02" || f.Fold != "Table: the newest 3 of 52 combinations" {
		t.Errorf("fold %q, rows %q", f.Fold, got)
	}
	if !strings.HasPrefix(f.Reading, "C02 · ") {
		t.Errorf("reading %q, want the batch used last first", f.Reading)
	}
	if f := LoadSection(p, 0).Figures[0]; len(f.Table.Rows) != 52 || f.Fold != "Table: all 52 combinations" {
		t.Errorf("all: %d rows, fold %q", len(f.Table.Rows), f.Fold)
	}
	if s := LoadSection(Page{}, 0); Charted([]Section{s}) || !strings.HasPrefix(s.Figures[0].Reading, "Nothing is known") {
		t.Errorf("an empty log: %+v", s)
	}
	if s := MakersSection(Page{}); s.Title != "" {
		t.Errorf("an empty log: %+v", s)
	}
}

// Advice needs no proof.
func TestAdviseWithoutProof(t *testing.T) {
	p := fakeShop(292)
	p.Proof = nil
	with := Advise(fakeShop(292))
	without := Advise(p)
	if len(without) < 3 || len(without) >= len(with) {
		t.Errorf("%d things to do without a proof, %d with it", len(without), len(with))
	}
}

func TestAsideWords(t *testing.T) {
	a := calibrate.SetAside{Ratio: 0.0338, Reason: model.UnitSlip, Text: "looks like \u202eounces"}
	if got, want := AsideWords(model.Shot, a), "shot used 0.034 times the plan: looks like <U+202E>ounces"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

// The scripts are those that the page has inside, and their digests tell them
// apart.
func TestChartScripts(t *testing.T) {
	page := render(t, Page{})
	list := ChartScripts()
	for _, s := range list {
		if !bytes.Contains(page, []byte("<script>"+s.Text+"</script>")) {
			t.Errorf("%s is not the page's", s.Name)
		}
	}
	if a, b := list[0].Digest(), list[1].Digest(); a == b || len(a) != 16 || a != ChartScripts()[0].Digest() {
		t.Errorf("digests %q and %q", a, b)
	}
	if got := strings.ReplaceAll(template.HTMLEscapeString(PagePolicy()), "+", "&#43;"); !bytes.Contains(page, []byte(`content="`+got+`"`)) {
		t.Errorf("the page states another policy than %q", got)
	}
}
