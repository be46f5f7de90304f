package door

import (
	"net/http"
	"strings"
)

// sameOrigin reports whether a request was sent by a page of the bench
// itself. r.Host is known to be right. Two headers tell, and no script can
// write either:
//
//   - Origin must be the scheme, host and port of this request.
//   - Sec-Fetch-Site must be same-origin; none (the maker's own doing, as a
//     reload can be) will do where Origin is right. Browsers leave it out
//     where neither TLS nor loopback vouches for the connection.
//
// Each that is there must be right, and one must be there.
//
// http.CrossOriginProtection is for public sites and more lenient: it lets
// requests pass that have neither header, does not compare the scheme, does
// not look at Origin where Sec-Fetch-Site satisfies it, and always passes
// OPTIONS. All that it refuses is refused here.
func sameOrigin(r *http.Request) bool {
	scheme := "http"
	if r.TLS != nil {
		scheme = "https"
	}
	origin := r.Header.Get("Origin")
	if origin != "" && !strings.EqualFold(origin, scheme+"://"+r.Host) {
		return false
	}
	switch r.Header.Get("Sec-Fetch-Site") {
	case "same-origin":
		return true
	case "none", "":
		return origin != ""
	default:
		return false
	}
}
