package web

import (
	"bytes"
	"context"
	_ "embed"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	cdplog "github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"

	"trueplait/cmd/workshop"
	"trueplait/data"
	"trueplait/data/demo"
)

var screens = flag.String("screens", "", "directory to save screenshots of the bench page in")

//go:embed testdata/axe/axe.min.js
var axeJS string

// benchServer is the bench page of a shop on an address of this machine.
type benchServer struct {
	url  string
	shop *workshop.Bench
}

// serveShop serves a log with the rows of the given files.
func serveShop(t *testing.T, files ...workshop.Input) benchServer {
	t.Helper()
	s, base := served(t, func(port int) *stage {
		log, err := data.Open(t.Context(), filepath.Join(t.TempDir(), "shop.duckdb"), data.ReadWrite)
		if err != nil {
			t.Fatal(err)
		}
		return stageOn(t.Context(), t, log, port, files)
	})
	return benchServer{base + "/", s.shop}
}

// demoFiles are the demo shop's, whole.
func demoFiles(t *testing.T) []workshop.Input {
	t.Helper()
	var out []workshop.Input
	for _, name := range demoNames {
		text, err := demo.Files.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, workshop.Input{Name: name, Reader: bytes.NewReader(text)})
	}
	return out
}

// tab is a page in the browser, watched for what it asks for and complains of.
type tab struct {
	*testing.T
	ctx    context.Context
	server benchServer

	sync.Mutex
	complaints []string
	foreign    []string // requests to anywhere else
}

// newTab opens a tab of the given width.
func newTab(t *testing.T, browser context.Context, server benchServer, width int64) *tab {
	t.Helper()
	ctx, cancel := chromedp.NewContext(browser)
	t.Cleanup(cancel)
	b := &tab{T: t, ctx: ctx, server: server}
	b.do(chromedp.EmulateViewport(width, 844))
	err := chromedp.Listen(ctx, func(event any) {
		b.Lock()
		defer b.Unlock()
		switch e := event.(type) {
		case *network.EventRequestWillBeSent:
			if u := e.Request.URL; !strings.HasPrefix(u, server.url) && !strings.HasPrefix(u, "data:") && !strings.HasPrefix(u, "blob:") {
				b.foreign = append(b.foreign, u)
			}
		case *runtime.EventExceptionThrown:
			b.complaints = append(b.complaints, e.ExceptionDetails.Text)
		case *runtime.EventConsoleAPICalled:
			b.complaints = append(b.complaints, fmt.Sprint(e.Type, " ", e.Args))
		case *cdplog.EventEntryAdded:
			if strings.Contains(e.Entry.Text, "status of 422") { // Chromium notes every refused form so
				return
			}
			b.complaints = append(b.complaints, e.Entry.Text+" "+e.Entry.URL)
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := chromedp.Call(ctx, network.Enable, network.EnableParams{}); err != nil {
		t.Fatal(err)
	}
	return b
}

// night shows pages in dark colours.
func (b *tab) night() {
	b.Helper()
	if _, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: "dark"}}}); err != nil {
		b.Fatal(err)
	}
}

func (b *tab) do(steps ...chromedp.Action[chromedp.Void]) {
	b.Helper()
	if err := chromedp.Do(b.ctx, steps...); err != nil {
		b.Fatal(err)
	}
}

func (b *tab) open(path string) {
	b.Helper()
	b.do(chromedp.Navigate(b.server.url + strings.TrimPrefix(path, "/")))
}

// write types text into the field of a name, in place of what is there.
func (b *tab) write(field, text string) {
	b.Helper()
	sel := fmt.Sprintf(`main [name=%q]`, field)
	evaluate[int](b, fmt.Sprintf(`document.querySelector(%q).select(), 0`, sel))
	b.do(chromedp.SendKeys(sel, text))
}

