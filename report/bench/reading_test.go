package bench

import (
	"fmt"
	"html/template"
	"io"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"trueplait/model"
	"trueplait/report"
)

// escaped is a text as html/template writes it.
func escaped(s string) string {
	return strings.ReplaceAll(template.HTMLEscapeString(s), "+", "&#43;")
}

// readingPages are the pages that only show, with whatever they show at the
// most.
func readingPages() map[string]string {
	product := url.QueryEscape(hostile)
	return map[string]string{
		"promise":        "/promise",
		"promised":       "/promise?product=" + product + "&maker=" + product + "&core_batch=C05&within=10+g",
		"promise wrong":  "/promise?product=" + product + "&maker=nobody&core_batch=" + product,
		"lines":          "/lines?q=" + url.QueryEscape("plait "+hostile),
		"line":           "/lines/product?product=" + product,
		"line, promised": "/lines/product?product=8+ft+bull%2C+12+plait",
		"line, no build": "/lines/product?product=6+ft+stock",
		"factors":        "/factors",
		"factors found":  "/factors?quantity=weight&q=" + product,
		"split":          "/split?effect=maker&since=2026-01-04&label=" + product,
		"builds":         "/builds?q=" + product,
		"fills":          "/builds?kind=fills",
		"checks":         "/builds?kind=checks",
		"build":          "/builds/row?kind=builds&id=W002",
		"build aside":    "/builds/row?kind=builds&id=W003",
		"build, hostile": "/builds/row?kind=builds&id=" + url.QueryEscape("W041 "+hostile),
		"fill":           "/builds/row?kind=fills&id=F1",
		"files":          "/files",
		"report":         "/report",
	}
}

// Names are text on every page, and no page has a script or style of its own
// inside, but for the data of charts.
func TestReadingPages(t *testing.T) {
	b := newBrowser(t, newReadingShop(t))
	for name, path := range readingPages() {
		t.Run(name, func(t *testing.T) {
			got := (&browser{t, b.server, b.client}).get(path)
			if want := http.StatusOK; got.status != want && name != "promise wrong" {
				t.Errorf("status %d, want %d: %s", got.status, want, got.body)
			}
			if strings.Contains(got.body, "<script>") {
				t.Error("a script stands in the page")
			}
			if n := strings.Count(got.body, "<h1>"); n != 1 {
				t.Errorf("%d headings of the first rank", n)
			}
			charts := strings.Contains(got.body, "data-chart=")
			if policy := got.header.Get("Content-Security-Policy"); charts && !strings.Contains(policy, "style-src 'self' 'unsafe-inline'") ||
				strings.Contains(policy, "script-src") && !strings.Contains(policy, "script-src 'self';") {
				t.Errorf("policy %q", policy)
			}
			if !charts && strings.Contains(got.body, "style=\"") {
				t.Error("an element has a style of its own")
			}
			if charts != strings.Contains(got.body, chartPath) {
				t.Errorf("charts %v, but their scripts are loaded or not", charts)
			}
		})
	}
}

