package door

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"strings"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"
)

// wire is a connection in memory that seems to come from this machine.
type wire struct{ net.Conn }

func (wire) RemoteAddr() net.Addr { return &net.TCPAddr{IP: net.IPv4(127, 0, 0, 1), Port: 40000} }

// wired is a door's server with a ceiling on its connections, in a bubble whose
// clock the tests let run.
type wired struct {
	t    *testing.T
	next chan net.Conn
}

// serveWired serves page, for at most n connections at once.
func serveWired(t *testing.T, page http.Handler, n int) *wired {
	t.Helper()
	d, err := New(page, 8080, Options{})
	if err != nil {
		t.Fatal(err)
	}
	under := &pipes{next: make(chan net.Conn), closed: make(chan struct{})}
	s := Server(d)
	ended := make(chan error, 1)
	go func() { ended <- s.Serve(Limit(under, n)) }()
	t.Cleanup(func() {
		s.Close()
		if err := <-ended; !errors.Is(err, http.ErrServerClosed) {
			t.Error(err)
		}
	})
	return &wired{t, under.next}
}

// dial connects.
func (w *wired) dial() net.Conn {
	server, client := net.Pipe()
	w.next <- wire{server}
	w.t.Cleanup(func() { client.Close() })
	return client
}

// get asks for a page and returns the status.
func (w *wired) get() (int, error) {
	c := w.dial()
	defer c.Close()
	go io.WriteString(c, "GET / HTTP/1.1\r\nHost: localhost:8080\r\nConnection: close\r\n\r\n")
	got, err := http.ReadResponse(bufio.NewReader(c), nil)
	if err != nil {
		return 0, err
	}
	_, err = io.Copy(io.Discard, got.Body)
	return got.StatusCode, errors.Join(err, got.Body.Close())
}

// dribble sends a byte a second, and returns how long the other side put up
// with it.
func dribble(c net.Conn, text string) time.Duration {
	begin := time.Now()
	go io.Copy(io.Discard, c) // hears what is answered
	for i := 0; ; i++ {
		if _, err := c.Write([]byte{text[i%len(text)]}); err != nil {
			return time.Since(begin)
		}
		time.Sleep(time.Second)
	}
}

// Who sends by the byte, reads nothing or says nothing is cut off in time, and
// keeps nobody waiting.
func TestSlowClients(t *testing.T) {
	long := strings.Repeat("x", 1<<20)
	page := http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if _, err := io.Copy(io.Discard, r.Body); err != nil {
			return
		}
		if r.URL.Path == "/long" {
			io.WriteString(w, long)
		}
	})
	const post = "POST /fill HTTP/1.1\r\nHost: localhost:8080\r\nOrigin: http://localhost:8080\r\nContent-Length: 100000\r\n\r\n"
	for _, c := range []struct {
		name  string
		whole string // sent at once
		slow  string // sent by the byte, over and over; "": nothing more is sent or read
		most  time.Duration
	}{
		{"nothing at all", "", "", 10 * time.Second},
		{"header", "", "GET / HTTP/1.1\r\nX: ", 11 * time.Second},
		{"endless header", "GET / HTTP/1.1\r\n", "X-Y: z\r\n", 11 * time.Second},
		{"body", post, "weight=411", 2*time.Minute + 2*time.Second},
		{"body of a stranger", strings.Replace(post, "localhost:8080\r\nOrigin", "evil.example\r\nOrigin", 1), "weight=411", 2*time.Minute + 2*time.Second},
		{"answer", "GET /long HTTP/1.1\r\nHost: localhost:8080\r\n\r\n", "", 4*time.Minute + time.Second},
	} {
		t.Run(c.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				w := serveWired(t, page, 2)
				slow := w.dial()
				took := make(chan time.Duration, 1)
				go func() {
					begin := time.Now()
					io.WriteString(slow, c.whole)
					if c.slow != "" {
						took <- time.Since(begin) + dribble(slow, c.slow)
						return
					}
					time.Sleep(c.most)
					_, err := io.Copy(io.Discard, slow)
					if err != nil {
						t.Error(err)
					}
					took <- time.Since(begin)
				}()
				synctest.Wait()
				if status, err := w.get(); status != 200 || err != nil {
					t.Errorf("another client got %d, %v", status, err)
				}
				if d := <-took; d > c.most {
					t.Errorf("cut off after %v, want %v at most", d, c.most)
				}
			})
		})
	}
}

