package door

import (
	"context"
	"flag"
	"fmt"
	"html/template"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"trueplait/report/chromium"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

var screens = flag.String("screens", "", "directory to save screenshots of the door in")

// console collects what the browser complains of.
type console struct {
	sync.Mutex
	lines []string
}

func listen(t *testing.T, ctx context.Context) *console {
	t.Helper()
	c := &console{}
	err := chromedp.Listen(ctx, func(event any) {
		c.Lock()
		defer c.Unlock()
		switch e := event.(type) {
		case *runtime.EventExceptionThrown:
			c.lines = append(c.lines, e.ExceptionDetails.Text)
		case *runtime.EventConsoleAPICalled:
			c.lines = append(c.lines, fmt.Sprint(e.Type, " ", e.Args))
		case *log.EventEntryAdded:
			// A refusal has a status that says so, and Chromium counts that as an error.
			if !strings.Contains(e.Entry.Text, "the server responded with a status of 4") {
				c.lines = append(c.lines, e.Entry.Text)
			}
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func (c *console) check(t *testing.T) {
	t.Helper()
	c.Lock()
	defer c.Unlock()
	if len(c.lines) > 0 {
		t.Errorf("the console says %q", c.lines)
	}
}

func evaluate[T any](t *testing.T, ctx context.Context, script string) T {
	t.Helper()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](script))
	if err != nil {
		t.Fatalf("%s: %v", script, err)
	}
	return v
}

func do(t *testing.T, ctx context.Context, steps ...chromedp.Action[chromedp.Void]) {
	t.Helper()
	if err := chromedp.Do(ctx, steps...); err != nil {
		t.Fatal(err)
	}
}

// picture saves the page where -screens says.
func picture(t *testing.T, ctx context.Context, name string) {
	t.Helper()
	if *screens == "" {
		return
	}
	shot, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(*screens, name+".png"), shot, 0o644); err != nil {
		t.Fatal(err)
	}
}

// notes is a page with a form that shows what was saved last.
var notes = template.Must(template.New("notes").Parse(`<!DOCTYPE html><html lang="en"><link rel="icon" href="data:,"><title>Notes</title>
<p id="saved">{{.}}</p>
<form method="post" action="/notes" enctype="multipart/form-data">
<input id="note" name="note"><input id="file" name="file" type="file"><button id="save">Save</button></form></html>`))

func notesPage(w http.ResponseWriter, r *http.Request) {
	if r.Method == http.MethodPost {
		if err := r.ParseMultipartForm(1 << 20); err != nil {
			http.Error(w, err.Error(), http.StatusBadRequest)
			return
		}
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	_ = notes.Execute(w, r.PostForm.Get("note"))
}

// served runs a door that asks for a code on a real port of this address and
// returns it with its URL.
func served(t *testing.T, addr string) (s *stand, base string) {
	t.Helper()
	l, err := net.Listen("tcp", net.JoinHostPort(addr, "0"))
	if err != nil {
		t.Fatal(err)
	}
	s = &stand{}
	door, err := New(http.HandlerFunc(notesPage), l.Addr().(*net.TCPAddr).Port, Options{
		Hosts: []string{addr}, Announce: func(code string) {
			s.mu.Lock()
			defer s.mu.Unlock()
			s.codes = append(s.codes, code)
		}})
	if err != nil {
		t.Fatal(err)
	}
	s.Door = door
	server := Server(door)
	go func() { _ = server.Serve(Limit(l, MaxConns)) }()
	t.Cleanup(func() { _ = server.Close() })
	return s, "http://" + l.Addr().String()
}

// network returns an address by which other machines would reach this one;
// browsers trust it less than loopback and send less.
func network(t *testing.T) string {
	t.Helper()
	all, err := net.InterfaceAddrs()
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range all {
		if n, ok := a.(*net.IPNet); ok && n.IP.IsGlobalUnicast() && n.IP.To4() != nil {
			return n.IP.String()
		}
	}
	if os.Getenv("TRUEPLAIT_NEED") == "all" {
		t.Fatal("needs an IPv4 address other than loopback")
	}
	t.Skip("needs an IPv4 address other than loopback")
	return ""
}

// TestDoorInBrowser comes in from a phone, is signed out while typing, and
// sends what was typed all the same.
func TestDoorInBrowser(t *testing.T) {
	ctx := chromium.Start(t, time.Minute)
	for name, address := range map[string]func(*testing.T) string{
		"loopback": func(*testing.T) string { return "127.0.0.1" },
		"network":  network,
	} {
		t.Run(name, func(t *testing.T) {
			addr := address(t)
			tab, cancel := chromedp.NewContext(ctx)
			defer cancel()
			do(t, tab)
			heard := listen(t, tab)
			s, base := served(t, addr)
			here := func() string { return evaluate[string](t, tab, `location.pathname + location.search`) }
			signIn := chromedp.Steps(chromedp.SendKeys(chromedp.CSS("#code"), strings.ToLower(s.code())), chromedp.Click(chromedp.CSS("button")), chromedp.WaitReady(chromedp.CSS("#note")))

			do(t, tab, chromedp.EmulateViewport(390, 800), chromedp.Navigate(base+"/notes?of=today"))
			if got := here(); got != "/door?next=%2Fnotes%3Fof%3Dtoday" {
				t.Fatalf("not signed in, the browser is at %s", got)
			}
			picture(t, tab, name+"-form")
			do(t, tab, signIn)
			if got := here(); got != "/notes?of=today" {
				t.Errorf("signed in, the browser is at %s", got)
			}

			newest := s.code()
			s.devices.mu.Lock()
			clear(s.devices.signedIn)
			s.devices.mu.Unlock()
			do(t, tab, chromedp.SendKeys(chromedp.CSS("#note"), `tip 14 1/2"`), chromedp.Click(chromedp.CSS("#save")), chromedp.WaitReady(chromedp.CSS(".go")))
			if got := evaluate[string](t, tab, `document.title`); got != "This device is not signed in" {
				t.Fatalf("signed out while typing, the page is %q", got)
			}
			picture(t, tab, name+"-signed-out")
			other, done := chromedp.NewContext(tab)
			defer done()
			do(t, other, chromedp.Navigate(base+"/door?code="+newest), chromedp.Click(chromedp.CSS("button")), chromedp.WaitReady(chromedp.CSS("#note")))
			do(t, tab, chromedp.Reload(), chromedp.WaitReady(chromedp.CSS("#saved")))
			if got := evaluate[string](t, tab, `document.getElementById("saved").textContent`); got != `tip 14 1/2"` {
				t.Errorf("after signing in and reloading %q was saved", got)
			}

			large := filepath.Join(t.TempDir(), "large.csv")
			if err := os.WriteFile(large, make([]byte, 20_000_000), 0o600); err != nil {
				t.Fatal(err)
			}
			do(t, tab, chromedp.SetUploadFiles(chromedp.CSS("#file"), []string{large}), chromedp.Click(chromedp.CSS("#save")), chromedp.WaitReady(chromedp.CSS(".go")))
			if got := evaluate[string](t, tab, `document.title`); got != "That is too large" {
				t.Errorf("after a file that is too large the page is %q", got)
			}
			do(t, tab, chromedp.Navigate(base+"/door"))
			picture(t, tab, name+"-signed-in")
			do(t, tab, chromedp.Click(chromedp.CSS("button.quiet")), chromedp.WaitReady(chromedp.CSS("#code")))
			if got := here(); got != "/door" {
				t.Errorf("signed out, the browser is at %s", got)
			}
			heard.check(t)
		})
	}
}

// TestDoorIsEasyToUse: large text, a large button, nothing wider than the
// phone, and colours that can be read by day and by night.
func TestDoorIsEasyToUse(t *testing.T) {
	ctx := chromium.Start(t, time.Minute)
	heard := listen(t, ctx)
	_, base := served(t, "127.0.0.1")
	for _, scheme := range []string{"light", "dark"} {
		if _, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
			Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}}); err != nil {
			t.Fatal(err)
		}
		do(t, ctx, chromedp.EmulateViewport(320, 700), chromedp.Navigate(base+"/door"),
			chromedp.SendKeys(chromedp.CSS("#code"), "AAAA-AAAA"), chromedp.Click(chromedp.CSS("button")), chromedp.WaitReady(chromedp.CSS(".trouble")))
		picture(t, ctx, "wrong-code-"+scheme)
		if got := evaluate[int](t, ctx, `document.documentElement.scrollWidth`); got > 320 {
			t.Errorf("%s: the page is %d px wide in a window of 320", scheme, got)
		}
		if got := evaluate[float64](t, ctx, `Math.min(...[...document.querySelectorAll("button, input:not([type=hidden])")].map(e => e.getBoundingClientRect().height))`); got < 48 {
			t.Errorf("%s: what is touched is %g px high, want 48 at least", scheme, got)
		}
		if got := evaluate[float64](t, ctx, `Math.min(...[...document.querySelectorAll("p, label, button, input:not([type=hidden])")].map(e => parseFloat(getComputedStyle(e).fontSize)))`); got < 17.5 {
			t.Errorf("%s: the smallest text has %g px", scheme, got)
		}
		// WCAG 2.2, 1.4.3: text against what it stands on, 4.5 at least.
		worst := evaluate[float64](t, ctx, `(() => {
			const light = c => c.match(/[\d.]+/g).slice(0, 3).map(v => v / 255).map(v => v <= .04045 ? v / 12.92 : ((v + .055) / 1.055) ** 2.4)
				.reduce((sum, v, i) => sum + v * [.2126, .7152, .0722][i], 0);
			const under = e => { const c = getComputedStyle(e).backgroundColor; return /, 0\)$/.test(c) ? under(e.parentElement) : c };
			return Math.min(...[...document.querySelectorAll("h1, p, label, button, input:not([type=hidden])")].map(e => {
				const [a, b] = [light(getComputedStyle(e).color), light(under(e))].sort((x, y) => y - x);
				return (a + .05) / (b + .05) })) })()`)
		if worst < 4.5 {
			t.Errorf("%s: the faintest text has a contrast of %.2f, want 4.5 at least", scheme, worst)
		}
		if got := evaluate[string](t, ctx, `document.getElementById("code").getAttribute("aria-describedby").split(" ").map(id => document.getElementById(id) ? "" : id).join("")`); got != "" {
			t.Errorf("the field is described by %q, which is not there", got)
		}
		if got := evaluate[int](t, ctx, `document.getElementById("code").labels.length`); got != 1 {
			t.Errorf("the field has %d labels, want one", got)
		}
		// The focus comes with the first picture, a little after the page.
		if _, err := chromedp.Run(ctx, chromedp.Poll[bool](`document.activeElement.id === "code"`, chromedp.WithPollingTimeout(10*time.Second))); err != nil {
			t.Errorf("the code is not in focus: %v", err)
		}
	}
	heard.check(t)
}
