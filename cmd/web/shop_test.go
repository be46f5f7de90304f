// Package web tests the bench page from its bad side: hostile requests, many
// writers at once, more than memory holds. Here it stands as the serve command
// puts it up, behind its door and on a real log.
package web

import (
	"bytes"
	"context"
	"errors"
	"io"
	"log"
	"net"
	"net/http"
	"strings"
	"sync"
	"testing"
	"time"

	"trueplait/cmd/workshop"
	"trueplait/data"
	"trueplait/data/demo"
	"trueplait/ingest"
	"trueplait/report/bench"
	"trueplait/report/bench/door"
)

// today is the day on which the tests are at the bench: after the demo's rows.
var today = time.Date(2025, 7, 1, 9, 30, 0, 0, time.UTC)

// Where the page is called.
const (
	host   = "127.0.0.1:8642"
	origin = "http://" + host
	port   = 8642
)

// upload is the largest body that brings files, as the serve command has it.
const upload = 33 << 20

// stage is the page of a small shop, and what is seen of it from behind.
type stage struct {
	http.Handler
	shop  *workshop.Bench
	lines *lines // what the page and the door say of faults
	close func() // the log
}

// newStage puts the page up on a log in memory with the demo's parts and
// products and its first rows.
func newStage(ctx context.Context, t testing.TB) *stage {
	t.Helper()
	log, err := data.Memory(ctx)
	if err != nil {
		t.Fatal(err)
	}
	return stageOn(ctx, t, log, port, firstRows(t))
}

// stageAt does it on a log in a file, for the port that the page is called by.
func stageAt(t testing.TB, path string, port int) *stage {
	t.Helper()
	log, err := data.Open(t.Context(), path, data.ReadWrite)
	if err != nil {
		t.Fatal(err)
	}
	return stageOn(t.Context(), t, log, port, firstRows(t))
}

// stageOn puts the page up on a log with the rows of files.
func stageOn(ctx context.Context, t testing.TB, file *data.Log, port int, files []workshop.Input) *stage {
	t.Helper()
	w, err := workshop.New(ctx, file, workshop.Options{Seed: 1, Clock: func() (time.Time, error) { return today, nil }})
	if err != nil {
		t.Fatal(err)
	}
	im, err := file.Begin(ctx, today)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := workshop.NewLoader(im, workshop.Taking{Read: ingest.Options{Today: today}}).Load(ctx, files); err != nil {
		t.Fatal(errors.Join(err, im.Rollback()))
	}
	if err := im.Commit(ctx); err != nil {
		t.Fatal(err)
	}
	b, err := workshop.NewBench(ctx, w, workshop.BenchOptions{Name: "bench page", Save: true})
	if err != nil {
		t.Fatal(err)
	}
	s := &stage{shop: b, lines: &lines{}}
	if s.Handler, err = newDoor(ctx, s.shop, s.lines, port); err != nil {
		t.Fatal(err)
	}
	s.close = func() {
		var err error
		if w.Close(&err); err != nil {
			t.Error(err)
		}
	}
	return s
}

// firstRows are the first rows of each of the demo's files.
func firstRows(t testing.TB) []workshop.Input {
	t.Helper()
	var files []workshop.Input
	for _, name := range demoNames {
		files = append(files, workshop.Input{Name: name, Reader: bytes.NewReader(first(t, name))})
	}
	return files
}

// served serves a stage on an address of this machine, as the serve command does.
func served(t *testing.T, put func(port int) *stage) (s *stage, base string) {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	s = put(l.Addr().(*net.TCPAddr).Port)
	server := door.Server(s)
	ended := make(chan error, 1)
	go func() { ended <- server.Serve(door.Limit(l, door.MaxConns)) }()
	t.Cleanup(func() {
		if err := server.Shutdown(context.Background()); err != nil {
			t.Error(err)
		}
		if err := <-ended; !errors.Is(err, http.ErrServerClosed) {
			t.Error(err)
		}
		s.close()
	})
	return s, "http://" + l.Addr().String()
}

// demoNames are the demo's files.
var demoNames = []string{"parts.csv", "products.csv", "fills.csv", "checks.csv", "builds.csv"}

// first are the first rows of a file of the demo; a list of parts is whole.
func first(t testing.TB, name string) []byte {
	t.Helper()
	text, err := demo.Files.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if name == "parts.csv" {
		return text
	}
	const rows = 24
	all := bytes.SplitAfter(text, []byte("\n"))
	return bytes.Join(all[:min(1+rows, len(all))], nil)
}

// newDoor is the page of a shop behind its door, on the address of this machine.
func newDoor(ctx context.Context, shop bench.Shop, out io.Writer, port int) (http.Handler, error) {
	said := log.New(out, "", 0)
	page := bench.New(shop, bench.Options{Log: said, Context: ctx, Now: time.Now})
	return door.New(page, port, door.Options{
		Uploads: map[string]int64{"/files": upload, "/files/take": door.DefaultMaxBody},
		Log:     func(line string) { said.Println(line) },
	})
}

// lines are what was logged.
type lines struct {
	sync.Mutex
	text strings.Builder
}

func (l *lines) Write(p []byte) (int, error) {
	l.Lock()
	defer l.Unlock()
	return l.text.Write(p)
}

// take returns what was logged since the last take.
func (l *lines) take() string {
	l.Lock()
	defer l.Unlock()
	defer l.text.Reset()
	return l.text.String()
}
