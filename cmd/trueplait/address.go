package main

import (
	"fmt"
	"net"
	"net/netip"
	"os"
	"slices"
	"strconv"
	"strings"
)

// address is where the bench page is.
type address struct {
	host   string // as asked for; "": every address of the machine
	port   int
	hosts  []string // names and addresses by which browsers may call it; nil: this machine only
	scheme string
}

// newAddress reads HOST:PORT, HOST or :PORT.
func newAddress(text string, secure bool) (address, error) {
	a := address{scheme: "http"}
	if secure {
		a.scheme = "https"
	}
	_, port, err := net.SplitHostPort(defaultListen)
	if err != nil {
		return a, err
	}
	host := text
	if strings.HasPrefix(text, "[") && strings.HasSuffix(text, "]") {
		host = text[1 : len(text)-1]
	}
	if _, err := netip.ParseAddr(host); err != nil && strings.Contains(text, ":") {
		if host, port, err = net.SplitHostPort(text); err != nil {
			return a, fmt.Errorf("--listen %q: write an address and a port, such as 0.0.0.0:8642", text)
		}
	}
	if a.port, err = strconv.Atoi(port); err != nil || a.port < 1 || a.port > 65535 {
		return a, fmt.Errorf("--listen %q: %q is not a port from 1 to 65535", text, port)
	}
	a.host = host
	ip, err := netip.ParseAddr(host)
	switch {
	case host == "localhost" || err == nil && ip.IsLoopback():
		return a, nil
	case host == "" || err == nil && ip.IsUnspecified():
		a.hosts, err = ownHosts()
		return a, err
	}
	a.hosts = []string{host}
	return a, nil
}

// ownHosts are the addresses of this machine and its names, the ones that a
// phone can use first.
func ownHosts() ([]string, error) {
	found, err := net.InterfaceAddrs()
	if err != nil {
		return nil, err
	}
	var addresses []netip.Addr
	for _, f := range found {
		if n, ok := f.(*net.IPNet); ok {
			if ip, ok := netip.AddrFromSlice(n.IP); ok && !ip.IsLinkLocalUnicast() {
				addresses = append(addresses, ip.Unmap())
			}
		}
	}
	rank := func(ip netip.Addr) int {
		switch {
		case ip.IsLoopback():
			return 2
		case ip.Is4() && ip.IsPrivate():
			return 0
		}
		return 1
	}
	slices.SortStableFunc(addresses, func(a, b netip.Addr) int { return rank(a) - rank(b) })
	var out []string
	for _, ip := range addresses {
		out = append(out, ip.String())
	}
	if name, err := os.Hostname(); err == nil && name != "" {
		out = append(out, name, name+".local")
	}
	return append(out, "localhost"), nil
}

// loopback reports whether only this machine reaches the page.
func (a address) loopback() bool { return a.hosts == nil }

// listen is the address in the form of package net.
func (a address) listen() string { return net.JoinHostPort(a.host, strconv.Itoa(a.port)) }

// url is the page's address for a browser.
func (a address) url() string {
	host := a.host
	if !a.loopback() {
		host = a.hosts[0]
	}
	return fmt.Sprintf("%s://%s/", a.scheme, net.JoinHostPort(host, strconv.Itoa(a.port)))
}

// next is the same address with the next port.
func (a address) next() string { return net.JoinHostPort(a.host, strconv.Itoa(a.port%65535+1)) }
