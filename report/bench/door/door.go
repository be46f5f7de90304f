// Package door decides who may come in to the bench page. It is the
// http.Handler around the page's own, and every request passes it in this
// order:
//
//  1. the Host header must be a name or address of the bench, with its port;
//  2. whatever is not GET or HEAD must come from a page of the bench;
//  3. without an access code, only this machine comes in; with one, only
//     devices that gave a code, each of which works once;
//  4. a body has a largest size.
//
// Every answer gets the headers that keep a browser strict, and every refusal
// is a small page that says what happened and what to do.
//
// What this protects from: people on the same network who have no code; other
// web pages open in the maker's browser that send forms to the bench, frame
// it, or point a name of theirs at this machine (DNS rebinding); guessing of
// codes; bodies and headers that are too large or never end.
//
// What it does not protect from: without a certificate nothing is encrypted,
// so on an open network others can read along, take the cookie and come in
// with it; other programs and users of this machine, to whom the page is open
// when no code is asked; whoever can read the terminal or hold a device that
// is signed in, which may do everything; and somebody on the network who only
// wants to disturb: wrong codes can keep new devices waiting, and open
// connections can use up all there are.
package door

import (
	"cmp"
	"fmt"
	"maps"
	"net/http"
	"net/netip"
	"slices"
	"time"
)

// DefaultMaxBody is the size of a body in bytes where Options say nothing.
const DefaultMaxBody = 1_000_000

// Options say for whom the door opens.
type Options struct {
	// Hosts are the names and addresses by which browsers may call the
	// bench, without port. None: localhost, 127.0.0.1 and ::1. Others need
	// an access code.
	Hosts []string

	// Announce shows an access code to whoever sits at the terminal. It gets
	// the first code from New, and later ones, one call at a time, when a
	// code was used, had run out when somebody asked for it, or met too many
	// wrong tries. Only the last one works. It must not wait for an answer of the
	// bench. Nil: no code is asked, and only this machine comes in.
	Announce func(code string)

	// MaxBody is the largest body of a request in bytes, and Uploads has
	// the exceptions, by path: "/files" is that path and all below it. The
	// longest path counts. 0: DefaultMaxBody.
	MaxBody int64
	Uploads map[string]int64

	// Log gets one line for every device that signs in, for too many wrong
	// codes and for every fault of the page. Nil: they are dropped.
	Log func(line string)

	// Now is the clock. Nil: the machine's.
	Now func() time.Time
}

// Door is an http.Handler that lets requests through to the bench page. It
// is safe for use by many requests at once. Who is signed in is kept in
// memory only: a restart signs everybody out.
type Door struct {
	page    http.Handler
	hosts   hosts
	lock    *lock // nil: no code is asked
	devices devices
	maxBody int64
	uploads map[string]int64
	log     func(string)
	now     func() time.Time
}

// New returns a door before the page that is served on port, and announces
// the first access code. It is an error if a host is not a name or address,
// or if one other than this machine's loopback is named and no code is asked.
func New(page http.Handler, port int, opt Options) (*Door, error) {
	named, err := newHosts(opt.Hosts, port)
	if err != nil {
		return nil, err
	}
	if opt.Announce == nil {
		for _, name := range slices.Sorted(maps.Keys(named.names)) {
			if !loopback(name) {
				return nil, fmt.Errorf("door: host %q: other machines can reach it, so it needs an access code", name)
			}
		}
	}
	d := &Door{
		page:    page,
		hosts:   named,
		devices: devices{signedIn: map[digest]*visit{}},
		maxBody: cmp.Or(opt.MaxBody, DefaultMaxBody),
		uploads: maps.Clone(opt.Uploads),
		log:     opt.Log,
		now:     opt.Now,
	}
	if d.log == nil {
		d.log = func(string) {}
	}
	if d.now == nil {
		// Without its monotonic part: that stands still while a laptop sleeps,
		// and a code or a device must run out all the same.
		d.now = func() time.Time { return time.Now().Round(0) }
	}
	if opt.Announce != nil {
		d.lock = newLock(opt.Announce, d.log, d.now)
	}
	return d, nil
}

// ServeHTTP answers the request itself or hands it to the page.
func (d *Door) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	a := &answer{ResponseWriter: w, request: r}
	defer d.catch(a)
	switch {
	case !d.hosts.has(r):
		a.refuse(wrongHost(r))
	case !reads(r) && !sameOrigin(r):
		a.refuse(otherOrigin)
	case d.lock != nil && d.atDoor(a, r):
		// The door's own pages.
	case d.lock != nil && !d.signedIn(r):
		d.turnAway(a, r)
	case d.lock == nil && !address(r).IsLoopback():
		a.refuse(otherMachine)
	default:
		d.letIn(a, r)
	}
}

// letIn hands the request to the page.
func (d *Door) letIn(a *answer, r *http.Request) {
	if !a.limit(d.largest(r.URL.Path)) {
		a.refuseBody()
		return
	}
	d.page.ServeHTTP(a, r)
	a.finish()
}

// catch turns a panic of the page into an answer and one line of the log. A
// page that was under way is cut off, so that no browser takes it for whole.
func (d *Door) catch(a *answer) {
	fault := recover()
	switch fault {
	case nil:
		return
	case http.ErrAbortHandler: // the page asks for just that
		panic(fault)
	}
	d.log(fmt.Sprintf("door: %s %q: panic: %q", a.request.Method, a.request.URL.Path, fmt.Sprint(fault)))
	if a.began {
		panic(http.ErrAbortHandler)
	}
	clear(a.Header())
	a.refuse(ownFault)
}

// reads reports whether the request changes nothing.
func reads(r *http.Request) bool {
	return r.Method == http.MethodGet || r.Method == http.MethodHead
}

// address returns the address the request came from, the zero Addr if it is
// none of the Internet's. No header is asked: anybody can write one.
func address(r *http.Request) netip.Addr {
	from, err := netip.ParseAddrPort(r.RemoteAddr)
	if err != nil {
		return netip.Addr{}
	}
	return from.Addr().Unmap().WithZone("")
}
