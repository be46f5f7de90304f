package door

import (
	"net"
	"net/http"
	"sync"
	"time"
)

// MaxConns is a fair ceiling on connections at once for the bench: a browser
// opens six, and maxDevices are seldom all at work.
const MaxConns = 64

// Server returns a server for h whose limits suit a bench: nobody can hold a
// connection for long by sending or reading slowly, and yet a workbook comes
// through a weak wireless network. It speaks HTTP/1.1 only, where one
// connection is one request at a time, so that a ceiling on connections is one
// on requests. What is refused before h is asked (a header too large, plain
// HTTP to a port with TLS) net/http answers in a bare line. The times are
// common practice, no source.
func Server(h http.Handler) *http.Server {
	only1 := new(http.Protocols)
	only1.SetHTTP1(true)
	return &http.Server{
		Handler:           h,
		Protocols:         only1,
		ReadHeaderTimeout: 10 * time.Second,
		ReadTimeout:       2 * time.Minute,
		WriteTimeout:      4 * time.Minute,  // counts from the header: reading, work and answer
		IdleTimeout:       30 * time.Second, // a browser keeps six places though it asks for nothing
		MaxHeaderBytes:    16 << 10,

		// OPTIONS * goes through h like all others.
		DisableGeneralOptionsHandler: true,
	}
}

// Limit returns a listener that has at most n connections open at once. The
// next ones wait until one is closed. Under TLS it is what ServeTLS gets.
func Limit(l net.Listener, n int) net.Listener {
	return &limited{Listener: l, places: make(chan struct{}, n), closed: make(chan struct{})}
}

type limited struct {
	net.Listener
	places chan struct{} // holds one for each open connection
	closed chan struct{}
	once   sync.Once
}

func (l *limited) Accept() (net.Conn, error) {
	select {
	case l.places <- struct{}{}:
	case <-l.closed:
		return nil, net.ErrClosed
	}
	c, err := l.Listener.Accept()
	if err != nil {
		<-l.places
		return nil, err
	}
	return &guest{Conn: c, leave: sync.OnceFunc(func() { <-l.places })}, nil
}

func (l *limited) Close() error {
	l.once.Do(func() { close(l.closed) })
	return l.Listener.Close()
}

// guest is a connection that gives its place back when it is closed.
type guest struct {
	net.Conn
	leave func()
}

func (g *guest) Close() error {
	defer g.leave()
	return g.Conn.Close()
}
