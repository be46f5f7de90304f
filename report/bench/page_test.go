package bench

import (
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"trueplait/model"
	"trueplait/report"
)

func TestWrongAddress(t *testing.T) {
	b := newBrowser(t, newFakeShop())
	for _, c := range []struct {
		method, path string
		status       int
		says, allow  string
	}{
		{"GET", "/nowhere", 404, "There is no page at /nowhere.", ""},
		{"GET", "/<script>", 404, "There is no page at /&lt;script&gt;.", ""},
		{"PUT", "/finish", 405, "takes GET and POST", "GET, POST"},
		{"POST", "/", 405, "takes GET.", "GET"},
		{"DELETE", "/saved", 405, "This page cannot be used that way", "GET"},
		{"GET", "/static/nothing.css", 404, "", ""},
		{"GET", "/static/0000/layout.html", 404, "", ""},
	} {
		r, err := http.NewRequest(c.method, b.server.URL+c.path, nil)
		got := b.do(r, err)
		got.wants(t, c.status, c.says)
		if allow := got.header.Get("Allow"); allow != c.allow {
			t.Errorf("%s %s: Allow %q, want %q", c.method, c.path, allow, c.allow)
		}
	}
}

var (
	assetLink   = regexp.MustCompile(`(?:href|src)="(/static/[^"]+)"`)
	inlineStyle = regexp.MustCompile(`<[^>]* style=|<style|<script>|<[^>]* on[a-z]+=`)
)

func TestAssets(t *testing.T) {
	b := newBrowser(t, newFakeShop())
	links := assetLink.FindAllStringSubmatch(b.get("/").body, -1)
	if len(links) != 2 {
		t.Fatalf("assets %v, want a style and a script", links)
	}
	for _, l := range links {
		got := b.get(l[1])
		got.wants(t, 200)
		if !strings.Contains(got.header.Get("Cache-Control"), "immutable") {
			t.Errorf("%s: Cache-Control %q", l[1], got.header.Get("Cache-Control"))
		}
	}
}

// hostileShop has the hostile name wherever a name can stand.
func hostileShop() *fakeShop {
	s := newFakeShop()
	l := model.Labels{Maker: hostile, Product: hostile, CoreBatch: hostile, StrandBatch: hostile, ShotBatch: hostile}
	s.now.Latest = l
	s.now.Open[0].ID, s.now.Open[0].Labels = hostile, l
	s.now.Products = []Product{{Name: hostile, Planned: true}, {Name: "no list " + hostile}}
	s.now.NextID = map[model.Kind]string{model.Builds: hostile, model.Fills: hostile, model.Checks: hostile}
	s.now.Newest[0].ID, s.now.Newest[0].Labels = hostile, l
	s.now.Advice = []report.Advice{{Do: hostile, Why: hostile, Rows: []report.AdviceRow{{Key: model.RowKey{Kind: model.Builds, ID: hostile}, Text: hostile}}, Record: model.Fills, Label: hostile}}
	s.now.Program = hostile
	s.rows["builds "+hostile] = &Record{Stated: s.now.Newest[0], Full: s.now.Newest[0]}
	s.doubts = []string{hostile}
	return s
}

// TestHostileNamesAreText asks for every writing page with a name that would be
// a script if it were not escaped, in the log and in what is typed.
func TestHostileNamesAreText(t *testing.T) {
	shop := hostileShop()
	b := newBrowser(t, shop)
	id := url.QueryEscape(hostile)
	b.post("/maker", "maker", hostile, "units", "metric").wants(t, 303)
	typed := []string{"weight", "390 g", "note", hostile, "build", hostile, "product", hostile, "maker", hostile, "core_batch", "C99 " + hostile}
	saved := b.post("/finish", append(typed, "confirm", "1")...)
	saved.wants(t, 303)
	pages := map[string]answer{
		"start": b.get("/"), "plan": b.get("/plan"), "change": b.get("/plan?change=" + id), "result": b.get("/plan/result?product=" + id),
		"sheet": b.get("/plan/sheet?product=" + id), "opened": b.get("/plan/result?product=" + id + "&opened=" + id),
		"drop": b.get("/drop?build=" + id), "finish": b.get("/finish"), "finish it": b.get("/finish?plan=" + id),
		"without": b.get("/finish?without=1"), "fill": b.get("/fill"), "cord": b.get("/cord"), "product": b.get("/product?product=" + id),
		"edit": b.get("/edit?kind=builds&id=" + id), "saved": b.get(saved.header.Get("Location")), "maker": b.get("/maker"),
		"review": b.post("/finish?plan="+id, typed...), "refused": b.post("/finish", "weight", hostile, "note", hostile),
		"no page": b.get("/" + url.PathEscape(hostile)),
	}
	for name, page := range pages {
		if page.status >= 500 {
			t.Errorf("%s: status %d", name, page.status)
		}
		if strings.Contains(page.body, "<script>alert") || strings.Contains(page.body, `'x' "y"`) {
			t.Errorf("%s: the name is not escaped", name)
		}
		if !strings.Contains(page.body, "&lt;script&gt;alert") {
			t.Errorf("%s: the name is not there", name)
		}
		if name != "sheet" && inlineStyle.MatchString(page.body) {
			t.Errorf("%s: inline style or script %q", name, inlineStyle.FindString(page.body))
		}
	}
}

