package bench

import (
	"bytes"
	"embed"
	"errors"
	"fmt"
	"html/template"
	"io/fs"
	"net/http"
	"net/url"
	"path"
	"strings"
	"time"
	"unicode/utf8"

	"trueplait/model"
	"trueplait/report"
)

//go:embed html
var assets embed.FS

// Every page is html/NAME.html, which defines "main", inside html/layout.html;
// html/parts.html and html/reading.html hold what pages share.
var pages = parsePages()

func parsePages() map[string]*template.Template {
	shared := template.Must(template.New("layout.html").Funcs(template.FuncMap{
		"label": report.Label,
		"whole": report.Whole,
		"query": query,
		"day":   func(t time.Time) string { return t.Format(time.DateOnly) },
		"asset": assetURL,
	}).ParseFS(assets, "html/layout.html", "html/parts.html", "html/reading.html"))
	files, err := fs.Glob(assets, "html/*.html")
	if err != nil {
		panic(err) // the pattern is ours
	}
	out := map[string]*template.Template{}
	for _, file := range files {
		name := strings.TrimSuffix(path.Base(file), ".html")
		if name != "layout" && name != "parts" && name != "reading" {
			out[name] = template.Must(template.Must(shared.Clone()).ParseFS(assets, file))
		}
	}
	return out
}

// query builds a query from names and values; blank values are left out.
func query(pairs ...string) template.URL {
	q := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		if pairs[i+1] != "" {
			q.Set(pairs[i], pairs[i+1])
		}
	}
	return template.URL(q.Encode())
}

// visit is one request to a page, with what is known when it comes.
type visit struct {
	*bench
	w     http.ResponseWriter
	r     *http.Request
	now   *Snapshot
	maker string // who is at the bench; "": nobody said
	units report.Units
}

// page turns a function that answers a visit into a handler: it looks up what
// is known, and turns errors into pages.
func (b *bench) page(serve func(*visit) error) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		v := &visit{bench: b, w: w, r: r, units: report.Both}
		now, err := b.shop.Now(r.Context())
		if err != nil {
			v.now = &Snapshot{}
			v.fail(err)
			return
		}
		v.now = now
		v.maker = makerFrom(r)
		if u, ok := now.Units[v.maker]; ok {
			v.units = u
		}
		if err := readForm(r); err != nil {
			v.fail(err)
			return
		}
		if err := serve(v); err != nil {
			v.fail(err)
		}
	}
}

// readForm reads what came with a request, but for files. Browsers send text
// as UTF-8 and the log holds no other.
func readForm(r *http.Request) error {
	err := r.ParseForm()
	for _, values := range r.Form {
		if err == nil && !utf8.ValidString(strings.Join(values, "")) {
			err = errNotText
		}
	}
	var large *http.MaxBytesError
	switch {
	case errors.As(err, &large):
		return &wrong{http.StatusRequestEntityTooLarge, "That is too much at once",
			fmt.Sprintf("What was sent is over %d characters. Go back, shorten the note and send it again.", large.Limit)}
	case err != nil:
		return &wrong{http.StatusBadRequest, "That could not be read", "What was sent is not what a form of this page sends. Go back and send it again."}
	}
	return nil
}

var errNotText = errors.New("not UTF-8")

// wrong is an error that is answered in plain words.
type wrong struct {
	status      int
	title, text string
}

func (e *wrong) Error() string { return e.title + ": " + e.text }

// notFound is the error of a row or page that is not there.
func notFound(text string) error {
	return &wrong{http.StatusNotFound, "Not found", text}
}

// fail answers with an error. What is not the visitor's doing is logged, and
// its text, which may name files, is not shown.
func (v *visit) fail(err error) {
	var told *wrong
	var refused *model.Refused
	switch {
	case v.r.Context().Err() != nil: // the browser is gone, and nobody's fault is to be told
		return
	case errors.As(err, &told):
	case errors.As(err, &refused):
		told = &wrong{http.StatusUnprocessableEntity, "That could not be taken", refused.Error()}
	default:
		v.log(err)
		told = &wrong{http.StatusInternalServerError, "Something went wrong on our side",
			"Go back: what you typed is still there. What was saved before is in the log. The window in which the page was started says more."}
	}
	if err := v.show(told.status, "wrong", told.title, told.text); err != nil {
		v.log(err)
		v.w.WriteHeader(http.StatusInternalServerError)
	}
}

// log tells of an error that is not the visitor's doing, in one line whatever
// the visitor put into it.
func (v *visit) log(err error) {
	if v.opt.InWords != nil {
		err = v.opt.InWords(err)
	}
	if v.opt.Log != nil {
		v.opt.Log.Printf("%s %s: %s", v.r.Method, report.Label(v.r.URL.Path), report.Label(err.Error()))
	}
}

// frame is what the layout shows around a page.
type frame struct {
	Title    string
	Refused  bool // something is to be put right
	Menu     []menu
	Maker    string
	Door     bool
	Program  string
	Cautions []report.Caution
	Page     any // the page's own
}

// menu is one group of links to pages.
type menu struct {
	Name  string
	Links []link
}

type link struct {
	Href, Text string
	Here       bool
}

// show writes a page: the template name with its own data in the layout.
// Nothing is written where the template fails.
func (v *visit) show(status int, name, title string, data any) error {
	t := pages[name]
	if t == nil {
		return fmt.Errorf("no template %q", name)
	}
	var out bytes.Buffer
	err := t.ExecuteTemplate(&out, "layout.html", frame{
		Title: title, Refused: status == http.StatusUnprocessableEntity, Menu: v.menu(), Maker: v.maker, Door: v.opt.Door, Program: v.now.Program,
		Cautions: report.Cautions, Page: data,
	})
	if err != nil {
		return err
	}
	v.w.Header().Set("Content-Type", "text/html; charset=utf-8")
	v.w.WriteHeader(status)
	_, _ = out.WriteTo(v.w) // an error here is a browser that went away
	return nil
}

// redirect sends the browser to another page, so that a reload there repeats
// nothing.
func (v *visit) redirect(to string) error {
	http.Redirect(v.w, v.r, to, http.StatusSeeOther)
	return nil
}

// menu lists every page, with the one that is open marked.
func (v *visit) menu() []menu {
	out := []menu{
		{"Work", []link{{"/", "Start", false}, {"/plan", "Plan", false}, {"/finish", "Finish", false}, {"/fill", "Test fill", false}, {"/cord", "Cord check", false}}},
		{"Look up", []link{{"/promise", "Promise", false}, {"/lines", "Product lines", false}, {"/factors", "Factors", false},
			{"/builds", "Builds", false}, {"/files", "Files", false}, {"/report", "Report", false}}},
	}
	for i := range out {
		for j := range out[i].Links {
			l := &out[i].Links[j]
			l.Here = v.r.URL.Path == l.Href || l.Href != "/" && strings.HasPrefix(v.r.URL.Path, l.Href+"/")
		}
	}
	return out
}

// value is one value of the query or the form, without space around it.
func (v *visit) value(name string) string { return strings.TrimSpace(v.r.FormValue(name)) }
