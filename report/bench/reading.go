package bench

import (
	"html/template"
	"net/http"
	"strings"
	"time"

	"trueplait/report"
)

// readingState is what the pages remember that only show.
type readingState struct {
	worked   cache // of the pages with charts
	promises cache
	uploads  uploads
	making   making
	charts   []chartScript
}

// reading adds the pages on which the log is read.
func (b *bench) reading() {
	b.charts = newChartScripts()
	b.mux.HandleFunc("GET "+chartPath+"{digest}/{name}", b.serveChartScript)
	b.handle("GET /promise", (*visit).promise)
	b.handle("GET /lines", (*visit).lines)
	b.handle("GET /lines/product", (*visit).productLine)
	b.handle("GET /factors", (*visit).factors)
	b.handle("GET /split", (*visit).split)
	b.handle("POST /split", (*visit).splitNow)
	b.handle("POST /unsplit", (*visit).unsplitNow)
	b.handle("GET /builds", (*visit).builds)
	b.handle("GET /builds/row", (*visit).row)
	b.handle("POST /aside", (*visit).setAside)
	b.handle("GET /files", (*visit).files)
	b.handle("POST /files", (*visit).lookAtFiles)
	b.handle("GET /files/look", (*visit).filesLooked)
	b.handle("POST /files/take", (*visit).takeFiles)
	b.handle("GET /files/rejects", (*visit).rejects)
	b.handle("GET /files/export", (*visit).export)
	b.handle("GET /files/backup", (*visit).backup)
	b.handle("GET /report", (*visit).report)
	b.handle("POST /report", (*visit).makeReport)
	b.handle("GET /report/view", (*visit).viewReport)
	b.handle("GET /report/download", (*visit).downloadReport)
}

// chartPath is where the scripts that draw charts are, each under the digest of
// its content.
const chartPath = "/static/charts/"

// chartScript is a script that draws charts, and its address.
type chartScript struct {
	report.Script
	Path string
}

func newChartScripts() []chartScript {
	var out []chartScript
	for _, s := range report.ChartScripts() {
		out = append(out, chartScript{s, chartPath + s.Digest() + "/" + s.Name})
	}
	return out
}

// serveChartScript answers with a script. What is under a digest never changes,
// so browsers may keep it.
func (b *bench) serveChartScript(w http.ResponseWriter, r *http.Request) {
	for _, s := range b.charts {
		if s.Path == r.URL.Path {
			w.Header().Set("Content-Type", "text/javascript; charset=utf-8")
			w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
			http.ServeContent(w, r, "", time.Time{}, strings.NewReader(s.Text))
			return
		}
	}
	http.NotFound(w, r)
}

// chartPolicy is the content security policy of pages with charts: the chart
// library styles what it draws by attributes.
const chartPolicy = "default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; img-src 'self' data:; font-src 'self'; " +
	"connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

// sections are parts of the report on a page of the bench.
type sections struct {
	HTML    template.HTML
	Scripts []chartScript // that draw their charts
}

// set prepares sections for a page.
func (b *bench) set(list []report.Section) (sections, error) {
	html, err := report.SectionsHTML(list)
	s := sections{HTML: html}
	if report.Charted(list) {
		s.Scripts = b.charts
	}
	return s, err
}

// showCharts writes a page that may have charts.
func (v *visit) showCharts(status int, name, title string, data any) error {
	v.w.Header().Set("Content-Security-Policy", chartPolicy)
	return v.show(status, name, title, data)
}
