// Package chromium starts a browser for the tests of pages.
package chromium

import (
	"context"
	"os"
	"os/exec"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// Start starts Chromium with one tab open, for at most the given time. Without
// one on the machine the test is skipped, or fails where TRUEPLAIT_NEED=all asks
// for every test to run.
func Start(t testing.TB, limit time.Duration) context.Context {
	t.Helper()
	path := ""
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if found, err := exec.LookPath(name); err == nil {
			path = found
			break
		}
	}
	if path == "" {
		const need = "needs Chromium in the PATH (Debian: apt-get install chromium)"
		if os.Getenv("TRUEPLAIT_NEED") == "all" {
			t.Fatal(need)
		}
		t.Skip(need)
	}
	allocator, stop := chromedp.NewExecAllocator(context.Background(), append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU)...)
	t.Cleanup(stop)
	ctx, cancel := chromedp.NewContext(allocator)
	t.Cleanup(cancel)
	ctx, cancelTime := context.WithTimeout(ctx, limit)
	t.Cleanup(cancelTime)
	if err := chromedp.Do(ctx); err != nil { // opens the tab
		t.Fatal(err)
	}
	return ctx
}
