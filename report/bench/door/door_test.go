package door

import (
	"bytes"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"sync"
	"testing"
	"time"
)

// The bench of the tests, and a phone on the same network.
const (
	benchHost = "192.168.1.20:8080"
	phone     = "192.168.1.30:40000"
)

// stand is a door with a clock that is set by hand and a page that says
// "hello" and what it was sent.
type stand struct {
	*Door
	mu    sync.Mutex
	clock time.Time
	codes []string // announced, newest last
	lines []string // logged
	calls int      // of the page
}

// hello is the page of most tests.
func (s *stand) hello(w http.ResponseWriter, r *http.Request) {
	s.mu.Lock()
	s.calls++
	s.mu.Unlock()
	sent, err := io.ReadAll(r.Body)
	if err != nil {
		http.Error(w, err.Error(), http.StatusBadRequest)
		return
	}
	_, _ = w.Write(append([]byte("hello "), sent...))
}

func (s *stand) pass(d time.Duration) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.clock = s.clock.Add(d)
}

func (s *stand) code() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.codes[len(s.codes)-1]
}

// newStand returns a door that asks for a code, before page or hello.
func newStand(t *testing.T, page http.Handler, opt Options) *stand {
	t.Helper()
	s := &stand{clock: time.Date(2026, 3, 14, 9, 0, 0, 0, time.UTC)}
	if page == nil {
		page = http.HandlerFunc(s.hello)
	}
	opt.Hosts = append(opt.Hosts, "192.168.1.20", "bench.local", "fd00::20")
	opt.Announce = func(code string) {
		s.mu.Lock()
		defer s.mu.Unlock()
		s.codes = append(s.codes, code)
	}
	opt.Log = func(line string) {
		s.mu.Lock()
		defer s.mu.Unlock()
		s.lines = append(s.lines, line)
	}
	opt.Now = func() time.Time {
		s.mu.Lock()
		defer s.mu.Unlock()
		return s.clock
	}
	door, err := New(page, 8080, opt)
	if err != nil {
		t.Fatal(err)
	}
	s.Door = door
	return s
}

// newOpenStand returns a door on the loopback address, without a code.
func newOpenStand(t *testing.T, page http.Handler, opt Options) *stand {
	t.Helper()
	s := &stand{}
	if page == nil {
		page = http.HandlerFunc(s.hello)
	}
	opt.Log = func(line string) { s.lines = append(s.lines, line) }
	door, err := New(page, 8080, opt)
	if err != nil {
		t.Fatal(err)
	}
	s.Door = door
	return s
}

// request is what a browser on the phone sends, from a page of the bench.
func request(method, target string, body io.Reader) *http.Request {
	r := httptest.NewRequest(method, target, body)
	r.Host, r.RemoteAddr = benchHost, phone
	r.Header.Set("Accept", "text/html,application/xhtml+xml,*/*;q=0.8")
	if method != http.MethodGet && method != http.MethodHead {
		r.Header.Set("Origin", "http://"+benchHost)
	}
	return r
}

// local is what a browser on the bench's own machine sends.
func local(method, target string, body io.Reader) *http.Request {
	r := request(method, target, body)
	r.Host, r.RemoteAddr = "localhost:8080", "127.0.0.1:40000"
	if r.Header.Get("Origin") != "" {
		r.Header.Set("Origin", "http://localhost:8080")
	}
	return r
}

