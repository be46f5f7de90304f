package main

import (
	"slices"
	"strings"
	"testing"
)

func TestNewAddress(t *testing.T) {
	for _, tt := range []struct {
		text   string
		listen string
		url    string // "": one of the machine's own addresses
		local  bool
	}{
		{"127.0.0.1:8642", "127.0.0.1:8642", "http://127.0.0.1:8642/", true},
		{"localhost", "localhost:8642", "http://localhost:8642/", true},
		{"[::1]:9000", "[::1]:9000", "http://[::1]:9000/", true},
		{"::1", "[::1]:8642", "http://[::1]:8642/", true},
		{"192.0.2.7", "192.0.2.7:8642", "http://192.0.2.7:8642/", false},
		{"bench.example:80", "bench.example:80", "http://bench.example:80/", false},
		{":8700", ":8700", "", false},
		{"0.0.0.0", "0.0.0.0:8642", "", false},
		{"[::]:8642", "[::]:8642", "", false},
	} {
		a, err := newAddress(tt.text, false)
		if err != nil {
			t.Errorf("newAddress(%q): %v", tt.text, err)
			continue
		}
		if a.listen() != tt.listen || a.loopback() != tt.local || tt.url != "" && a.url() != tt.url {
			t.Errorf("newAddress(%q) listens on %s, is %s, loopback %v; want %s, %s, %v", tt.text, a.listen(), a.url(), a.loopback(), tt.listen, tt.url, tt.local)
		}
		if tt.url == "" && (strings.Contains(a.url(), "0.0.0.0") || !slices.Contains(a.hosts, "127.0.0.1")) {
			t.Errorf("newAddress(%q) is shown as %s and answers to %q", tt.text, a.url(), a.hosts)
		}
	}
	for _, text := range []string{"127.0.0.1:0", "127.0.0.1:65536", "127.0.0.1:http", "[::1", "a:b:c:d"} {
		if a, err := newAddress(text, false); err == nil || !strings.Contains(err.Error(), text) {
			t.Errorf("newAddress(%q) = %+v, %v; want an error that quotes it", text, a, err)
		}
	}
	if a, err := newAddress("192.0.2.7", true); err != nil || a.url() != "https://192.0.2.7:8642/" {
		t.Errorf("with a certificate: %s, %v", a.url(), err)
	}
}
