package door

import (
	"fmt"
	"net/http"
	"net/netip"
	"net/url"
	"regexp"
	"strconv"
	"strings"
)

// hosts is what the bench may be called. A page elsewhere can let its own
// name point at this machine and then read and write here as if it were at
// home (DNS rebinding), but the browser still sends that name as Host.
type hosts struct {
	names map[string]bool // canonical
	port  string
}

// hostName is a name of a machine. Browsers send international names in
// their ASCII form.
var hostName = regexp.MustCompile(`^[a-z0-9_-]+(\.[a-z0-9_-]+)*$`)

func newHosts(names []string, port int) (hosts, error) {
	if port < 1 || port > 65535 {
		return hosts{}, fmt.Errorf("door: port %d: must be from 1 to 65535", port)
	}
	if len(names) == 0 {
		names = []string{"localhost", "127.0.0.1", "::1"}
	}
	h := hosts{names: map[string]bool{}, port: strconv.Itoa(port)}
	for _, name := range names {
		c := canonical(name)
		if _, err := netip.ParseAddr(c); err != nil && !hostName.MatchString(c) {
			return hosts{}, fmt.Errorf("door: host %q: give the name or address alone, such as bench.local or 192.168.1.20", name)
		}
		h.names[c] = true
	}
	return h, nil
}

// has reports whether the request calls the bench by one of its names, with
// its port. Browsers leave out port 80, and 443 under TLS.
func (h hosts) has(r *http.Request) bool {
	called := url.URL{Host: r.Host}
	port := called.Port()
	switch {
	case port != "":
	case r.TLS != nil:
		port = "443"
	default:
		port = "80"
	}
	return port == h.port && h.names[canonical(called.Hostname())]
}

// canonical returns the one spelling of a name or address.
func canonical(host string) string {
	if addr, err := netip.ParseAddr(host); err == nil {
		return addr.String()
	}
	return strings.ToLower(host)
}

// loopback reports whether a canonical host is always this machine itself.
func loopback(host string) bool {
	if addr, err := netip.ParseAddr(host); err == nil {
		return addr.IsLoopback()
	}
	return host == "localhost"
}
