package web

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"mime"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"
)

// mark is what the requests carry in every value. Where it comes back raw, a
// value became markup.
const mark = `<i id=x"'>`

// gets and posts are the paths of the page by the method that they take.
var (
	gets = []string{"/", "/plan", "/plan/result", "/plan/sheet", "/drop", "/finish", "/fill", "/cord", "/product", "/edit", "/saved",
		"/maker", "/echo", "/promise", "/lines", "/lines/product", "/factors", "/split", "/builds", "/builds/row", "/files",
		"/files/look", "/files/rejects", "/files/export", "/report", "/report/view", "/report/download", "/door", "/static/", "/static/charts/x/y", "/nowhere"}
	posts = []string{"/plan", "/drop", "/finish", "/fill", "/cord", "/product", "/edit", "/maker", "/split", "/unsplit", "/aside",
		"/files", "/files/take", "/report", "/door", "/door/out"}
)

// names are what a request may say: the columns of entries and the fields of
// forms.
var names = []string{"build", "fill", "check", "product", "date", "started", "maker", "core_batch", "strand_batch", "shot_batch", "weight", "length",
	"shot_used", "shot_before", "shot_after", "strand_cut", "strand_left", "load_length", "humidity", "set_aside", "note", "calibration",
	"shot_factor", "predicted_weight", "predicted_length", "predicted_shot", "predicted_mass", "filled_length", "shot_mass",
	"checked_length", "checked_mass", "description", "weight_low", "weight_high", "target_weight", "short_risk", "coverage", "of", "within",
	"around", "change", "opened", "plan", "without", "kind", "id", "entry", "key", "confirm", "q", "page", "quantity", "effect", "label", "since",
	"token", "file", "do", "reason", "good", "amend", "units", "column", "text"}

// filled is a form in which every name says what value gives.
func filled(value func(name string) string) string {
	q := url.Values{}
	for _, name := range names {
		if v := value(name); v != "" {
			q.Set(name, v)
		}
	}
	return q.Encode()
}

// told is what entries that are taken say, and some that are asked for.
var told = map[string]string{
	"build": "X1", "fill": "X1", "check": "X1", "product": "8 ft bull, 16 plait", "maker": "Arlo", "core_batch": "HC01", "strand_batch": "NC01",
	"weight": "634 g", "length": "241 cm", "shot_used": "84.8 g", "filled_length": "6 in", "shot_mass": "12.5 g", "checked_length": "5 m",
	"checked_mass": "24 g", "note": mark, "description": mark, "confirm": "1", "coverage": "0.95", "of": "3", "within": "20 g", "id": "W001", "kind": "builds",
	"effect": "core_batch", "label": "HC01", "since": "2023-01-20", "units": "metric", "column": "weight", "text": "411 g", "reason": mark, "page": "2",
	"quantity": "shot", "q": mark, "do": "look",
}

// multipartOf is a body that brings one file.
func multipartOf(name string, content []byte) (body, contentType string) {
	var b bytes.Buffer
	w := multipart.NewWriter(&b)
	if err := w.SetBoundary("limit"); err != nil {
		panic(err) // the boundary is ours
	}
	part, err := w.CreateFormFile("file", name)
	if err == nil {
		_, err = part.Write(content)
	}
	if err == nil {
		err = w.WriteField("good", "1")
	}
	if err != nil || w.Close() != nil {
		panic("a buffer takes everything")
	}
	return b.String(), w.FormDataContentType()
}

