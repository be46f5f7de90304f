package main

import (
	"bufio"
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"io"
	"math/big"
	"net"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// With a certificate the page knows that it is encrypted: its own forms are
// taken, and what it leaves in the browser is never sent in the open.
func TestServe_Certificate(t *testing.T) {
	cert, key := selfSigned(t)
	free, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	address := free.Addr().String()
	free.Close()
	ctx, stop := context.WithCancel(t.Context())
	out, said := io.Pipe()
	ended := make(chan int, 1)
	go func() {
		ended <- run(ctx, []string{"serve", "--log", filepath.Join(t.TempDir(), "shop.duckdb"), "--listen", address, "--cert", cert, "--key", key},
			strings.NewReader(""), said, io.Discard)
	}()
	defer func() {
		stop()
		if code := <-ended; code != 0 {
			t.Errorf("the server ended with exit code %d", code)
		}
	}()
	if line, err := bufio.NewReader(out).ReadString('\n'); err != nil || line != "bench page: https://"+address+"/\n" {
		t.Fatalf("the server says %q, %v", line, err)
	}

	transport := &http.Transport{TLSClientConfig: &tls.Config{InsecureSkipVerify: true}}
	defer transport.CloseIdleConnections()
	form := url.Values{"maker": {"Arlo"}, "units": {"metric"}}
	r, err := http.NewRequest(http.MethodPost, "https://"+address+"/maker", strings.NewReader(form.Encode()))
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Origin", "https://"+address)
	got, err := transport.RoundTrip(r)
	if err != nil {
		t.Fatal(err)
	}
	got.Body.Close()
	cookies := got.Cookies()
	if got.StatusCode != http.StatusSeeOther || len(cookies) != 1 || !cookies[0].Secure {
		t.Errorf("a form of the page's own: status %d, cookies %v, want 303 and one that is Secure", got.StatusCode, cookies)
	}
}

// selfSigned writes a certificate for this machine, made at home, and its key.
func selfSigned(t *testing.T) (cert, key string) {
	t.Helper()
	private, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	template := &x509.Certificate{SerialNumber: big.NewInt(1), NotAfter: time.Now().Add(time.Hour), IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)}}
	public, err := x509.CreateCertificate(rand.Reader, template, template, private.Public(), private)
	if err != nil {
		t.Fatal(err)
	}
	secret, err := x509.MarshalPKCS8PrivateKey(private)
	if err != nil {
		t.Fatal(err)
	}
	write := func(name, kind string, bytes []byte) string {
		path := filepath.Join(t.TempDir(), name)
		if err := os.WriteFile(path, pem.EncodeToMemory(&pem.Block{Type: kind, Bytes: bytes}), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	return write("cert.pem", "CERTIFICATE", public), write("key.pem", "PRIVATE KEY", secret)
}
