package door

import (
	"crypto/tls"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"sync"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestFormFillsCodeInWithoutUsingIt(t *testing.T) {
	s := newStand(t, nil, Options{})
	code := s.code()
	for range 3 { // a browser may fetch ahead
		body := text(t, s.answer(request("GET", "/door?code="+code+"&next=/builds", nil)))
		for _, want := range []string{`value="` + code + `"`, `name="next" value="/builds"`, "Nothing is encrypted on the way."} {
			if !strings.Contains(body, want) {
				t.Errorf("the form has no %s:\n%s", want, body)
			}
		}
	}
	if len(s.codes) != 1 {
		t.Errorf("announced %q, want the first code only", s.codes)
	}
	s.signIn(t)
}

// TestFormWarns where others can read along, and there only.
func TestFormWarns(t *testing.T) {
	s := newStand(t, nil, Options{})
	for _, c := range []struct {
		from string
		tls  bool
		want bool
	}{
		{phone, false, true},
		{phone, true, false},
		{"127.0.0.1:40000", false, false},
	} {
		r := request("GET", "/door", nil)
		r.RemoteAddr = c.from
		if c.tls {
			r.TLS = &tls.ConnectionState{}
		}
		if got := strings.Contains(text(t, s.answer(r)), "Nothing is encrypted"); got != c.want {
			t.Errorf("from %s, TLS %t: warned = %t, want %t", c.from, c.tls, got, c.want)
		}
	}
}

// TestFormWithStaleCode: a code that had run out is not filled in, and the
// new one is in the terminal by then.
func TestFormWithStaleCode(t *testing.T) {
	s := newStand(t, nil, Options{})
	old := s.code()
	s.pass(codeLife)
	got := s.answer(request("GET", "/door?code="+old, nil))
	body := text(t, got)
	if got.StatusCode != 200 || strings.Contains(body, old) || !strings.Contains(body, "The last code had run out.") {
		t.Errorf("status %d, with a stale code filled in or without a word about it:\n%s", got.StatusCode, body)
	}
	if len(s.codes) != 2 {
		t.Errorf("announced %q, want two codes", s.codes)
	}

	s.pass(codeLife)
	old = s.code()
	wantPage(t, s.answer(signInRequest(old, "/")), 403, "That code had run out.")
	s.signIn(t)
}

func TestSignIn(t *testing.T) {
	s := newStand(t, nil, Options{})
	got := s.answer(signInRequest(strings.ToLower(s.code()), "/plan?product=a%20b"))
	if got.StatusCode != 303 || got.Header.Get("Location") != "/plan?product=a%20b" {
		t.Errorf("status %d to %q, want 303 to /plan?product=a%%20b", got.StatusCode, got.Header.Get("Location"))
	}
	if len(got.Cookies()) != 1 {
		t.Fatalf("%d cookies, want one", len(got.Cookies()))
	}
	c := got.Cookies()[0]
	if c.Name != "bench-8080" || c.Path != "/" || !c.HttpOnly || c.SameSite != http.SameSiteStrictMode || c.Secure || c.MaxAge != 7*24*3600 || c.Domain != "" {
		t.Errorf("cookie = %s", c.Raw)
	}
	if !s.admitted(c) {
		t.Error("the device is not let in")
	}
	if want := "door: a device at 192.168.1.30 signed in"; len(s.lines) != 1 || s.lines[0] != want {
		t.Errorf("log = %q, want %q", s.lines, want)
	}
	for _, line := range s.lines {
		if strings.Contains(line, c.Value) {
			t.Error("the token is in the log")
		}
	}

	r := request("GET", "/door?next=/plan", nil)
	r.AddCookie(c)
	body := text(t, s.answer(r))
	if !strings.Contains(body, "This device is signed in") || !strings.Contains(body, `href="/plan"`) || !strings.Contains(body, `action="/door/out"`) {
		t.Errorf("the door of a device that is signed in:\n%s", body)
	}
}

func TestCookieUnderTLS(t *testing.T) {
	s := newStand(t, nil, Options{})
	r := signInRequest(s.code(), "/")
	r.TLS = &tls.ConnectionState{}
	r.Header.Set("Origin", "https://"+benchHost)
	got := s.answer(r)
	if len(got.Cookies()) != 1 {
		t.Fatalf("status %d with %d cookies, want one", got.StatusCode, len(got.Cookies()))
	}
	c := got.Cookies()[0]
	if c.Name != "__Host-bench-8080" || !c.Secure || c.Path != "/" || c.Domain != "" || !c.HttpOnly || c.SameSite != http.SameSiteStrictMode {
		t.Errorf("cookie = %s", c.Raw)
	}
	r = request("GET", "/", nil)
	r.TLS = &tls.ConnectionState{}
	r.AddCookie(c)
	if got := s.answer(r); got.StatusCode != 200 {
		t.Errorf("status = %d, want 200", got.StatusCode)
	}
}

// TestSignInAgain: a device that signs in twice is one device.
func TestSignInAgain(t *testing.T) {
	s := newStand(t, nil, Options{})
	old := s.signIn(t)
	r := signInRequest(s.code(), "/")
	r.AddCookie(old)
	got := s.answer(r)
	if got.StatusCode != 303 || s.admitted(old) || !s.admitted(got.Cookies()[0]) || len(s.devices.signedIn) != 1 {
		t.Errorf("status %d, %d devices, want the new cookie in place of the old", got.StatusCode, len(s.devices.signedIn))
	}
}

func TestUsedCode(t *testing.T) {
	s := newStand(t, nil, Options{})
	used := s.code()
	s.signIn(t)
	got := s.answer(signInRequest(used, "/builds"))
	if len(got.Cookies()) > 0 {
		t.Error("a used code gave a cookie")
	}
	body := text(t, got)
	if got.StatusCode != 403 || !strings.Contains(body, "each works once") || !strings.Contains(body, `value="`+used+`"`) || !strings.Contains(body, `value="/builds"`) {
		t.Errorf("status %d, want 403 and the form with all that was typed:\n%s", got.StatusCode, body)
	}
}

// TestRaceForOneCode: of many that send one code at once, one comes in.
func TestRaceForOneCode(t *testing.T) {
	for range 20 {
		s := newStand(t, nil, Options{})
		code := s.code()
		const n = maxTries - 1
		start, status := make(chan struct{}), make([]int, n)
		var all sync.WaitGroup
		for i := range n {
			all.Go(func() {
				r := signInRequest(code, "/")
				r.RemoteAddr = fmt.Sprintf("192.168.1.%d:40000", 100+i)
				<-start
				status[i] = s.answer(r).StatusCode
			})
		}
		close(start)
		all.Wait()
		in, out := 0, 0
		for _, got := range status {
			switch got {
			case 303:
				in++
			case 403:
				out++
			}
		}
		if in != 1 || out != n-1 || len(s.devices.signedIn) != 1 {
			t.Fatalf("%d came in and %d did not, %d devices; want one of %d", in, out, len(s.devices.signedIn), n)
		}
	}
}

func TestExpiredDevice(t *testing.T) {
	s := newStand(t, nil, Options{})
	c := s.signIn(t)
	s.pass(idleLife - time.Second)
	if !s.admitted(c) {
		t.Fatal("signed out too early")
	}
	s.pass(idleLife)
	r := request("GET", "/factors", nil)
	r.AddCookie(c)
	if got := s.answer(r); got.StatusCode != 303 || got.Header.Get("Location") != "/door?next=%2Ffactors" {
		t.Errorf("status %d to %q, want 303 to the door", got.StatusCode, got.Header.Get("Location"))
	}
}

func TestSignOut(t *testing.T) {
	s := newStand(t, nil, Options{})
	c, other := s.signIn(t), s.signIn(t)
	r := request("POST", "/door/out", nil)
	r.AddCookie(c)
	got := s.answer(r)
	if got.StatusCode != 303 || got.Header.Get("Location") != "/door" {
		t.Errorf("status %d to %q, want 303 to /door", got.StatusCode, got.Header.Get("Location"))
	}
	if gone := got.Cookies(); len(gone) != 1 || gone[0].Name != c.Name || gone[0].MaxAge >= 0 || gone[0].Value != "" {
		t.Errorf("cookies = %v, want an empty one that ends at once", gone)
	}
	if s.admitted(c) || !s.admitted(other) {
		t.Error("sign out must end this device's visit, and no other")
	}
	if got := s.answer(request("POST", "/door/out", nil)); got.StatusCode != 303 {
		t.Errorf("signing out twice: status %d, want 303", got.StatusCode)
	}
}

// TestNotSignedIn: nothing of the page comes out, whatever is asked.
func TestNotSignedIn(t *testing.T) {
	for _, c := range []struct {
		method, target, accept, cookie string
		want                           int
		location                       string
	}{
		{"GET", "/", "text/html", "", 303, "/door"},
		{"GET", "/builds?maker=dita", "text/html", "", 303, "/door?next=%2Fbuilds%3Fmaker%3Ddita"},
		{"HEAD", "/builds", "text/html", "", 303, "/door?next=%2Fbuilds"},
		{"GET", "/builds", "text/html", "guessed", 303, "/door?next=%2Fbuilds"},
		{"GET", "/door/else", "text/html", "", 303, "/door?next=%2Fdoor%2Felse"},
		{"GET", "//door", "text/html", "", 303, "/door"},
		{"GET", "/app.css", "text/css,*/*;q=0.1", "", 403, ""},
		{"GET", "/", "", "", 403, ""},
		{"POST", "/builds", "text/html", "", 403, ""},
		{"PUT", "/builds", "text/html", "guessed", 403, ""},
		{"DELETE", "/door/else", "text/html", "", 403, ""},
	} {
		t.Run(c.method+" "+c.target, func(t *testing.T) {
			s := newStand(t, nil, Options{})
			s.signIn(t)
			r := request(c.method, "/", nil)
			// As a server would read it: httptest takes //door for a host.
			u, err := url.ParseRequestURI(c.target)
			if err != nil {
				t.Fatal(err)
			}
			r.URL = u
			r.Header.Set("Accept", c.accept)
			if c.cookie != "" {
				r.AddCookie(&http.Cookie{Name: "bench-8080", Value: c.cookie})
			}
			got := s.answer(r)
			if got.StatusCode != c.want || got.Header.Get("Location") != c.location {
				t.Errorf("status %d to %q, want %d to %q", got.StatusCode, got.Header.Get("Location"), c.want, c.location)
			}
			if c.want == 403 {
				wantPage(t, got, 403, "sign in with the link below, come back and reload")
			}
			if s.calls > 0 {
				t.Error("the page was reached")
			}
		})
	}
}

func TestMethodsAtDoor(t *testing.T) {
	for _, c := range []struct{ method, path, allow string }{
		{"PUT", "/door", "GET, HEAD, POST"},
		{"DELETE", "/door", "GET, HEAD, POST"},
		{"OPTIONS", "/door", "GET, HEAD, POST"},
		{"GET", "/door/out", "POST"}, // a link must not sign anybody out
		{"PUT", "/door/out", "POST"},
	} {
		s := newStand(t, nil, Options{})
		cookie := s.signIn(t)
		r := request(c.method, c.path, nil)
		r.AddCookie(cookie)
		got := s.answer(r)
		if allow := got.Header.Get("Allow"); allow != c.allow {
			t.Errorf("%s %s: Allow = %q, want %q", c.method, c.path, allow, c.allow)
		}
		wantPage(t, got, 405, "Nothing happens here")
		if !s.admitted(cookie) {
			t.Errorf("%s %s signed the device out", c.method, c.path)
		}
	}
}

func TestBadForm(t *testing.T) {
	s := newStand(t, nil, Options{})
	r := request("POST", "/door", strings.NewReader("code=%zz"))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	wantPage(t, s.answer(r), 400, "not a form with an access code")
}

// TestCodeInAddressOfPost: only the form counts, so that no link can carry a
// code through.
func TestCodeInAddressOfPost(t *testing.T) {
	s := newStand(t, nil, Options{})
	r := request("POST", "/door?code="+s.code(), strings.NewReader("next=/"))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	wantPage(t, s.answer(r), 403, "That is not the code.")
}

func TestSameSite(t *testing.T) {
	for next, want := range map[string]string{
		"/":                            "/",
		"/builds":                      "/builds",
		"/builds/":                     "/builds/",
		"/builds?maker=dita&x=//y":     "/builds?maker=dita&x=//y",
		"/report/8%20ft%2Fbull":        "/report/8%20ft%2Fbull",
		"/builds#last":                 "/builds",
		"":                             "/",
		"builds":                       "/",
		"/door":                        "/", // no end of it otherwise
		"/door?next=/door":             "/",
		"/door/out":                    "/",
		"//evil.example":               "/",
		"//evil.example/door":          "/",
		"//evil.example/builds":        "/",
		"///evil.example":              "/",
		"////evil.example":             "/",
		`/\evil.example`:               "/",
		`\\evil.example`:               "/",
		`/\/evil.example`:              "/",
		"/%5Cevil.example":             "/",
		"/%2F/evil.example":            "/",
		"/\t/evil.example":             "/",
		"/\n/evil.example":             "/",
		"\t//evil.example":             "/",
		" //evil.example":              "/",
		"http://evil.example":          "/",
		"HTTP://evil.example":          "/",
		"http:evil.example":            "/",
		"https:/evil.example":          "/",
		"http://" + benchHost + "/":    "/",
		"//user@evil.example/":         "/",
		"javascript:alert(1)":          "/",
		"data:text/html,x":             "/",
		"?next=//evil.example":         "/",
		"/x\r\nSet-Cookie: bench=evil": "/",
	} {
		if got := sameSite(next); got != want {
			t.Errorf("sameSite(%q) = %q, want %q", next, got, want)
		}
	}
}

// TestRedirectStaysHere: wherever the form says it wants to go, a browser
// stays on the bench.
func TestRedirectStaysHere(t *testing.T) {
	here, err := url.Parse("http://" + benchHost + "/door")
	if err != nil {
		t.Fatal(err)
	}
	s := newStand(t, nil, Options{})
	rapid.Check(t, func(rt *rapid.T) {
		next := strings.Join(rapid.SliceOfN(rapid.SampledFrom([]string{"/", `\`, "..", ".", "evil.example", ":", "@", "http", "//", "%2f", "%5c", "\t", "?", "#", "door", " ", "é"}), 0, 8).Draw(rt, "next"), "")
		got := s.answer(signInRequest(s.code(), next))
		to := got.Header.Get("Location")
		if got.StatusCode != 303 || !strings.HasPrefix(to, "/") {
			rt.Fatalf("next %q: status %d to %q", next, got.StatusCode, to)
		}
		// As browsers read it: a backslash is a slash, and tabs and line ends are not there.
		read := strings.NewReplacer(`\`, "/", "\t", "", "\n", "", "\r", "").Replace(to)
		if path, _, _ := strings.Cut(read, "?"); strings.HasPrefix(path, "//") {
			rt.Fatalf("next %q leads to %q, which names a host", next, to)
		}
		u, err := here.Parse(read)
		if err != nil || u.Host != benchHost || u.Scheme != "http" {
			rt.Fatalf("next %q leads to %v, %v", next, u, err)
		}
	})
}
