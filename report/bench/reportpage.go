package bench

import (
	"bytes"
	"context"
	"net/http"
	"sync"
	"time"

	"trueplait/report"
)

// making is the report as it was made last, and whether one is being made.
type making struct {
	mu     sync.Mutex
	busy   bool
	since  time.Time // it is being made
	failed bool      // the last try
	made   *madeReport
}

// madeReport is a report that was made. It is not changed any more.
type madeReport struct {
	html    []byte
	version int // of the log
	when    time.Time
}

// start makes the report in the background, unless one is being made already.
// The version is that of the log before: rows that come while it is made may
// or may not be in it.
func (m *making) start(ctx context.Context, shop Shop, version int, now func() time.Time, failed func(error)) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.busy {
		return
	}
	m.busy, m.since = true, now()
	go func() {
		var html bytes.Buffer
		err := shop.Report(ctx, &html)
		m.mu.Lock()
		defer m.mu.Unlock()
		m.busy, m.failed = false, err != nil
		if err != nil {
			failed(err)
			return
		}
		m.made = &madeReport{html.Bytes(), version, now()}
	}()
}

// reportPage says how things are with the report.
type reportPage struct {
	Busy   bool
	Failed bool
	Made   bool
	When   string // it was made
	Old    bool   // rows came since
	KB     int
}

// refreshed is how often the page asks whether the report is ready.
const refreshed = "2"

// report says when the report was made, and whether it is still true.
func (v *visit) report() error {
	v.making.mu.Lock()
	page := reportPage{Busy: v.making.busy, Failed: v.making.failed && !v.making.busy}
	made := v.making.made
	v.making.mu.Unlock()
	if made != nil {
		page.Made, page.When, page.Old = true, made.when.Format(moment), made.version != v.now.Version
		page.KB = len(made.html) / 1000
	}
	if page.Busy {
		v.w.Header().Set("Refresh", refreshed)
	}
	return v.show(http.StatusOK, "report", "Report", page)
}

// makeReport starts making the report.
func (v *visit) makeReport() error {
	v.making.start(v.opt.background(), v.shop, v.now.Version, v.opt.now, v.log)
	return v.redirect("/report")
}

// lastReport is the report made last.
func (v *visit) lastReport() (*madeReport, error) {
	v.making.mu.Lock()
	defer v.making.mu.Unlock()
	if v.making.made == nil {
		return nil, notFound("No report was made yet. The Report page makes one.")
	}
	return v.making.made, nil
}

// viewReport shows the report. It states its own policy; this one repeats it
// and adds that nobody may frame the page, which a page cannot say of itself.
func (v *visit) viewReport() error {
	made, err := v.lastReport()
	if err != nil {
		return err
	}
	v.w.Header().Set("Content-Type", "text/html; charset=utf-8")
	v.w.Header().Set("Content-Security-Policy", report.PagePolicy()+"; frame-ancestors 'none'")
	_, err = v.w.Write(made.html)
	return err
}

// downloadReport gives out the report as a file.
func (v *visit) downloadReport() error {
	made, err := v.lastReport()
	if err != nil {
		return err
	}
	v.attach("report-"+made.when.Format(time.DateOnly)+".html", "text/html; charset=utf-8")
	_, err = v.w.Write(made.html)
	return err
}
