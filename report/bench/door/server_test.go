package door

import (
	"crypto/tls"
	"errors"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"testing/synctest"
	"time"
)

func TestServer(t *testing.T) {
	s := Server(http.NotFoundHandler())
	for name, d := range map[string]time.Duration{
		"ReadHeaderTimeout": s.ReadHeaderTimeout, "ReadTimeout": s.ReadTimeout, "WriteTimeout": s.WriteTimeout, "IdleTimeout": s.IdleTimeout,
	} {
		if d <= 0 || d > 5*time.Minute {
			t.Errorf("%s = %v, want a limit", name, d)
		}
	}
	if s.WriteTimeout <= s.ReadTimeout {
		t.Errorf("WriteTimeout %v leaves no time after a slow body of %v", s.WriteTimeout, s.ReadTimeout)
	}
	if s.Handler == nil {
		t.Error("no handler")
	}
}

// TestServerRefusesLargeHeader before the door sees it.
func TestServerRefusesLargeHeader(t *testing.T) {
	called := false
	server := httptest.NewUnstartedServer(nil)
	server.Config = Server(http.HandlerFunc(func(http.ResponseWriter, *http.Request) { called = true }))
	server.Start()
	defer server.Close()
	r, err := http.NewRequest("GET", server.URL, nil)
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("X-Long", strings.Repeat("a", 32<<10))
	got, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	got.Body.Close()
	if got.StatusCode != http.StatusRequestHeaderFieldsTooLarge || called {
		t.Errorf("status %d, handler called %t, want 431 and not called", got.StatusCode, called)
	}
}

// TestServerSpeaksHTTP1 also to clients that offer HTTP/2.
func TestServerSpeaksHTTP1(t *testing.T) {
	borrowed := httptest.NewTLSServer(nil) // for its certificate
	defer borrowed.Close()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	server := Server(http.NotFoundHandler())
	server.TLSConfig = &tls.Config{Certificates: borrowed.TLS.Certificates}
	go func() { _ = server.ServeTLS(l, "", "") }()
	defer server.Close()
	conn, err := tls.Dial("tcp", l.Addr().String(), &tls.Config{InsecureSkipVerify: true, NextProtos: []string{"h2", "http/1.1"}})
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	if got := conn.ConnectionState().NegotiatedProtocol; got != "http/1.1" {
		t.Errorf("protocol = %q, want http/1.1", got)
	}
}

// pipes is a listener whose connections are made in memory.
type pipes struct {
	next   chan net.Conn
	closed chan struct{}
}

func (p *pipes) Accept() (net.Conn, error) {
	select {
	case c := <-p.next:
		return c, nil
	case <-p.closed:
		return nil, net.ErrClosed
	}
}
func (p *pipes) Close() error   { close(p.closed); return nil }
func (p *pipes) Addr() net.Addr { return &net.TCPAddr{} }

func TestLimit(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		under := &pipes{next: make(chan net.Conn, 10), closed: make(chan struct{})}
		l := Limit(under, 2)
		for range 5 {
			server, client := net.Pipe()
			defer client.Close()
			under.next <- server
		}
		accepted := make(chan net.Conn, 10)
		failed := make(chan error, 1)
		go func() {
			for {
				c, err := l.Accept()
				if err != nil {
					failed <- err
					return
				}
				accepted <- c
			}
		}()
		synctest.Wait()
		if len(accepted) != 2 {
			t.Fatalf("%d connections accepted, want 2", len(accepted))
		}
		first := <-accepted
		first.Close()
		first.Close() // a second time gives no second place
		synctest.Wait()
		if len(accepted) != 2 || len(under.next) != 2 {
			t.Errorf("%d connections open and %d waiting, want 2 and 2", len(accepted), len(under.next))
		}
		l.Close()
		synctest.Wait()
		select {
		case err := <-failed:
			if !errors.Is(err, net.ErrClosed) {
				t.Errorf("Accept after Close = %v, want net.ErrClosed", err)
			}
		default:
			t.Error("Accept still waits after Close")
		}
	})
}

// TestLimitGivesPlaceBack when the listener below fails.
func TestLimitGivesPlaceBack(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		l := Limit(failing{}, 1)
		for range 3 {
			if _, err := l.Accept(); !errors.Is(err, errBusy) {
				t.Fatalf("Accept = %v, want %v", err, errBusy)
			}
		}
	})
}

var errBusy = errors.New("busy")

type failing struct{}

func (failing) Accept() (net.Conn, error) { return nil, errBusy }
func (failing) Close() error              { return nil }
func (failing) Addr() net.Addr            { return &net.TCPAddr{} }