// press clicks the button or link of the page that says just this, and waits
// for the page that follows.
func (b *tab) press(words string) {
	b.Helper()
	found := evaluate[bool](b, fmt.Sprintf(`(() => {
		document.querySelectorAll("[data-pressed]").forEach(e => e.removeAttribute("data-pressed"));
		const e = [...document.querySelectorAll("main button, main a, main summary")].find(e => e.textContent.trim() === %q);
		if (e) e.dataset.pressed = "";
		return !!e; })()`, words))
	if !found {
		b.Fatalf("no button says %q on %s", words, b.text("main"))
	}
	if evaluate[bool](b, `document.querySelector("[data-pressed]").tagName === "SUMMARY"`) {
		b.do(chromedp.Click("[data-pressed]"))
		return
	}
	if _, err := chromedp.RunResponse(b.ctx, chromedp.Click("[data-pressed]")); err != nil {
		b.Fatalf("%s: %v", words, err)
	}
}

// text is what a part of the page says, with plain spaces.
func (b *tab) text(sel string) string {
	b.Helper()
	text := evaluate[string](b, fmt.Sprintf(`document.querySelector(%q)?.innerText ?? ""`, sel))
	return strings.NewReplacer("\u00a0", " ", "\u202f", " ").Replace(text)
}

// says fails unless the page's main part says all of the words.
func (b *tab) says(words ...string) {
	b.Helper()
	text := b.text("main")
	for _, w := range words {
		if !strings.Contains(text, w) {
			b.Errorf("the page does not say %q:\n%s", w, text)
		}
	}
}

func evaluate[T any](b *tab, script string) T {
	b.Helper()
	v, err := chromedp.Run(b.ctx, chromedp.Evaluate[T](script))
	if err != nil {
		b.Fatalf("%s: %v", script, err)
	}
	return v
}

// accessible asks axe-core for what is wrong with the page by WCAG 2.1, A and AA.
func (b *tab) accessible() {
	b.Helper()
	evaluate[int](b, axeJS+"; 0")
	result, err := chromedp.Run(b.ctx, chromedp.Evaluate[string](`axe.run(document, {runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa"]}).then(r => JSON.stringify({
		passes: r.passes.length,
		violations: r.violations.map(v => v.id + ": " + v.help + ": " + v.nodes.slice(0, 3).map(n => n.html + " " + n.any.map(a => a.message).join("; ")).join(" | "))}))`, chromedp.EvalAwaitPromise))
	if err != nil {
		b.Fatal(err)
	}
	var found struct {
		Passes     int
		Violations []string
	}
	if err := json.Unmarshal([]byte(result), &found); err != nil {
		b.Fatal(err)
	}
	if found.Passes < 8 {
		b.Errorf("only %d rules were looked at", found.Passes)
	}
	for _, v := range found.Violations {
		b.Errorf("%s: %s", evaluate[string](b, `location.pathname`), v)
	}
}

// fits fails if the page is wider than the window.
func (b *tab) fits() {
	b.Helper()
	if wide := evaluate[string](b, `document.documentElement.scrollWidth <= innerWidth ? "" :
		document.documentElement.scrollWidth + " px in a window of " + innerWidth`); wide != "" {
		b.Errorf("%s is %s wide", evaluate[string](b, `location.pathname`), wide)
	}
}

// quiet fails if anything was asked of another place, or complained of.
func (b *tab) quiet() {
	b.Helper()
	b.Lock()
	defer b.Unlock()
	if len(b.foreign) > 0 {
		b.Errorf("requests that left the page: %q", b.foreign)
	}
	if len(b.complaints) > 0 {
		b.Errorf("the console says %q", b.complaints)
	}
}

// picture saves what the page looks like, where asked to.
func (b *tab) picture(name string) {
	b.Helper()
	if *screens == "" {
		return
	}
	shot, err := chromedp.Run(b.ctx, chromedp.FullScreenshot(100))
	if err != nil {
		b.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(*screens, name+".png"), shot, 0o644); err != nil {
		b.Fatal(err)
	}
}
