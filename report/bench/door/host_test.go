package door

import (
	"crypto/tls"
	"net/http"
	"testing"
)

func TestHost(t *testing.T) {
	loopback, err := newHosts(nil, 8080)
	if err != nil {
		t.Fatal(err)
	}
	listed, err := newHosts([]string{"192.168.1.20", "Bench.local", "fd00:0::20"}, 8443)
	if err != nil {
		t.Fatal(err)
	}
	plain, err := newHosts(nil, 80)
	if err != nil {
		t.Fatal(err)
	}
	secure, err := newHosts(nil, 443)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		hosts hosts
		host  string
		tls   bool
		want  bool
	}{
		{loopback, "localhost:8080", false, true},
		{loopback, "LOCALHOST:8080", false, true},
		{loopback, "127.0.0.1:8080", false, true},
		{loopback, "[::1]:8080", false, true},
		{loopback, "[0:0:0:0:0:0:0:1]:8080", false, true},
		{loopback, "localhost", false, false},
		{loopback, "localhost:", false, false},
		{loopback, "localhost:8081", false, false},
		{loopback, "[::1]", false, false},
		{loopback, "127.0.0.2:8080", false, false},
		{loopback, "evil.example:8080", false, false},
		{loopback, "localhost.evil.example:8080", false, false},
		{loopback, "localhost:8080@evil.example", false, false},
		{loopback, "evil.example#localhost:8080", false, false},
		{loopback, "localhost:8080:8080", false, false},
		{loopback, "", false, false},
		{listed, "192.168.1.20:8443", true, true},
		{listed, "bench.local:8443", true, true},
		{listed, "[fd00::20]:8443", true, true},
		{listed, "localhost:8443", true, false},
		{listed, "192.168.1.21:8443", true, false},
		{plain, "localhost", false, true},
		{plain, "[::1]", false, true},
		{plain, "localhost:80", false, true},
		{plain, "localhost", true, false},
		{secure, "localhost", true, true},
		{secure, "localhost", false, false},
	} {
		r := &http.Request{Host: c.host}
		if c.tls {
			r.TLS = &tls.ConnectionState{}
		}
		if got := c.hosts.has(r); got != c.want {
			t.Errorf("port %s, TLS %t: has(%q) = %t, want %t", c.hosts.port, c.tls, c.host, got, c.want)
		}
	}
}

// TestHostRefused: the check comes first, with a code and without, for every
// method and path, and the page never hears of the request.
func TestHostRefused(t *testing.T) {
	open, coded := newOpenStand(t, nil, Options{}), newStand(t, nil, Options{})
	for _, method := range []string{"GET", "HEAD", "POST", "OPTIONS"} {
		for _, path := range []string{"/", "/door"} {
			r := local(method, path, nil)
			r.Host = "evil.example:8080"
			r.Header.Set("Origin", "http://evil.example:8080")
			if got := open.answer(r); got.StatusCode != http.StatusMisdirectedRequest {
				t.Errorf("%s %s without a code: status = %d, want 421", method, path, got.StatusCode)
			}
			if got := coded.answer(r); got.StatusCode != http.StatusMisdirectedRequest {
				t.Errorf("%s %s with a code: status = %d, want 421", method, path, got.StatusCode)
			}
		}
	}
	if open.calls+coded.calls > 0 {
		t.Errorf("the page was called %d times", open.calls+coded.calls)
	}
	r := local("GET", "/", nil)
	r.Host = "evil.example:8080"
	wantPage(t, open.answer(r), http.StatusMisdirectedRequest, "&#34;evil.example:8080&#34;, and that is not one of its names")
}
