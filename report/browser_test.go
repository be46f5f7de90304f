package report

import (
	"context"
	"flag"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"trueplait/report/chromium"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

var screens = flag.String("screens", "", "directory to save screenshots of the report in")

// watched keeps what a page asks for and complains of.
type watched struct {
	sync.Mutex
	requests, complaints []string
}

func watch(t *testing.T, ctx context.Context) *watched {
	t.Helper()
	w := &watched{}
	if err := chromedp.Do(ctx); err != nil { // opens the tab
		t.Fatal(err)
	}
	err := chromedp.Listen(ctx, func(event any) {
		w.Lock()
		defer w.Unlock()
		switch e := event.(type) {
		case *network.EventRequestWillBeSent:
			w.requests = append(w.requests, e.Request.URL)
		case *runtime.EventExceptionThrown:
			w.complaints = append(w.complaints, e.ExceptionDetails.Text)
		case *runtime.EventConsoleAPICalled:
			w.complaints = append(w.complaints, fmt.Sprint(e.Type, " ", e.Args))
		case *log.EventEntryAdded:
			w.complaints = append(w.complaints, e.Entry.Text)
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := chromedp.Call(ctx, network.Enable, network.EnableParams{}); err != nil {
		t.Fatal(err)
	}
	return w
}

// saved writes a page to a file and returns its address.
func saved(t *testing.T, p Page) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "report.html")
	if err := os.WriteFile(path, render(t, p), 0o600); err != nil {
		t.Fatal(err)
	}
	return (&url.URL{Scheme: "file", Path: path}).String()
}

func evaluate[T any](t *testing.T, ctx context.Context, script string) T {
	t.Helper()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](script))
	if err != nil {
		t.Fatalf("%s: %v", script, err)
	}
	return v
}

// TestPageInBrowser opens the report from a file at the widths of a desk and
// of a phone, by day and by night.
func TestPageInBrowser(t *testing.T) {
	ctx := chromium.Start(t, 2*time.Minute)
	pages := map[string]Page{"report": fakeShop(292), "hostile": hostileShop(), "empty": {}}
	for _, c := range []struct {
		page   string
		width  int64
		scheme string
	}{
		{"report", 1280, "light"},
		{"report", 1280, "dark"},
		{"report", 390, "light"},
		{"report", 390, "dark"},
		{"hostile", 1280, "light"},
		{"hostile", 390, "light"},
		{"empty", 390, "light"},
	} {
		name := fmt.Sprintf("%s-%d-%s", c.page, c.width, c.scheme)
		t.Run(name, func(t *testing.T) {
			tab, cancel := chromedp.NewContext(ctx)
			defer cancel()
			seen := watch(t, tab)
			if _, err := chromedp.Call(tab, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
				Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: c.scheme}}}); err != nil {
				t.Fatal(err)
			}
			address := saved(t, pages[c.page])
			if err := chromedp.Do(tab, chromedp.EmulateViewport(c.width, 900), chromedp.Navigate(address)); err != nil {
				t.Fatal(err)
			}

			charts := evaluate[int](t, tab, `document.querySelectorAll(".chart").length`)
			if ready := evaluate[string](t, tab, `document.documentElement.dataset.ready`); ready != fmt.Sprint(charts) {
				t.Errorf("%q of %d charts are ready", ready, charts)
			}
			if c.page != "empty" && charts < 8 {
				t.Errorf("the page has %d charts, want at least 8", charts)
			}
			drawn := evaluate[int](t, tab, `[...document.querySelectorAll(".chart")].filter(c =>
				c.querySelectorAll("svg path").length > 10 || c.querySelector("canvas")).length`)
			if drawn != charts {
				t.Errorf("%d of %d charts were drawn", drawn, charts)
			}
			for _, open := range []bool{true, false} {
				wide := evaluate[int](t, tab, fmt.Sprintf(`document.querySelectorAll("details").forEach(d => d.open = %t), document.documentElement.scrollWidth`, open))
				if wide > int(c.width) {
					t.Errorf("with tables open = %t the page is %d px wide in a window of %d", open, wide, c.width)
				}
			}
			if xss := evaluate[string](t, tab, `String(window.stolen)`); xss != "undefined" {
				t.Errorf("text of the log was run as script: %s", xss)
			}
			if images := evaluate[int](t, tab, `document.images.length`); images > 0 {
				t.Errorf("text of the log became %d images", images)
			}
			hover(t, tab, charts)
			if got := evaluate[string](t, tab, `String(window.stolen) + " " + document.images.length`); got != "undefined 0" {
				t.Errorf("text of the log became script or images in a box at the pointer: %s", got)
			}

			if *screens != "" {
				shot, err := chromedp.Run(tab, chromedp.FullScreenshot(100))
				if err != nil {
					t.Fatal(err)
				}
				if err := os.WriteFile(filepath.Join(*screens, name+".png"), shot, 0o644); err != nil {
					t.Fatal(err)
				}
			}
			seen.Lock()
			defer seen.Unlock()
			if len(seen.requests) != 1 || seen.requests[0] != address {
				t.Errorf("requests = %q, want only the page itself", seen.requests)
			}
			if len(seen.complaints) > 0 {
				t.Errorf("the console says %q", seen.complaints)
			}
		})
	}
}