// FuzzRequest sends whatever can be sent to every page of a real shop: nothing
// may break, nothing sent may come back as markup, and looking may not write.
func FuzzRequest(f *testing.F) {
	const form = "application/x-www-form-urlencoded"
	marked := filled(func(string) string { return mark })
	known := filled(func(name string) string { return told[name] })
	for _, path := range gets {
		f.Add("GET", path, "", "", "")
		f.Add("GET", path+"?"+marked, "", "", "Cookie: maker="+url.QueryEscape(mark))
		f.Add("GET", path+"?"+known, "", "", "Cookie: maker=Arlo")
		f.Add("HEAD", path+"?"+known, "", "", "")
	}
	for _, path := range posts {
		f.Add("POST", path, form, marked, "Cookie: maker="+url.QueryEscape(mark))
		f.Add("POST", path, form, known, "")
		f.Add("POST", path+"?"+marked, form, "", "")
		f.Add("POST", path, form, "", "")
		f.Add("POST", path, form, filled(func(string) string { return "\xff\x00\u202e" }), "")
	}
	for _, name := range []string{mark + ".csv", "../../x.csv", "/etc/x.xlsx", "x\x00.csv", ""} {
		body, kind := multipartOf(name, []byte("Fill,Date,Core batch,Filled length,Shot mass\n"+`"`+strings.ReplaceAll(mark, `"`, `""`)+`",2025-06-01,C1,6 in,12 g`+"\nX,"+mark+",,,"))
		f.Add("POST", "/files", kind, body, "")
	}
	for _, method := range []string{"OPTIONS", "TRACE", "PUT", "DELETE", "PATCH", "PROPFIND", "get"} {
		f.Add(method, "/fill", form, known, "")
	}
	f.Add("POST", "/fill", form, "%zz=%", "")
	f.Add("POST", "/fill", form, known, "Host: evil.example")
	f.Add("POST", "/fill", form, known, "Origin: http://evil.example")
	f.Add("GET", "/builds?q=%ff%00", "", "", "Cookie: maker=%ff")
	f.Add("GET", "/static/../html/start.html", "", "", "")
	f.Add("GET", "/static/%2e%2e%2f%2e%2e%2fgo.mod", "", "", "")
	f.Add("GET", "//evil.example/%2f..", "", "", "")

	var page *stage
	asked := 0
	renew := func(t *testing.T) {
		const longest = 1000 // requests to one log: they fill it
		if asked++; page != nil && asked%longest != 0 {
			return
		}
		if page != nil {
			page.close()
		}
		page = newStage(context.Background(), t)
	}
	f.Fuzz(func(t *testing.T, method, target, contentType, body, headers string) {
		request := func() *http.Request { return parsed(method, target, contentType, body, headers) }
		if request() == nil {
			return // net/http refuses it before anybody sees it
		}
		renew(t)
		page.check(t, request)
	})
	if page != nil {
		page.close()
	}
}

// parsed is a request as the server would read it; nil if it would not. What
// headers does not say is as the page's own forms have it.
func parsed(method, target, contentType, body, headers string) *http.Request {
	var b strings.Builder
	fmt.Fprintf(&b, "%s %s HTTP/1.1\r\n", method, target)
	lower := strings.ToLower("\n" + headers)
	if !strings.Contains(lower, "\nhost:") {
		b.WriteString("Host: " + host + "\r\n")
	}
	if !strings.Contains(lower, "\norigin:") && method != "GET" && method != "HEAD" {
		b.WriteString("Origin: " + origin + "\r\n")
	}
	if contentType != "" {
		b.WriteString("Content-Type: " + contentType + "\r\n")
	}
	if headers != "" {
		b.WriteString(headers + "\r\n")
	}
	if body != "" {
		fmt.Fprintf(&b, "Content-Length: %d\r\n", len(body))
	}
	b.WriteString("\r\n" + body)
	r, err := http.ReadRequest(bufio.NewReader(strings.NewReader(b.String())))
	if err != nil {
		return nil
	}
	r.RemoteAddr = "127.0.0.1:50000"
	return r
}

