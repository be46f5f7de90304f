package door

import (
	"net/http"
	"net/url"
)

// policy is the content security policy of pages that state none: everything
// from the bench itself, no script or style inside the page.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self'; " +
	"connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

// setHeaders adds what is not set yet.
//
// Strict-Transport-Security is left out on purpose, also under TLS. It would
// bind the name of the maker's machine on all its ports, so other pages there
// and the bench without a certificate could no longer be opened, and a browser
// would let nobody past the warning of a certificate made at home (RFC 6797,
// sections 8.3 and 12.1). For addresses browsers ignore it (8.1.1). There is
// nothing to gain either: under TLS this port speaks nothing else, and the
// cookie is Secure.
func setHeaders(h http.Header, r *http.Request) {
	set := func(name, value string) {
		if _, ok := h[name]; !ok {
			h.Set(name, value)
		}
	}
	set("Content-Security-Policy", policy)
	set("X-Content-Type-Options", "nosniff")
	// Not no-referrer: browsers would then send "Origin: null" with the bench's own forms.
	set("Referrer-Policy", "same-origin")
	set("Cross-Origin-Resource-Policy", "same-origin")
	set("Permissions-Policy", "camera=(), geolocation=(), microphone=()")
	set("Cache-Control", "no-store")
	// Browsers send no chunks. With a length beside, which net/http keeps to
	// itself, what follows may be part of this request to a proxy in front,
	// so that nothing may follow (RFC 9112, section 6.3).
	if r.TransferEncoding != nil {
		set("Connection", "close")
	}
	// Elsewhere browsers ignore it and complain on the console.
	called := url.URL{Host: r.Host}
	if r.TLS != nil || loopback(canonical(called.Hostname())) {
		set("Cross-Origin-Opener-Policy", "same-origin")
	}
}