// Places taken by clients that say nothing, or nothing more, are free again soon.
func TestFullHouse(t *testing.T) {
	for name, c := range map[string]struct {
		request string
		most    time.Duration
	}{
		"silent": {"", 10 * time.Second},
		"idle":   {"GET / HTTP/1.1\r\nHost: localhost:8080\r\n\r\n", 30 * time.Second},
	} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				w := serveWired(t, http.NotFoundHandler(), MaxConns)
				for range MaxConns {
					conn := w.dial()
					go io.Copy(io.Discard, conn)
					io.WriteString(conn, c.request)
				}
				synctest.Wait()
				begin := time.Now()
				status, err := w.get()
				if took := time.Since(begin); status != 404 || err != nil || took > c.most {
					t.Errorf("after all places were taken: status %d, %v in %v", status, err, took)
				}
			})
		})
	}
}

// A request hidden in another is not heard, and what can be read in two ways is
// refused.
func TestSmuggling(t *testing.T) {
	const (
		post   = "POST /open HTTP/1.1\r\nHost: localhost:8080\r\nOrigin: http://localhost:8080\r\n"
		hidden = "POST /hidden HTTP/1.1\r\nHost: localhost:8080\r\nOrigin: http://localhost:8080\r\nContent-Length: 0\r\n\r\n"
	)
	for _, c := range []struct {
		name, sent string
		status     int
	}{
		{"two lengths", post + "Content-Length: 0\r\nContent-Length: 105\r\n\r\n" + hidden, 400},
		{"two lengths in one", post + "Content-Length: 0, 105\r\n\r\n" + hidden, 400},
		{"signed length", post + "Content-Length: +0\r\n\r\n" + hidden, 400},
		{"length and chunks", post + fmt.Sprintf("Content-Length: %d\r\nTransfer-Encoding: chunked\r\n\r\n%x\r\n%s\r\n0\r\n\r\n", len(hidden), len(hidden), hidden), 200},
		{"chunks that end early", post + fmt.Sprintf("Content-Length: %d\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n%s", 5+len(hidden), hidden), 200},
		{"an unknown coding", post + "Transfer-Encoding: xchunked\r\n\r\n" + hidden, 501},
		{"two codings", post + "Transfer-Encoding: chunked\r\nTransfer-Encoding: identity\r\n\r\n0\r\n\r\n" + hidden, 501},
		{"space before the colon", post + "Content-Length : 105\r\n\r\n" + hidden, 400},
		{"NUL in a header", post + "X: \x00\r\nContent-Length: 0\r\n\r\n" + hidden, 400},
		{"two hosts", "GET /open HTTP/1.1\r\nHost: localhost:8080\r\nHost: evil.example\r\n\r\n" + hidden, 400},
		{"no host", "GET /open HTTP/1.1\r\n\r\n" + hidden, 400},
		{"another host in the address", "GET http://evil.example/open HTTP/1.1\r\nHost: localhost:8080\r\nConnection: close\r\n\r\n" + hidden, 421},
		{"lines in an address", "GET /open%0d%0aX:%20y HTTP/1.1\r\nHost: localhost:8080\r\nConnection: close\r\n\r\n" + hidden, 200},
		{"no version", "GET /open\r\n\r\n" + hidden, 400},
	} {
		t.Run(c.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				var heard atomic.Int32
				w := serveWired(t, http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) {
					if r.URL.Path == "/hidden" {
						heard.Add(1)
					}
					io.Copy(io.Discard, r.Body)
				}), 2)
				conn := w.dial()
				go io.WriteString(conn, c.sent)
				answers := bufio.NewReader(conn)
				got, err := http.ReadResponse(answers, nil)
				if err != nil {
					t.Fatal(err)
				}
				io.Copy(io.Discard, answers) // until the server closes
				if got.StatusCode != c.status || heard.Load() > 0 {
					t.Errorf("status %d, the hidden request was heard %d times; want %d and never", got.StatusCode, heard.Load(), c.status)
				}
			})
		})
	}
}

// Every method meets the door, OPTIONS * too, which net/http answers by itself
// where it may.
func TestOtherMethods(t *testing.T) {
	for _, line := range []string{"OPTIONS * ", "OPTIONS / ", "TRACE / ", "CONNECT localhost:8080 ", "PROPFIND / ", "get / ", "DELETE /x "} {
		t.Run(line, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				w := serveWired(t, http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) { t.Errorf("the page got %s %s", r.Method, r.URL) }), 1)
				conn := w.dial()
				go io.WriteString(conn, line+"HTTP/1.1\r\nHost: localhost:8080\r\nX-Secret: mirror\r\nConnection: close\r\n\r\n")
				got, err := http.ReadResponse(bufio.NewReader(conn), nil)
				if err != nil {
					t.Fatal(err)
				}
				body, err := io.ReadAll(got.Body)
				if err != nil || got.StatusCode != http.StatusForbidden || got.Header.Get("Content-Security-Policy") == "" || strings.Contains(string(body), "mirror") {
					t.Errorf("status %d, headers %v, %v: %s", got.StatusCode, got.Header, err, body)
				}
			})
		})
	}
}
