package main

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"io"
	"log"
	"net"
	"net/http"
	"os/exec"
	"runtime"
	"strings"
	"time"

	"trueplait/cmd/workshop"
	"trueplait/data"
	"trueplait/data/postgres"
	"trueplait/report/bench"
	"trueplait/report/bench/door"
)

// serveCmd is the bench page.
type serveCmd struct {
	Listen string `default:"${listen}" placeholder:"ADDR" help:"Address and port of the page (default: ${listen}, this machine only). Another address, such as 0.0.0.0, lets phones in, with an access code."`
	Open   bool   `help:"Open the page in this machine's browser."`
	Cert   string `placeholder:"FILE" help:"TLS certificate (PEM), so that nobody on the network can read along; needs --key."`
	Key    string `placeholder:"FILE" help:"Its private key (PEM)."`
}

// defaultListen is the page's address where none is asked for.
const defaultListen = "127.0.0.1:8642"

// Help is the worked example.
func (serveCmd) Help() string {
	return `Example: trueplait serve --listen 0.0.0.0

The bench page, for this machine's browser or a phone propped on the vice: plan
a build, finish it with three numbers, log test fills and cord checks, see the
factors, the promise and the report. While it runs it holds the log: do there
what other commands would do, or stop it with Ctrl-C first. Only trueplait
backup works meanwhile, through the socket LOG.page beside the log.

A log on a server is not held: other programs and other pages may write to it
meanwhile. What they save shows here after the next row that is saved here.

On an address of the network nobody comes in without the access code printed
here, which works once. Without --cert and --key nothing is encrypted: use it on
a network whose other users you trust.`
}

// Run serves until it is stopped.
func (c *serveCmd) Run(p *program) (err error) {
	if (c.Cert == "") != (c.Key == "") {
		return usagef("--cert and --key belong together: name both files")
	}
	at, err := newAddress(c.Listen, c.Cert != "")
	if err != nil {
		return usageError{err}
	}
	listener, err := net.Listen("tcp", at.listen())
	if err != nil {
		return fmt.Errorf("--listen %s: %w: another program may use that port; name a free one, such as %s", c.Listen, reason(err), at.next())
	}
	defer listener.Close()
	listener = door.Limit(listener, door.MaxConns)
	if c.Cert != "" { // around the ceiling, so that the server sees that it is encrypted
		pair, err := tls.LoadX509KeyPair(c.Cert, c.Key)
		if err != nil {
			return fmt.Errorf("--cert %s, --key %s: %w", c.Cert, c.Key, err)
		}
		listener = tls.NewListener(listener, &tls.Config{Certificates: []tls.Certificate{pair}, MinVersion: tls.VersionTLS12})
	}
	w, err := workshop.Make(p.ctx, p.log, workshop.Options{Seed: 1, Clock: now, Program: versionText()})
	if err != nil {
		return err
	}
	defer w.Close(&err)
	shop, err := workshop.NewBench(p.ctx, w, workshop.BenchOptions{Name: "bench page", Path: p.logName(), Save: true})
	if err != nil {
		return err
	}
	guarded, err := c.door(p, at, shop)
	if err != nil {
		return err
	}
	hint := "stop it with Ctrl-C"
	if !postgres.Is(p.log) {
		hint += "; until then other commands but backup cannot use the log"
		if side, noDoor := openSideDoor(p.ctx, p.log, shop.BackupTo); noDoor != nil {
			fmt.Fprintf(p.stderr, "%v: the command backup cannot reach this page; download a backup from its Files page\n", noDoor)
		} else {
			defer func() { err = errors.Join(err, side.close()) }()
		}
	}
	if at.loopback() {
		fmt.Fprintf(p.stdout, "bench page: %s\n", at.url())
	}
	fmt.Fprintln(p.stderr, hint)
	if c.Open {
		if err := openBrowser(at.url()); err != nil {
			fmt.Fprintf(p.stderr, "the browser could not be opened (%v): open the address yourself\n", err)
		}
	}
	return serve(p.ctx, door.Server(guarded), listener)
}

// upload is the largest body of a request that brings files.
const upload = 33 << 20

// door puts the page behind its door.
func (c *serveCmd) door(p *program, at address, shop bench.Shop) (http.Handler, error) {
	out := log.New(p.stderr, "bench page: ", log.Ltime)
	opt := door.Options{
		Hosts:   at.hosts,
		Uploads: map[string]int64{"/files": upload, "/files/take": door.DefaultMaxBody},
		Log:     func(line string) { out.Println(line) },
	}
	if !at.loopback() {
		opt.Announce = func(code string) { announce(p.stdout, at, code) }
		if c.Cert == "" {
			fmt.Fprintln(p.stderr, "not encrypted: on an open network others can read along; --cert and --key prevent that")
		}
	}
	return door.New(bench.New(shop, bench.Options{Log: out, Door: !at.loopback(), Context: p.ctx, Now: time.Now,
		InWords: func(err error) error { return data.InWords(p.log, err) }}), at.port, opt)
}

// announce prints where the page is, with the code that lets a device in.
func announce(w io.Writer, at address, code string) {
	url := at.url() + "door?code=" + strings.ReplaceAll(code, " ", "")
	fmt.Fprintf(w, "\nbench page: %s\naccess code: %s (works once, for ten minutes)\n", at.url(), code)
	if picture, err := qrCode(url); err == nil {
		fmt.Fprintf(w, "\n%s\n", picture)
	}
}

// patience is how long what was begun may take when the page is stopped: longer
// than a save takes.
const patience = 10 * time.Second

// serve answers requests until the context ends, and finishes those begun.
func serve(ctx context.Context, s *http.Server, l net.Listener) error {
	ended := make(chan error, 1)
	go func() { ended <- s.Serve(l) }()
	select {
	case err := <-ended:
		return err
	case <-ctx.Done():
	}
	last, cancel := context.WithTimeout(context.WithoutCancel(ctx), patience)
	defer cancel()
	err := s.Shutdown(last)
	if errors.Is(err, context.DeadlineExceeded) {
		err = s.Close()
	}
	return err
}

// reason is what is wrong with an address, without the address.
func reason(err error) error {
	var op *net.OpError
	if errors.As(err, &op) {
		return op.Err
	}
	return err
}

// openBrowser asks the system to open a page.
func openBrowser(url string) error {
	switch runtime.GOOS {
	case "darwin":
		return exec.Command("open", url).Start()
	case "windows":
		return exec.Command("rundll32", "url.dll,FileProtocolHandler", url).Start()
	}
	return exec.Command("xdg-open", url).Start()
}