func TestReadingSays(t *testing.T) {
	b := newBrowser(t, newReadingShop(t))
	for path, says := range map[string][]string{
		"/promise": {`action="/promise" method="get"`, "19 of 20", `<option value="` + escaped(hostile) + `">`},
		"/promise?product=8+ft+bull,+12+plait&core_batch=C05&maker=dita&strand_batch=N07&shot_batch=S2&within=10+g": {"Promise ", "such whips will be inside", "The plan alone would need",
			"Where the spread comes from", "What to measure to narrow it", "± ", "at best", `data-chart="chart-promise-weight"`, "the next whip with a chance of"},
		"/promise?product=x":                      {`value="0.95" selected`},
		"/promise?product=x&coverage=0.97":        {`value="0.97" selected`},
		"/promise?product=x&of=many&maker=nobody": {"to put right", "is not in the log", `value="nobody"`, `value="many"`},
		"/lines":         {"all 3 products", "of the plan on average, usually", "stand out", "No builds to judge yet", "weight 380\u00a0g (13\u00a03/8\u00a0oz) to 440\u00a0g (15\u00a01/2\u00a0oz)", escaped(hostile)},
		"/lines?q=stock": {"just one", "6 ft stock"},
		"/lines/product?product=8+ft+bull%2C+12+plait": {"Promised today", "Ppk", "against the plan", "stands out", `href="/promise?product=8&#43;ft&#43;bull%2C&#43;12&#43;plait"`},
		"/lines/product?product=6+ft+stock":            {"The charts come with the first ones"},
		"/factors": {"Calibration 12", "60 builds", "By the look of it, something changed", "Core batch C04 from 2026-01-23: more shot since build W045", `<input type="hidden" name="label" value="C04"><input type="hidden" name="since" value="2026-02-02">`,
			"It changed: split it from 2026-02-02", "Watch this", "use a batch that the others use", "core batch C04, from 2026-01-23 on", "Undo", "What each core batch takes", "How the makers differ",
			"Multiply the planner", "Set aside", "W031", "times the plan", "all 15 combinations"},
		"/factors?q=c04+dita":      {"just one"},
		"/factors?quantity=length": {"stretch factor"},
		"/builds":                  {"1 to 25 of 60 builds, the newest first", ">W060</a>", "planned 400", "Next 25", `<input type="radio" name="kind" value="builds" checked>`},
		"/builds?page=3":           {"51 to 60 of 60 builds", "W001", "Previous 25"},
		"/builds?page=9":           {"none from 201 on: there are 60 builds"},
		"/builds?page=-1":          {"1 to 25 of 60"},
		"/builds?q=dita+c01":       {"all 4 builds"},
		"/builds?q=unheard":        {"no builds", "Try fewer words"},
		"/builds?kind=fills":       {"all 3 test fills", "14.0\u00a0g", "152\u00a0mm (6\u00a0in)"},
		"/builds/row?kind=builds&id=W002": {"406\u00a0g", "worked out when it came in", "today&#39;s 95\u00a0% band", ", line 17, 2026-03-04 09:00", "2026-03-04 11:00, by bench page", "2026-03-04 10:00, by may.csv", "weight: 14.5\u00a0g became ", "weight: 406.2",
			"became blank", `href="/edit?id=W002&amp;kind=builds"`},
		"/builds/row?kind=builds&id=W003": {"Set aside by hand", "Let it in again"},
		"/builds/row?kind=fills&id=F1":    {"Test fill F1", `href="/edit?id=F1&amp;kind=fills"`},
		"/files":                          {`enctype="multipart/form-data"`, "workshop.duckdb"},
		"/split?effect=core_batch&label=C04&since=2026-01-02": {"Split core batch C04", `value="2026-01-02"`, "undo the split"},
		"/split?effect=core_batch&label=C04&since=tomorrow":   {"is not a date", `value="tomorrow"`},
		"/split?effect=core_batch&label=C04&since=2999-01-01": {"is after today"},
	} {
		t.Run(path, func(t *testing.T) {
			got := (&browser{t, b.server, b.client}).get(path)
			status := http.StatusOK
			if strings.Contains(path, "nobody") {
				status = http.StatusUnprocessableEntity
			}
			got.wants(t, status, says...)
		})
	}
}

// What is not there is 404 in words, and a page asked the wrong way 405.
func TestReadingRefuses(t *testing.T) {
	b := newBrowser(t, newReadingShop(t))
	for _, c := range []struct {
		method, path string
		status       int
	}{
		{"GET", "/lines/product?product=unheard", 404},
		{"GET", "/lines/product", 404},
		{"GET", "/builds/row?kind=builds&id=unheard", 404},
		{"GET", "/builds/row?kind=parts&id=x", 404},
		{"GET", "/builds?kind=potatoes", 404},
		{"GET", "/split?effect=product&label=" + url.QueryEscape(hostile) + "&since=2026-01-01", 404},
		{"GET", "/split?effect=maker&label=nobody&since=2026-01-01", 404},
		{"GET", "/files/rejects?token=unheard", 410},
		{"GET", "/files/look?token=unheard", 410},
		{"GET", "/report/view", 404},
		{"GET", "/report/download", 404},
		{"GET", chartPath + "0123456789abcdef/app.js", 404},
		{"GET", "/aside", 405},
		{"GET", "/unsplit", 405},
		{"GET", "/files/take", 405},
		{"POST", "/promise", 405},
		{"POST", "/lines", 405},
		{"POST", "/factors", 405},
		{"POST", "/builds", 405},
		{"POST", "/builds/row", 405},
		{"POST", "/files/export", 405},
		{"POST", "/files/backup", 405},
		{"POST", "/report/view", 405},
	} {
		got := b.do(http.NewRequest(c.method, b.server.URL+c.path, nil))
		if got.status != c.status {
			t.Errorf("%s %s: status %d, want %d", c.method, c.path, got.status, c.status)
		}
		if c.status != 404 && !strings.Contains(got.body, `id="main"`) {
			t.Errorf("%s %s: the answer is no page: %s", c.method, c.path, got.body)
		}
	}
}