// hover shows the box at the pointer of the first point of every series.
func hover(t *testing.T, ctx context.Context, charts int) {
	t.Helper()
	if charts == 0 {
		return
	}
	shown := evaluate[int](t, ctx, `(() => { let n = 0;
		for (const box of document.querySelectorAll(".chart")) {
			const chart = echarts.getInstanceByDom(box);
			chart.getOption().series.forEach((s, i) => {
				chart.dispatchAction({type: "showTip", seriesIndex: i, dataIndex: 0});
				n += [...box.children].filter(e => e.tagName === "DIV" && /measured|: /.test(e.textContent)).length;
			});
		}
		return n; })()`)
	if shown < charts {
		t.Errorf("%d boxes at the pointer for %d charts", shown, charts)
	}
	evaluate[int](t, ctx, `document.querySelectorAll(".chart").forEach(b => echarts.getInstanceByDom(b).dispatchAction({type: "hideTip"})), 0`)
}

// TestPageOnPaper prints the report: the charts must be as wide as the paper,
// in ink on white, also where the screen was dark.
func TestPageOnPaper(t *testing.T) {
	ctx := chromium.Start(t, 2*time.Minute)
	seen := watch(t, ctx)
	if _, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: "dark"}}}); err != nil {
		t.Fatal(err)
	}
	if err := chromedp.Do(ctx, chromedp.EmulateViewport(390, 900), chromedp.Navigate(saved(t, fakeShop(292)))); err != nil {
		t.Fatal(err)
	}
	evaluate[int](t, ctx, `addEventListener("beforeprint", () => {
		const chart = document.querySelector(".chart");
		window.paper = [echarts.getInstanceByDom(chart).getWidth(), getComputedStyle(document.documentElement).getPropertyValue("--paper").trim()].join(" ");
	}), 0`)
	pdf, err := chromedp.Run(ctx, chromedp.PrintToPDF())
	if err != nil {
		t.Fatal(err)
	}
	if got := evaluate[string](t, ctx, `String(window.paper)`); got != "640 #fbf9f4" {
		t.Errorf("on paper: %q, want charts of 640 px in the light colours", got)
	}
	if len(pdf) < 50_000 {
		t.Errorf("the PDF has %d bytes, too few for charts", len(pdf))
	}
	seen.Lock()
	defer seen.Unlock()
	if len(seen.complaints) > 0 {
		t.Errorf("the console says %q", seen.complaints)
	}
	if *screens != "" {
		if err := os.WriteFile(filepath.Join(*screens, "report.pdf"), pdf, 0o644); err != nil {
			t.Fatal(err)
		}
	}
}
