package bench

import (
	"context"
	"errors"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"trueplait/report"
)

// until asks for the page of the report until it says something.
func (b *browser) until(says string) answer {
	b.t.Helper()
	for range 500 {
		if got := b.get("/report"); strings.Contains(got.body, says) {
			return got
		}
		time.Sleep(10 * time.Millisecond)
	}
	b.t.Fatalf("the page never says %q", says)
	return answer{}
}

// The report is made in the background, one at a time, and shown under its own
// policy.
func TestReport(t *testing.T) {
	shop := newReadingShop(t)
	shop.hold = make(chan struct{})
	b := newBrowser(t, shop)
	if got := b.get("/report"); got.header.Get("Refresh") != "" {
		t.Error("the page looks again though nothing is being made")
	}
	for range 2 { // the second changes nothing
		if got := b.post("/report"); got.status != http.StatusSeeOther || got.header.Get("Location") != "/report" {
			t.Fatalf("status %d, to %q", got.status, got.header.Get("Location"))
		}
	}
	got := b.get("/report")
	got.wants(t, http.StatusOK, "The report is being made")
	if got.header.Get("Refresh") == "" || strings.Contains(got.body, `method="post"><p class="go"><button>`) {
		t.Error("while it is made the page does not look again, or offers to make it")
	}
	shop.hold <- struct{}{}
	select {
	case shop.hold <- struct{}{}:
		t.Error("two reports were being made at once")
	case <-time.After(50 * time.Millisecond):
	}
	b.until("Nothing was written down since").wants(t, http.StatusOK, "Open it", "Download it", "Make it again")

	view := b.get("/report/view")
	view.wants(t, http.StatusOK, "Workshop report", "Content-Security-Policy")
	policy := view.header.Get("Content-Security-Policy")
	if !strings.HasPrefix(policy, report.PagePolicy()) || !strings.Contains(policy, "frame-ancestors 'none'") {
		t.Errorf("policy %q", policy)
	}
	file := b.get("/report/download")
	if d := file.header.Get("Content-Disposition"); !strings.HasPrefix(d, "attachment; filename=report-") || file.body != view.body {
		t.Errorf("download: disposition %q, %d bytes, want %d", d, len(file.body), len(view.body))
	}
	shop.now.Version++
	b.get("/report").wants(t, http.StatusOK, "Rows were written down since")
}

// A report that fails says so, and can be tried again.
func TestReportFails(t *testing.T) {
	shop := newReadingShop(t)
	shop.broken = errors.New("disk on fire")
	b := newBrowser(t, shop)
	b.post("/report")
	got := b.until("could not be made")
	if strings.Contains(got.body, "disk on fire") {
		t.Error("the page tells what went wrong inside")
	}
	shop.broken = nil
	b.post("/report")
	b.until("Open it")
}

// Work in the background ends with the page's own context, not with the
// request that began it.
func TestReportEnds(t *testing.T) {
	shop := newReadingShop(t)
	shop.hold = make(chan struct{})
	ctx, end := context.WithCancel(t.Context())
	server := httptest.NewServer(New(shop, Options{Context: ctx}))
	t.Cleanup(server.Close)
	b := newBrowser(t, shop)
	b.server = server
	b.post("/report")
	b.get("/report").wants(t, http.StatusOK, "being made")
	end()
	b.until("could not be made")
}