// check sends a request and looks at the answer from all sides.
func (s *stage) check(t *testing.T, request func() *http.Request) {
	t.Helper()
	const patience = 5 * time.Second // on a busy machine; on a quiet one, well under a second
	r := request()
	before := s.version(t)
	took, got := s.ask(r)
	looks := r.Method == http.MethodGet || r.Method == http.MethodHead
	if after := s.version(t); after != before && (looks || foreign(r)) {
		t.Errorf("%s %s changed the log: version %d, then %d", r.Method, r.RequestURI, before, after)
	}
	if looks {
		for try := 0; took > patience && try < 2; try++ { // the machine may have been busy
			took, got = s.ask(request())
		}
		if took > patience {
			t.Errorf("%s %s took %v", r.Method, r.RequestURI, took)
		}
	}
	if said := s.lines.take(); got.Code >= 500 || said != "" {
		t.Errorf("%s %s answered %d: %s", r.Method, r.RequestURI, got.Code, said)
	}
	for _, name := range []string{"Content-Security-Policy", "X-Content-Type-Options", "Referrer-Policy", "Cross-Origin-Resource-Policy", "Cache-Control"} {
		if got.Header().Get(name) == "" {
			t.Errorf("%s %s: no %s", r.Method, r.RequestURI, name)
		}
	}
	for name, values := range got.Header() {
		if strings.ContainsAny(name+strings.Join(values, ""), "\r\n\x00") {
			t.Errorf("%s %s: header %q: %q", r.Method, r.RequestURI, name, values)
		}
	}
	if to := got.Header().Get("Location"); to != "" {
		if u, err := url.Parse(to); err != nil || u.Host != "" || u.Scheme != "" || !strings.HasPrefix(to, "/") || strings.HasPrefix(to, "//") || strings.HasPrefix(to, `/\`) {
			t.Errorf("%s %s leads away, to %q", r.Method, r.RequestURI, to)
		}
	}
	kind, _, _ := mime.ParseMediaType(got.Header().Get("Content-Type"))
	switch {
	case got.Body.Len() == 0:
	case strings.HasPrefix(got.Header().Get("Content-Disposition"), "attachment"): // saved, not shown
	case kind == "text/html":
		if err := sound(got.Body.Bytes()); err != nil {
			t.Errorf("%s %s: %v", r.Method, r.RequestURI, err)
		}
	case kind == "application/json":
		if !json.Valid(got.Body.Bytes()) {
			t.Errorf("%s %s: not JSON: %s", r.Method, r.RequestURI, got.Body)
		}
	case !slices.Contains([]string{"text/plain", "text/css", "text/javascript"}, kind):
		t.Errorf("%s %s: content of the kind %q", r.Method, r.RequestURI, kind)
	}
	if kind != "text/csv" && bytes.Contains(got.Body.Bytes(), []byte(mark)) {
		t.Errorf("%s %s: what was sent came back as it was", r.Method, r.RequestURI)
	}
}

// foreign reports whether a request comes from another page, or was sent to
// another name.
func foreign(r *http.Request) bool {
	own := strings.EqualFold(r.Header.Get("Origin"), "http://"+r.Host) || r.Header.Get("Sec-Fetch-Site") == "same-origin"
	return !own || !slices.Contains([]string{host, "localhost:8642", "[::1]:8642"}, strings.ToLower(r.Host))
}

// ask sends one request.
func (s *stage) ask(r *http.Request) (time.Duration, *httptest.ResponseRecorder) {
	got := httptest.NewRecorder()
	begin := time.Now()
	s.ServeHTTP(got, r)
	return time.Since(begin), got
}

// version is that of the log: each write makes a new one.
func (s *stage) version(t *testing.T) int {
	t.Helper()
	now, err := s.shop.Now(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	return now.Version
}

// void are the elements that have no end.
var void = []string{"br", "hr", "img", "input", "link", "meta"}

// sound reports what is wrong with a page: elements that do not nest, or that
// only a value can have brought.
func sound(page []byte) error {
	z := html.NewTokenizer(bytes.NewReader(page))
	var open []string
	for {
		switch z.Next() {
		case html.ErrorToken:
			if z.Err() != io.EOF {
				return z.Err()
			}
			if len(open) > 0 {
				return fmt.Errorf("%v never end", open)
			}
			return nil
		case html.StartTagToken:
			tag := z.Token()
			for _, a := range tag.Attr {
				if strings.Trim(a.Key, "abcdefghijklmnopqrstuvwxyz0123456789-:") != "" || strings.HasPrefix(a.Key, "on") {
					return fmt.Errorf("<%s> has an attribute %q", tag.Data, a.Key)
				}
			}
			if tag.Data == "i" || tag.Data == "script" && slices.ContainsFunc(tag.Attr, func(a html.Attribute) bool { return a.Key == "src" && !strings.HasPrefix(a.Val, "/static/") }) {
				return fmt.Errorf("%s is none of ours", tag)
			}
			if !slices.Contains(void, tag.Data) {
				open = append(open, tag.Data)
			}
		case html.EndTagToken:
			tag := z.Token()
			if len(open) == 0 || open[len(open)-1] != tag.Data {
				return fmt.Errorf("</%s> ends none of %v", tag.Data, open)
			}
			open = open[:len(open)-1]
		}
	}
}