// TestEveryFieldIsLabelled: each control has a label of its own, and what
// describes it is there.
func TestEveryFieldIsLabelled(t *testing.T) {
	b := newBrowser(t, newFakeShop())
	control := regexp.MustCompile(`<(?:input|select|textarea) id="([^"]+)"[^>]*>`)
	described := regexp.MustCompile(`aria-describedby="([^"]+)"`)
	for _, path := range []string{"/plan", "/finish?plan=W265", "/finish?without=1", "/fill", "/cord", "/product", "/maker", "/edit?kind=builds&id=W264"} {
		page := b.get(path)
		controls := control.FindAllStringSubmatch(page.body, -1)
		if len(controls) == 0 {
			t.Errorf("%s: no control found", path)
		}
		for _, c := range controls {
			if !strings.Contains(page.body, `<label for="`+c[1]+`">`) {
				t.Errorf("%s: %s has no label", path, c[1])
			}
			for _, d := range described.FindAllStringSubmatch(c[0], -1) {
				for _, id := range strings.Fields(d[1]) {
					if !strings.Contains(page.body, `id="`+id+`"`) {
						t.Errorf("%s: %s is described by %s, which is not there", path, c[1], id)
					}
				}
			}
		}
		if strings.Count(page.body, "<h1>") != 1 || !strings.Contains(page.body, `<html lang="en">`) || !strings.Contains(page.body, `href="#main"`) {
			t.Errorf("%s: no single h1, no language or no way to skip to the page", path)
		}
	}
}

func TestEcho(t *testing.T) {
	b := newBrowser(t, newFakeShop())
	for _, c := range []struct {
		query  string
		status int
		want   string
	}{
		{"column=weight&text=411+g", 200, `{"text":"411 g (14 1/2 oz)"}`},
		{"column=strand_left&text=1869+mm", 200, `{"text":"1869 mm (73 5/8 in)"}`},
		{"column=weight&text=411", 200, `{"problem":"\"411\" has no unit: write \"411 g\""}`},
		{"column=weight&text=%3Cb%3E", 200, `{"problem":"\"\u003cb\u003e\" has no unit: write \"\u003cb\u003e g\""}`},
		{"column=weight&text=", 200, `{}`},
		{"column=weight&text=" + strings.Repeat("1", 2001), 200, `{"problem":"is too long"}`},
		{"column=target_weight&text=411+g", 200, `{"text":"411 g (14 1/2 oz)"}`},
	} {
		got := b.get("/echo?" + c.query)
		if got.status != c.status || c.want != "" && strings.TrimSpace(got.body) != c.want {
			t.Errorf("echo of %.60s: %d %s, want %d %s", c.query, got.status, got.body, c.status, c.want)
		}
	}
	b.post("/maker", "maker", "ansa", "units", "metric").wants(t, 303)
	if got := b.get("/echo?column=weight&text=411+g"); !strings.Contains(got.body, `{"text":"411 g"}`) {
		t.Errorf("echo for a maker who thinks in grams: %s", got.body)
	}
}

func TestMakerIsRemembered(t *testing.T) {
	shop := newFakeShop()
	b := newBrowser(t, shop)
	b.post("/maker", "maker", "", "units", "metric").wants(t, 422, "is blank: who is at the bench?")
	b.post("/maker", "maker", "Åsa ; dita", "units", "furlongs").wants(t, 422, "is not one of the choices", `value="Åsa ; dita"`)
	b.post("/maker", "maker", strings.Repeat("x", 201), "units", "both").wants(t, 422, "too long to remember")
	b.post("/maker", "maker", "Åsa ; dita", "units", "imperial").wants(t, 303)
	if shop.units["Åsa ; dita"] != report.Imperial {
		t.Errorf("units %v", shop.units)
	}
	b.get("/").wants(t, 200, "Åsa ; dita")
	b.get("/fill").wants(t, 200, `name="maker" value="Åsa ; dita"`)
}

func TestTooMuchAtOnce(t *testing.T) {
	server := http.MaxBytesHandler(New(newFakeShop(), Options{}), 1000)
	b := newBrowser(t, newFakeShop())
	b.server.Config.Handler = server
	b.post("/finish", "note", strings.Repeat("x", 2000)).wants(t, 413, "That is too much at once")
}

func TestStart(t *testing.T) {
	shop := newFakeShop()
	b := newBrowser(t, shop)
	got := b.get("/")
	got.wants(t, 200, "Plan with the calibrated weight and length.", `href="/plan"`, `href="/builds"`, `href="/factors"`, `href="/fill?core_batch=C14"`,
		"1 more in the report", `href="/finish?plan=W265"`, "open for 4 days", "411\u00a0g (14\u00a01/2\u00a0oz)", "planned 402\u00a0g")
	if strings.Contains(got.body, "Bring a fifth thing") {
		t.Error("more than four things to do now")
	}
	shop.now = Snapshot{Today: march}
	b.get("/").wants(t, 200, "Nothing stands out. Keep recording.", "None. A plan is frozen")
}
