package door

import (
	"crypto/tls"
	"net/http"
	"strings"
	"testing"
	"testing/fstest"
)

// TestHeadersOnEveryAnswer: of the page, of the door, and of every refusal.
func TestHeadersOnEveryAnswer(t *testing.T) {
	page := http.NewServeMux()
	page.HandleFunc("/", func(w http.ResponseWriter, r *http.Request) { _, _ = w.Write([]byte("hello")) })
	page.HandleFunc("/nothing", func(w http.ResponseWriter, r *http.Request) {})
	page.HandleFunc("/moved", func(w http.ResponseWriter, r *http.Request) { http.Redirect(w, r, "/", http.StatusSeeOther) })
	page.Handle("/missing/", http.FileServerFS(fstest.MapFS{}))
	page.HandleFunc("/panic", func(w http.ResponseWriter, r *http.Request) { panic("a fault") })
	s := newStand(t, page, Options{MaxBody: 10})
	cookie := s.signIn(t)
	in := func(r *http.Request) *http.Request { r.AddCookie(cookie); return r }
	elsewhere := request("GET", "/", nil)
	elsewhere.Host = "evil.example"
	foreign := request("POST", "/", nil)
	foreign.Header.Del("Origin")

	for _, c := range []struct {
		name string
		r    *http.Request
		want int
	}{
		{"page", in(request("GET", "/", nil)), 200},
		{"page without a word", in(request("GET", "/nothing", nil)), 200},
		{"redirect", in(request("GET", "/moved", nil)), 303},
		{"missing file", in(request("GET", "/missing/x", nil)), 404},
		{"panic", in(request("GET", "/panic", nil)), 500},
		{"too large", in(request("POST", "/", strings.NewReader("more than ten"))), 413},
		{"host", elsewhere, 421},
		{"origin", foreign, 403},
		{"to the door", request("GET", "/", nil), 303},
		{"not signed in", request("POST", "/", nil), 403},
		{"form", request("GET", "/door", nil), 200},
		{"wrong code", signInRequest("AAAA-AAAA", "/"), 403},
		{"method", request("PUT", "/door", nil), 405},
		{"sign out", request("POST", "/door/out", nil), 303},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := s.answer(c.r)
			if got.StatusCode != c.want {
				t.Errorf("status = %d, want %d", got.StatusCode, c.want)
			}
			for name, want := range map[string]string{
				"X-Content-Type-Options":       "nosniff",
				"Referrer-Policy":              "same-origin",
				"Cross-Origin-Resource-Policy": "same-origin",
				"Permissions-Policy":           "camera=(), geolocation=(), microphone=()",
				"Cache-Control":                "no-store",
			} {
				if v := got.Header.Values(name); len(v) != 1 || v[0] != want {
					t.Errorf("%s = %q, want %q", name, v, want)
				}
			}
			csp := got.Header.Values("Content-Security-Policy")
			if len(csp) != 1 {
				t.Fatalf("Content-Security-Policy = %q, want one", csp)
			}
			for _, part := range []string{"default-src 'none'", "form-action 'self'", "base-uri 'none'", "frame-ancestors 'none'"} {
				if !strings.Contains(csp[0], part) {
					t.Errorf("Content-Security-Policy = %q, want %s in it", csp[0], part)
				}
			}
			if strings.Contains(csp[0], "unsafe") {
				t.Errorf("Content-Security-Policy = %q allows what is inside a page", csp[0])
			}
			if hsts := got.Header.Get("Strict-Transport-Security"); hsts != "" {
				t.Errorf("Strict-Transport-Security = %q", hsts)
			}
		})
	}
}

func TestPageHasItsOwnHeaders(t *testing.T) {
	own := map[string]string{"Content-Security-Policy": "default-src 'self'", "Cache-Control": "max-age=60", "Referrer-Policy": "no-referrer"}
	s := newOpenStand(t, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		for name, value := range own {
			w.Header().Set(name, value)
		}
	}), Options{})
	got := s.answer(local("GET", "/", nil))
	for name, want := range own {
		if v := got.Header.Values(name); len(v) != 1 || v[0] != want {
			t.Errorf("%s = %q, want %q", name, v, want)
		}
	}
	if got := got.Header.Get("X-Content-Type-Options"); got != "nosniff" {
		t.Errorf("X-Content-Type-Options = %q", got)
	}
}

// TestOpenerPolicy is sent where browsers heed it.
func TestOpenerPolicy(t *testing.T) {
	s := newStand(t, nil, Options{Hosts: []string{"localhost", "::1"}})
	for _, c := range []struct {
		host string
		tls  bool
		want string
	}{
		{"localhost:8080", false, "same-origin"},
		{"[::1]:8080", false, "same-origin"},
		{benchHost, false, ""},
		{"bench.local:8080", false, ""},
		{benchHost, true, "same-origin"},
	} {
		r := request("GET", "/door", nil)
		r.Host = c.host
		if c.tls {
			r.TLS = &tls.ConnectionState{}
		}
		got := s.answer(r)
		if v := got.Header.Get("Cross-Origin-Opener-Policy"); v != c.want {
			t.Errorf("%s, TLS %t: Cross-Origin-Opener-Policy = %q, want %q", c.host, c.tls, v, c.want)
		}
		if v := got.Header.Get("Strict-Transport-Security"); v != "" {
			t.Errorf("%s, TLS %t: Strict-Transport-Security = %q", c.host, c.tls, v)
		}
	}
}
