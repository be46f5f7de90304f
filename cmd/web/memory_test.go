package web

import (
	"context"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime/debug"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"trueplait/cmd/workshop"
	"trueplait/report/bench/door"
)

// childLog names the log that this program is to serve instead of testing.
const childLog = "TRUEPLAIT_WEB_CHILD"

func TestMain(m *testing.M) {
	if path := os.Getenv(childLog); path != "" {
		if err := child(path); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// child serves the page on a log and says at which address, until its input
// ends.
func child(path string) (err error) {
	ctx := context.Background()
	w, err := workshop.Make(ctx, path, workshop.Options{Seed: 1, Clock: func() (time.Time, error) { return today, nil }})
	if err != nil {
		return err
	}
	defer w.Close(&err)
	b, err := workshop.NewBench(ctx, w, workshop.BenchOptions{Name: "bench page", Path: path, Save: true})
	if err != nil {
		return err
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return err
	}
	page, err := newDoor(ctx, b, os.Stderr, l.Addr().(*net.TCPAddr).Port)
	if err != nil {
		return err
	}
	server := door.Server(page)
	go server.Serve(door.Limit(l, door.MaxConns))
	fmt.Println("http://" + l.Addr().String())
	if _, err := io.Copy(io.Discard, os.Stdin); err != nil {
		return err
	}
	return server.Shutdown(ctx)
}

// peak is the most memory in bytes that a process had resident.
func peak(t *testing.T, pid int) int {
	t.Helper()
	status, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	if err != nil {
		const need = "needs /proc, as on Linux, to see the memory of a process"
		if os.Getenv("TRUEPLAIT_NEED") == "all" {
			t.Fatal(need)
		}
		t.Skip(need)
	}
	found := regexp.MustCompile(`VmHWM:\s+(\d+) kB`).FindSubmatch(status)
	if found == nil {
		t.Fatalf("no VmHWM in %s", status)
	}
	kB, err := strconv.Atoi(string(found[1]))
	if err != nil {
		t.Fatal(err)
	}
	return kB * 1000
}

// raced reports whether this program looks for races, which takes several times
// the memory.
func raced() bool {
	info, _ := debug.ReadBuildInfo()
	return info != nil && slices.Contains(info.Settings, debug.BuildSetting{Key: "-race", Value: "true"})
}

// Whoever is let in cannot use up the machine's memory: not with files at the
// limit from many sides at once, nor with thousands of empty ones, nor with
// reports while rows are saved.
func TestMemory(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.duckdb")
	stageAt(t, path, port).close()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), childLog+"="+path)
	cmd.Stderr = os.Stderr
	in, err := cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	defer cmd.Process.Kill()
	address := make([]byte, 100)
	n, err := out.Read(address)
	if err != nil {
		t.Fatal(err)
	}
	c := &client{base: strings.TrimSpace(string(address[:n]))}
	c.Transport = &http.Transport{DisableKeepAlives: true}
	c.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }

	rest := peak(t, cmd.Process.Pid)
	large, kind := multipartOf("large.csv", []byte("Nothing known\n"+strings.Repeat("x,", 15<<20)))
	empty := strings.Repeat("--limit\r\nContent-Disposition: form-data; name=file; filename=x\r\n\r\n\r\n", 400_000)
	var all sync.WaitGroup
	for i := range 24 {
		all.Go(func() {
			body, want := large, http.StatusSeeOther
			if i%4 == 0 {
				body, want = empty, http.StatusRequestEntityTooLarge
			}
			got, err := c.post(t.Context(), "/files", kind, body)
			if err != nil || got.status != want {
				t.Errorf("upload %d: status %d, %v, want %d", i, got.status, err, want)
			}
		})
	}
	for i := range 8 {
		all.Go(func() {
			for _, request := range [][2]string{
				{"/report", ""},
				{"/cord", form("check", fmt.Sprintf("X%d", i), "strand_batch", "NC01", "checked_length", "5 m", "checked_mass", "24.6 g")},
			} {
				if got, err := c.post(t.Context(), request[0], formType, request[1]); err != nil || got.status != http.StatusSeeOther {
					t.Errorf("%s: status %d, %v", request[0], got.status, err)
				}
			}
		})
	}
	all.Wait()
	const most = 600e6 // 64 MB wait to be imported, two times 33 MB arrive; the log's own memory, and what is garbage
	if got := peak(t, cmd.Process.Pid); got > most && !raced() {
		t.Errorf("%d MB of memory at the most, want %d", got/1e6, int(most/1e6))
	} else {
		t.Logf("%d MB of memory at the most, %d at rest", got/1e6, rest/1e6)
	}
	in.Close()
	if err := cmd.Wait(); err != nil {
		t.Errorf("the page ended with %v", err)
	}
}