func signInRequest(code, next string) *http.Request {
	r := request("POST", "/door", strings.NewReader(url.Values{"code": {code}, "next": {next}}.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	return r
}

func (s *stand) answer(r *http.Request) *http.Response {
	w := httptest.NewRecorder()
	s.ServeHTTP(w, r)
	return w.Result()
}

// signIn uses the newest code and returns the device's cookie.
func (s *stand) signIn(t *testing.T) *http.Cookie {
	t.Helper()
	got := s.answer(signInRequest(s.code(), "/"))
	if got.StatusCode != http.StatusSeeOther || len(got.Cookies()) != 1 {
		t.Fatalf("sign in: status %d with %d cookies, want 303 with one", got.StatusCode, len(got.Cookies()))
	}
	return got.Cookies()[0]
}

// admitted reports whether the device with this cookie reaches the page.
func (s *stand) admitted(c *http.Cookie) bool {
	r := request("GET", "/", nil)
	r.AddCookie(c)
	return s.answer(r).StatusCode == http.StatusOK
}

func text(t *testing.T, r *http.Response) string {
	t.Helper()
	b, err := io.ReadAll(r.Body)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// wantPage checks that a refusal is a page of the door with these words.
func wantPage(t *testing.T, got *http.Response, status int, words string) {
	t.Helper()
	body := text(t, got)
	if got.StatusCode != status {
		t.Errorf("status = %d, want %d", got.StatusCode, status)
	}
	if ct := got.Header.Get("Content-Type"); ct != "text/html; charset=utf-8" {
		t.Errorf("Content-Type = %q", ct)
	}
	if !strings.HasPrefix(body, "<!DOCTYPE html>") || !strings.Contains(body, words) || !strings.HasSuffix(body, "</html>\n") {
		t.Errorf("the page does not say %q:\n%s", words, body)
	}
}

func TestNewRefuses(t *testing.T) {
	announce := func(string) {}
	for _, c := range []struct {
		name string
		port int
		opt  Options
		want string
	}{
		{"no port", 0, Options{}, "door: port 0: must be from 1 to 65535"},
		{"host with port", 8080, Options{Hosts: []string{"bench:8080"}, Announce: announce},
			`door: host "bench:8080": give the name or address alone, such as bench.local or 192.168.1.20`},
		{"URL", 8080, Options{Hosts: []string{"http://bench"}, Announce: announce},
			`door: host "http://bench": give the name or address alone, such as bench.local or 192.168.1.20`},
		{"empty host", 8080, Options{Hosts: []string{""}, Announce: announce},
			`door: host "": give the name or address alone, such as bench.local or 192.168.1.20`},
		{"no code for other machines", 8080, Options{Hosts: []string{"localhost", "192.168.1.20"}},
			`door: host "192.168.1.20": other machines can reach it, so it needs an access code`},
	} {
		t.Run(c.name, func(t *testing.T) {
			if _, err := New(http.NotFoundHandler(), c.port, c.opt); err == nil || err.Error() != c.want {
				t.Errorf("New = %v, want %s", err, c.want)
			}
		})
	}
}

// TestOwnMachineOnly: without a code, whoever is not on this machine stays
// outside, also with the right Host, which anybody can write.
func TestOwnMachineOnly(t *testing.T) {
	for _, c := range []struct {
		from string
		want int
	}{
		{"127.0.0.1:40000", 200},
		{"[::1]:40000", 200},
		{"[::ffff:127.0.0.1]:40000", 200},
		{"192.168.1.30:40000", 403},
		{"[fe80::1%eth0]:40000", 403},
		{"@", 403}, // a socket that is none of the Internet's
	} {
		s := newOpenStand(t, nil, Options{})
		r := local("GET", "/", nil)
		r.RemoteAddr = c.from
		r.Header.Set("X-Forwarded-For", "127.0.0.1")
		got := s.answer(r)
		if got.StatusCode != c.want {
			t.Errorf("from %s: status = %d, want %d", c.from, got.StatusCode, c.want)
		}
		if c.want == 403 {
			wantPage(t, got, 403, "start it there with --listen")
		}
	}
}

// TestNoDoorWithoutCode: the paths of the door are the page's where no code
// is asked.
func TestNoDoorWithoutCode(t *testing.T) {
	s := newOpenStand(t, nil, Options{})
	if got := text(t, s.answer(local("GET", "/door", nil))); got != "hello " {
		t.Errorf("GET /door = %q, want the page's own answer", got)
	}
}

func TestPanic(t *testing.T) {
	s := newOpenStand(t, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Disposition", "attachment")
		panic("index out of\nrange")
	}), Options{})
	got := s.answer(local("GET", "/builds", nil))
	if d := got.Header.Get("Content-Disposition"); d != "" {
		t.Errorf("Content-Disposition = %q was left from the page", d)
	}
	wantPage(t, got, 500, "look first whether it is there")
	if want := `door: GET "/builds": panic: "index out of\nrange"`; len(s.lines) != 1 || s.lines[0] != want {
		t.Errorf("log = %q, want one line %q", s.lines, want)
	}
}

// TestPanicUnderWay cuts a page off that had begun, so that it is not taken
// for whole.
func TestPanicUnderWay(t *testing.T) {
	for _, c := range []struct {
		name   string
		fault  any
		logged int
	}{
		{"fault", "a fault", 1},
		{"abort", http.ErrAbortHandler, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := newOpenStand(t, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
				_, _ = w.Write([]byte("half a page"))
				panic(c.fault)
			}), Options{})
			func() {
				defer func() {
					if got := recover(); got != http.ErrAbortHandler {
						t.Errorf("panic with %v, want http.ErrAbortHandler", got)
					}
				}()
				s.answer(local("GET", "/", nil))
			}()
			if len(s.lines) != c.logged {
				t.Errorf("log = %q, want %d lines", s.lines, c.logged)
			}
		})
	}
}

// TestHeadHasNoBody on pages of the door.
func TestHeadHasNoBody(t *testing.T) {
	s := newStand(t, nil, Options{})
	got := s.answer(request("HEAD", "/door", nil))
	if body := text(t, got); got.StatusCode != 200 || body != "" {
		t.Errorf("HEAD /door = %d with %q, want 200 without a body", got.StatusCode, body)
	}
}

// TestForeignTextStaysText: what strangers send comes back as text.
func TestForeignTextStaysText(t *testing.T) {
	s := newStand(t, nil, Options{})
	const evil = `"><script>alert(1)</script>`
	for name, r := range map[string]*http.Request{
		"code in the address": request("GET", "/door?"+url.Values{"code": {evil}, "next": {"/" + evil}}.Encode(), nil),
		"code in the form":    signInRequest(evil, "/"+evil),
		"host":                func() *http.Request { r := request("GET", "/", nil); r.Host = evil; return r }(),
	} {
		w := httptest.NewRecorder()
		s.ServeHTTP(w, r)
		if bytes.Contains(w.Body.Bytes(), []byte("<script")) {
			t.Errorf("%s became markup:\n%s", name, w.Body)
		}
		if !strings.Contains(w.Body.String(), "alert(1)") {
			t.Errorf("%s: the page does not show what was sent:\n%s", name, w.Body)
		}
	}
}