// A list has no page before the first and none after the last.
func TestPages(t *testing.T) {
	b := newBrowser(t, newReadingShop(t))
	for page, want := range map[string][2]bool{"": {false, true}, "2": {true, true}, "3": {true, false}, "9": {true, false}} {
		body := b.get("/builds?kind=builds&page=" + page).body
		if got := [2]bool{strings.Contains(body, "Previous 25"), strings.Contains(body, "Next 25")}; got != want {
			t.Errorf("page %q: before and after %v, want %v", page, got, want)
		}
	}
	b.get("/builds?kind=builds&page=9").wants(t, http.StatusOK, `href="/builds?kind=builds&amp;page=3"`)
	b.get("/factors?q=c&page=2").wants(t, http.StatusOK, `href="/factors?page=1&amp;q=c#list"`)
}

// The scripts of charts come under an address that changes with them.
func TestChartScripts(t *testing.T) {
	b := newBrowser(t, newReadingShop(t))
	page := b.get("/factors").body
	for _, s := range report.ChartScripts() {
		path := chartPath + s.Digest() + "/" + s.Name
		if !strings.Contains(page, `<script src="`+path+`" defer></script>`) {
			t.Errorf("the page does not load %s", path)
		}
		got := b.get(path)
		if got.status != http.StatusOK || got.body != s.Text || !strings.Contains(got.header.Get("Cache-Control"), "immutable") {
			t.Errorf("%s: status %d, %d bytes, cache %q", path, got.status, len(got.body), got.header.Get("Cache-Control"))
		}
	}
}

// What takes long is worked out once for a version of the log.
func TestLinesAreKept(t *testing.T) {
	shop := newReadingShop(t)
	b := newBrowser(t, shop)
	for range 3 {
		b.get("/lines")
		b.get("/lines/product?product=" + url.QueryEscape(hostile))
	}
	if shop.lines != 2 {
		t.Errorf("lines were judged %d times, want 2", shop.lines)
	}
	shop.now.Version++
	b.get("/lines")
	if shop.lines != 3 {
		t.Errorf("after a new row: judged %d times, want 3", shop.lines)
	}
}

func TestSplitting(t *testing.T) {
	shop := newReadingShop(t)
	b := newBrowser(t, shop)
	if got := b.post("/split", "effect", "maker", "label", hostile, "since", "2026-01-04"); got.status != http.StatusSeeOther || got.header.Get("Location") != "/factors#splits" {
		t.Errorf("split: status %d, to %q", got.status, got.header.Get("Location"))
	}
	b.post("/split", "effect", "maker", "label", hostile, "since", "4 January").wants(t, http.StatusUnprocessableEntity, "is not a date", `value="4 January"`, `aria-invalid="true"`)
	b.post("/split", "effect", "maker", "label", "nobody", "since", "2026-01-04").wants(t, http.StatusNotFound)
	if got := b.post("/unsplit", "effect", "core_batch", "label", "C04", "since", "2026-01-23"); got.status != http.StatusSeeOther {
		t.Errorf("unsplit: status %d", got.status)
	}
	b.post("/unsplit", "effect", "core_batch", "label", "C04", "since", "2026-01-24").wants(t, http.StatusNotFound, "not in force")
	want := []string{"split maker " + hostile + ", from 2026-01-04 on", "unsplit core batch C04, from 2026-01-23 on"}
	if !slices.Equal(shop.splits, want) {
		t.Errorf("splits %q, want %q", shop.splits, want)
	}
}

