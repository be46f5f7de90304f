package door

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"time"
)

// Where the door itself answers.
const (
	doorPath = "/door"
	outPath  = "/door/out"
)

// maxForm is the largest form in bytes that the door reads from strangers.
const maxForm = 4_000

// atDoor answers requests to the door's own paths and reports whether this
// was one.
func (d *Door) atDoor(a *answer, r *http.Request) bool {
	switch {
	case r.URL.Path == doorPath && reads(r):
		d.showForm(a, r)
	case r.URL.Path == doorPath && r.Method == http.MethodPost:
		d.signIn(a, r)
	case r.URL.Path == outPath && r.Method == http.MethodPost:
		d.signOut(a, r)
	case r.URL.Path == doorPath:
		a.Header().Set("Allow", "GET, HEAD, POST")
		a.refuse(wrongMethod)
	case r.URL.Path == outPath:
		a.Header().Set("Allow", "POST")
		a.refuse(wrongMethod)
	default:
		return false
	}
	return true
}

// showForm shows the form. A code in the address, as the terminal's QR code
// has it, is filled in and not tried: browsers fetch addresses ahead, and that
// must not use the code up.
func (d *Door) showForm(a *answer, r *http.Request) {
	query := r.URL.Query()
	next := sameSite(query.Get("next"))
	if d.signedIn(r) {
		a.show(http.StatusOK, welcome(next))
		return
	}
	f := form{Code: query.Get("code"), Next: next, Open: overheard(r)}
	if d.lock.refresh() {
		f.Code, f.Trouble = "", "The last code had run out. The terminal shows a new one now."
	}
	a.show(http.StatusOK, signInView(f))
}

// overheard reports whether what is sent can be read on the way.
func overheard(r *http.Request) bool { return r.TLS == nil && !address(r).IsLoopback() }

// signIn tries the code that was sent.
func (d *Door) signIn(a *answer, r *http.Request) {
	if !a.limit(maxForm) {
		a.refuse(largeForm)
		return
	}
	if err := r.ParseForm(); err != nil {
		var over *http.MaxBytesError
		if errors.As(err, &over) {
			a.refuse(largeForm)
			return
		}
		a.refuse(badForm)
		return
	}
	f := form{Code: r.PostForm.Get("code"), Next: sameSite(r.PostForm.Get("next")), Open: overheard(r)}
	how, wait := d.lock.open(f.Code, address(r))
	switch how {
	case opened:
		d.devices.forget(d.token(r)) // the same device again
		d.setCookie(a, r, d.devices.admit(d.now()), deviceLife)
		d.log(fmt.Sprintf("door: a device at %s signed in", address(r)))
		http.Redirect(a, r, f.Next, http.StatusSeeOther)
	case stale:
		f.Code, f.Trouble = "", "That code had run out. The terminal shows a new one now."
		a.show(http.StatusForbidden, signInView(f))
	case tooMany:
		a.Header().Set("Retry-After", fmt.Sprint(seconds(wait)))
		a.refuse(tooManyTries(wait))
	default:
		f.Trouble = "That is not the code. Look at the newest one in the terminal: each works once."
		a.show(http.StatusForbidden, signInView(f))
	}
}

// signOut forgets the device.
func (d *Door) signOut(a *answer, r *http.Request) {
	d.devices.forget(d.token(r))
	d.setCookie(a, r, "", -time.Second)
	http.Redirect(a, r, doorPath, http.StatusSeeOther)
}

// turnAway sends a device that is not signed in to the door, and back to
// where it wanted to go from there. What else than a page was asked for, or
// was sent, is refused.
func (d *Door) turnAway(a *answer, r *http.Request) {
	if !reads(r) || !strings.Contains(r.Header.Get("Accept"), "text/html") {
		a.refuse(notSignedIn)
		return
	}
	to := url.URL{Path: doorPath}
	if next := sameSite(r.URL.RequestURI()); next != "/" {
		to.RawQuery = url.Values{"next": {next}}.Encode()
	}
	http.Redirect(a, r, to.String(), http.StatusSeeOther)
}

// signedIn reports whether the request comes from a device that is signed in.
func (d *Door) signedIn(r *http.Request) bool {
	return d.devices.knows(d.token(r), d.now())
}

// token returns what the device has to show, "" if nothing.
func (d *Door) token(r *http.Request) string {
	c, err := r.Cookie(d.cookieName(r))
	if err != nil {
		return ""
	}
	return c.Value
}

// setCookie gives the device its token for a while; a negative while takes
// it away. Browsers send the cookie with requests from the bench's own pages
// only, and show it to no script.
func (d *Door) setCookie(a *answer, r *http.Request, token string, life time.Duration) {
	http.SetCookie(a, &http.Cookie{
		Name:     d.cookieName(r),
		Value:    token,
		Path:     "/",
		MaxAge:   int(life.Seconds()),
		Secure:   r.TLS != nil,
		HttpOnly: true,
		SameSite: http.SameSiteStrictMode,
	})
}

// cookieName holds the port, because cookies are shared by all ports of a
// machine and two benches may be open. With __Host- in front browsers accept
// the cookie under TLS only, from this very host.
func (d *Door) cookieName(r *http.Request) string {
	name := "bench-" + d.hosts.port
	if r.TLS != nil {
		name = "__Host-" + name
	}
	return name
}

// sameSite returns where on the bench next leads, "/" if it leads anywhere
// else or to the door itself. It is put together anew from path and query, so
// that nothing a browser could read as the name of a host is left: //host,
// /\host, or a full address.
func sameSite(next string) string {
	u, err := url.Parse(next)
	if err != nil || u.Scheme != "" || u.Host != "" || !strings.HasPrefix(u.Path, "/") ||
		strings.HasPrefix(u.Path, "//") || strings.Contains(u.Path, `\`) ||
		u.Path == doorPath || u.Path == outPath {
		return "/"
	}
	return (&url.URL{Path: u.Path, RawPath: u.RawPath, RawQuery: u.RawQuery}).String()
}
