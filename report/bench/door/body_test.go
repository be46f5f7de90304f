package door

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
)

func TestLargest(t *testing.T) {
	d := &Door{maxBody: 10, uploads: map[string]int64{"/files": 100, "/files/small": 5}}
	for path, want := range map[string]int64{
		"/": 10, "/files": 100, "/files/": 100, "/files/x": 100, "/filesystem": 10, "/files/small": 5, "/files/small/x": 5, "/files/smaller": 100, "/x/files": 10,
	} {
		if got := d.largest(path); got != want {
			t.Errorf("largest(%q) = %d, want %d", path, got, want)
		}
	}
}

// lengthless hides how long a body is, so that it is sent in chunks.
type lengthless struct{ io.Reader }

func TestBody(t *testing.T) {
	for _, c := range []struct {
		path   string
		length int
		want   int
		words  string
	}{
		{"/builds", DefaultMaxBody, 200, ""},
		{"/builds", DefaultMaxBody + 1, 413, "At most 1 MB can be sent here"},
		{"/files", 3_000_000, 200, ""},
		{"/files/new", 3_000_001, 413, "At most 3 MB can be sent here"},
		{"/filesystem", 3_000_000, 413, "At most 1 MB can be sent here"},
		{"/note", 2_000, 200, ""},
		{"/note", 2_001, 413, "At most 2 kB can be sent here"},
	} {
		for _, chunked := range []bool{false, true} {
			t.Run(fmt.Sprintf("%s %d chunked=%t", c.path, c.length, chunked), func(t *testing.T) {
				s := newOpenStand(t, nil, Options{Uploads: map[string]int64{"/files": 3_000_000, "/note": 2_000}})
				rest := bytes.NewReader(make([]byte, c.length))
				var body io.Reader = rest
				if chunked {
					body = lengthless{body}
				}
				got := s.answer(local("POST", c.path, body))
				if rest.Len() > 0 {
					t.Errorf("%d bytes were left unread, a browser may not see the answer", rest.Len())
				}
				if got.StatusCode == 200 {
					if n := len(text(t, got)); c.want != 200 || n != len("hello ")+c.length {
						t.Errorf("the page got %d bytes and answered 200, want %d", n-len("hello "), c.want)
					}
					return
				}
				wantPage(t, got, c.want, c.words)
				if chunked != (s.calls == 1) {
					t.Errorf("the page was called %d times", s.calls)
				}
			})
		}
	}
}

// TestBodyTooLargeOnTheWire: the answer arrives though the browser sends on,
// with a length and in chunks, and whatever the page makes of it.
func TestBodyTooLargeOnTheWire(t *testing.T) {
	pages := map[string]http.HandlerFunc{
		"reads":        (&stand{}).hello,
		"reads a form": func(w http.ResponseWriter, r *http.Request) { _ = r.ParseMultipartForm(1 << 10); w.WriteHeader(204) },
		"says nothing": func(w http.ResponseWriter, r *http.Request) { _, _ = io.Copy(io.Discard, r.Body) },
		"sets headers": func(w http.ResponseWriter, r *http.Request) {
			_, _ = io.Copy(io.Discard, r.Body)
			http.SetCookie(w, &http.Cookie{Name: "units", Value: "metric"})
			w.Header().Set("Content-Length", "5")
			_, _ = w.Write([]byte("saved"))
		},
	}
	for name, page := range pages {
		for _, chunked := range []bool{false, true} {
			t.Run(fmt.Sprintf("%s chunked=%t", name, chunked), func(t *testing.T) {
				server := httptest.NewUnstartedServer(nil)
				port := server.Listener.Addr().(*net.TCPAddr).Port
				door, err := New(page, port, Options{MaxBody: 1000})
				if err != nil {
					t.Fatal(err)
				}
				server.Config.Handler = door
				server.Start()
				defer server.Close()
				// 20 MB do not fit into any buffer on the way.
				head := "--x\r\nContent-Disposition: form-data; name=\"a\"\r\n\r\n"
				var body io.Reader = io.MultiReader(strings.NewReader(head), bytes.NewReader(make([]byte, 20_000_000)))
				r, err := http.NewRequest("POST", server.URL+"/builds", lengthless{body})
				if err != nil {
					t.Fatal(err)
				}
				if !chunked {
					r.ContentLength = int64(len(head)) + 20_000_000
				}
				r.Header.Set("Content-Type", "multipart/form-data; boundary=x")
				r.Header.Set("Origin", server.URL)
				got, err := http.DefaultClient.Do(r)
				if err != nil {
					t.Fatal(err)
				}
				defer got.Body.Close()
				if c := got.Header.Get("Set-Cookie"); c != "" {
					t.Errorf("the page's cookie %q was left", c)
				}
				wantPage(t, got, 413, "At most 1 kB can be sent here")
			})
		}
	}
}

// TestLargeFormAtDoor: strangers cannot send much, and nothing of it is read
// on.
func TestLargeFormAtDoor(t *testing.T) {
	for _, chunked := range []bool{false, true} {
		s := newStand(t, nil, Options{})
		rest := strings.NewReader("code=" + strings.Repeat("A", 2_000_000))
		var body io.Reader = rest
		if chunked {
			body = lengthless{body}
		}
		r := request("POST", "/door", body)
		if !chunked {
			r.ContentLength = 2_000_005
		}
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		wantPage(t, s.answer(r), 413, "Only an access code can be sent here")
		if read := 2_000_005 - rest.Len(); read > 2*maxForm {
			t.Errorf("chunked %t: %d bytes were read of a stranger's form", chunked, read)
		}
	}
}

// TestStrangersBodyIsNotRead: who is not signed in is turned away unread.
func TestStrangersBodyIsNotRead(t *testing.T) {
	s := newStand(t, nil, Options{})
	body := strings.NewReader(strings.Repeat("A", 1000))
	wantPage(t, s.answer(request("POST", "/builds", lengthless{body})), 403, "This device is not signed in")
	if body.Len() != 1000 {
		t.Errorf("%d bytes were read", 1000-body.Len())
	}
}

// TestEarlyHints: an interim answer does not count as the answer.
func TestEarlyHints(t *testing.T) {
	page := http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.WriteHeader(http.StatusEarlyHints)
		w.WriteHeader(http.StatusTeapot)
	})
	server := httptest.NewUnstartedServer(nil)
	door, err := New(page, server.Listener.Addr().(*net.TCPAddr).Port, Options{})
	if err != nil {
		t.Fatal(err)
	}
	server.Config.Handler = door
	server.Start()
	defer server.Close()
	conn, err := net.Dial("tcp", server.Listener.Addr().String())
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	fmt.Fprintf(conn, "GET / HTTP/1.1\r\nHost: %s\r\nConnection: close\r\n\r\n", server.Listener.Addr())
	in := bufio.NewReader(conn)
	for _, want := range []string{"HTTP/1.1 103 Early Hints\r\n", "HTTP/1.1 418 I'm a teapot\r\n"} {
		line, err := in.ReadString('\n')
		if err != nil || line != want {
			t.Fatalf("answer %q, %v, want %q", line, err, want)
		}
		for line != "\r\n" {
			if line, err = in.ReadString('\n'); err != nil {
				t.Fatal(err)
			}
		}
	}
}