// A level that a split made goes back to its label before it is split again.
func TestSplitLabels(t *testing.T) {
	splits := []model.Split{{Effect: model.CoreBatch, Label: "C04", Since: march}, {Effect: model.Maker, Label: "ansa", Since: march}, {Effect: model.CoreBatch, Label: "C04", Since: march.AddDate(0, 1, 0)}}
	for level, want := range map[string]string{"C04 from 2026-03-04": "C04", "C04 from 2026-03-05": "C04 from 2026-03-05", "C05": "C05", "ansa from 2026-03-04": "ansa from 2026-03-04"} {
		if got := model.Unsplit(level, model.CoreBatch, splits); got != want {
			t.Errorf("label of %s = %s, want %s", level, got, want)
		}
	}
	want := []string{"C05", "C04 from 2026-04-04", "C04 from 2026-03-04", "C04", "C03"}
	if got := levels([]string{"C05", "C04", "C03"}, splits, model.CoreBatch); !slices.Equal(got, want) {
		t.Errorf("levels %q, want %q", got, want)
	}
}

func TestSettingAside(t *testing.T) {
	shop := newReadingShop(t)
	b := newBrowser(t, shop)
	got := b.post("/aside", "kind", "builds", "id", "W005", "reason", "  a gift "+hostile)
	if got.status != http.StatusSeeOther {
		t.Fatalf("status %d: %s", got.status, got.body)
	}
	b.get(got.header.Get("Location")).wants(t, http.StatusOK, "Build W005 is corrected")
	b.post("/aside", "kind", "builds", "id", "W005", "reason", " ").wants(t, http.StatusUnprocessableEntity, "Say why", `aria-invalid="true"`)
	long := strings.Repeat("ä", maxTyped+1)
	b.post("/aside", "kind", "builds", "id", "W005", "reason", long).wants(t, http.StatusUnprocessableEntity, "2001 characters", `value="`+long+`"`)
	b.post("/aside", "kind", "builds", "id", "W003", "do", "let in")
	b.post("/aside", "kind", "fills", "id", "F1", "reason", "x").wants(t, http.StatusNotFound)
	b.post("/aside", "kind", "builds", "id", "unheard", "reason", "x").wants(t, http.StatusNotFound)
	if want := []string{"W005: a gift " + hostile, "W003: "}; !slices.Equal(shop.aside, want) {
		t.Errorf("set aside %q, want %q", shop.aside, want)
	}
}

// A promise asks the shop with what was typed, and for the same words once.
func TestPromiseAsks(t *testing.T) {
	shop := newReadingShop(t)
	b := newBrowser(t, shop)
	b.get("/promise?product=8+ft+bull,+12+plait&maker=dita&coverage=0.9&of=3&around=415+g&within=10+g")
	want := map[string]string{"product": "8 ft bull, 12 plait", "maker": "dita", "coverage": "0.9", "of": "3", "around": "415 g", "within": "10 g"}
	if fmt.Sprint(shop.asked) != fmt.Sprint(want) {
		t.Errorf("asked %v, want %v", shop.asked, want)
	}
	b.get("/promise?product=x&maker="+strings.Repeat("m", maxTyped+1)).wants(t, http.StatusUnprocessableEntity, "2001 characters")
}

// The archive and the backup come as files, whole or visibly not.
func TestDownloads(t *testing.T) {
	for path, name := range map[string]string{"/files/export": "trueplait-2026-03-04.zip", "/files/backup": "trueplait-2026-03-04.duckdb"} {
		shop := newReadingShop(t)
		b := newBrowser(t, shop)
		got := b.get(path)
		got.wants(t, http.StatusOK, "PK and so on")
		if d := got.header.Get("Content-Disposition"); d != "attachment; filename="+name {
			t.Errorf("%s: disposition %q", path, d)
		}

		shop.broken = io.ErrUnexpectedEOF
		got = b.get(path)
		got.wants(t, http.StatusInternalServerError, "on our side")
		if d := got.header.Get("Content-Disposition"); d != "" {
			t.Errorf("%s: a page of an error is given out as a file: %q", path, d)
		}

		// a file that breaks off half way must not look whole
		shop.hold = make(chan struct{})
		answer, err := b.client.Get(b.server.URL + path)
		if err == nil {
			defer answer.Body.Close()
			_, err = io.ReadAll(answer.Body)
		}
		if err == nil {
			t.Errorf("%s: half a file came without an error", path)
		}
	}
}
