package door

import (
	"crypto/tls"
	"net/http"
	"testing"

	"pgregory.net/rapid"
)

func TestSameOrigin(t *testing.T) {
	const right = "http://192.168.1.20:8080"
	for _, c := range []struct {
		origin, site string
		tls          bool
		want         bool
	}{
		{right, "", false, true},
		{"HTTP://192.168.1.20:8080", "", false, true},
		{right, "same-origin", false, true},
		{right, "none", false, true},
		{"", "same-origin", false, true},
		{"https://192.168.1.20:8080", "same-origin", true, true},
		{"", "", false, false},
		{"", "none", false, false},
		{"null", "", false, false},
		{"null", "same-origin", false, false},
		{"http://evil.example", "", false, false},
		{"http://evil.example", "same-origin", false, false},
		{"http://192.168.1.20", "", false, false},
		{"http://192.168.1.20:8081", "", false, false},
		{"https://192.168.1.20:8080", "", false, false},
		{right, "", true, false},
		{right + ".evil.example", "", false, false},
		{right + "/", "", false, false},
		{right, "cross-site", false, false},
		{right, "same-site", false, false}, // another port of this machine
		{"", "cross-site", false, false},
	} {
		r := request("POST", "/", nil)
		r.Header.Del("Origin")
		if c.origin != "" {
			r.Header.Set("Origin", c.origin)
		}
		if c.site != "" {
			r.Header.Set("Sec-Fetch-Site", c.site)
		}
		if c.tls {
			r.TLS = &tls.ConnectionState{}
		}
		if got := sameOrigin(r); got != c.want {
			t.Errorf("Origin %q, Sec-Fetch-Site %q, TLS %t: sameOrigin = %t, want %t", c.origin, c.site, c.tls, got, c.want)
		}
	}
}

// TestStricterThanStandard: nothing that http.CrossOriginProtection refuses
// gets through.
func TestStricterThanStandard(t *testing.T) {
	standard := http.NewCrossOriginProtection()
	rapid.Check(t, func(t *rapid.T) {
		r := request(rapid.SampledFrom([]string{"POST", "PUT", "DELETE", "PATCH"}).Draw(t, "method"), "/", nil)
		r.Header["Origin"] = rapid.SampledFrom([][]string{nil, {""}, {"null"}, {"http://" + benchHost}, {"https://" + benchHost},
			{"http://evil.example"}, {"http://evil.example", "http://" + benchHost}}).Draw(t, "origin")
		r.Header["Sec-Fetch-Site"] = rapid.SampledFrom([][]string{nil, {""}, {"none"}, {"same-origin"}, {"same-site"}, {"cross-site"}}).Draw(t, "site")
		if err := standard.Check(r); err != nil && sameOrigin(r) {
			t.Fatalf("let through what net/http refuses: %v", err)
		}
	})
}

// TestOriginOfEveryMethod: all but GET and HEAD must come from the bench.
func TestOriginOfEveryMethod(t *testing.T) {
	for method, want := range map[string]int{"GET": 200, "HEAD": 200, "POST": 403, "PUT": 403, "PATCH": 403, "DELETE": 403, "OPTIONS": 403, "TRACE": 403, "BREW": 403} {
		s := newOpenStand(t, nil, Options{})
		r := local(method, "/", nil)
		r.Header.Del("Origin")
		got := s.answer(r)
		if got.StatusCode != want {
			t.Errorf("%s without Origin: status = %d, want %d", method, got.StatusCode, want)
		}
		if want == 403 {
			wantPage(t, got, 403, "This did not come from the bench")
			if s.calls > 0 {
				t.Errorf("%s without Origin reached the page", method)
			}
		}
		if got := s.answer(local(method, "/", nil)); got.StatusCode != 200 {
			t.Errorf("%s from the bench: status = %d, want 200", method, got.StatusCode)
		}
	}
}

// TestOriginAtDoor: signing in and out from elsewhere is refused as well, and
// uses no code up.
func TestOriginAtDoor(t *testing.T) {
	s := newStand(t, nil, Options{})
	r := signInRequest(s.code(), "/")
	r.Header.Set("Origin", "http://evil.example")
	wantPage(t, s.answer(r), 403, "This did not come from the bench")
	cookie := s.signIn(t)
	out := request("POST", "/door/out", nil)
	out.AddCookie(cookie)
	out.Header.Set("Origin", "http://evil.example")
	wantPage(t, s.answer(out), 403, "This did not come from the bench")
	if !s.admitted(cookie) {
		t.Error("another page could sign the device out")
	}
}
