package faults

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// What is written reaches the disk in an order that a loss of power cannot turn
// into a loss of rows, provided that the disk keeps what it says it has: see
// the package comment.
func TestSyncOrder(t *testing.T) {
	needCommand(t, "strace", "strace")
	for _, c := range []struct {
		name string
		next func(*testing.T, shop, int) change
	}{
		{"import", importing(200)}, {"fill", filling}, {"edit", editing}, {"calibrate", calibrating},
		{"plan", planning}, {"export", exporting}, {"report", reporting}, {"backup", backingUp},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			s := newShop(t)
			calls := s.calls(t, c.next(t, s, 1).args)
			checkOrder(t, s, calls)
		})
	}
}

// call is a system call that changed a file of the shop, or its folder.
type call struct {
	name string // write, pwrite64, fsync, fdatasync, rename…, link…, unlink
	path string // the file; of a rename or link the old name
	to   string // of a rename or link, the new name
}

// checkOrder makes sure that
//   - nothing is said on standard output before all that was written is synced,
//     but for the temporary files that a rename will show;
//   - a file is synced before it gets its name, and its folder after that;
//   - the write-ahead log goes only when what it held is synced in the log.
func checkOrder(t *testing.T, s shop, calls []call) {
	t.Helper()
	dirty := map[string]bool{}
	answered, synced := false, 0
	for _, c := range calls {
		switch {
		case c.path == s.path("answer"):
			answered = true
			for path := range dirty {
				t.Errorf("the answer was given before %s was synced", filepath.Base(path))
			}
		case strings.HasSuffix(c.name, "sync"):
			delete(dirty, c.path)
			synced++
		case strings.Contains(c.name, "write"):
			dirty[c.path] = true
		case c.to != "":
			if dirty[c.path] {
				t.Errorf("%s got its name before it was synced", filepath.Base(c.path))
			}
			dirty[filepath.Dir(c.to)] = true
		case c.name == "unlink":
			delete(dirty, c.path)
			if log, ok := strings.CutSuffix(c.path, ".wal"); ok && dirty[log] {
				t.Errorf("%s was removed before the log was synced", filepath.Base(c.path))
			}
		}
	}
	for path := range dirty {
		t.Errorf("%s was never synced", path)
	}
	if !answered || synced == 0 {
		t.Errorf("%d calls, %d syncs, answered: %v: not followed to its end", len(calls), synced, answered)
	}
}

// calls runs a command of the shop and lists what it did to the shop's files,
// in order: a sync when it is done, everything else when it begins.
func (s shop) calls(t *testing.T, args []string) (out []call) {
	t.Helper()
	strace, err := exec.LookPath("strace")
	if err != nil {
		t.Fatal(err)
	}
	answer, err := os.Create(s.path("answer"))
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Close()
	cmd := command(s.dir, append(args, "--log", "shop.duckdb")...)
	cmd.Path = strace
	cmd.Args = append([]string{"strace", "-f", "-y", "-s", "0", "-o", s.path("trace"), "-e",
		"trace=write,pwrite64,writev,pwritev,fsync,fdatasync,rename,renameat,renameat2,link,linkat,unlink", program}, cmd.Args[1:]...)
	cmd.Stdout = answer
	var errs strings.Builder
	cmd.Stderr = &errs
	if err := cmd.Run(); err != nil {
		need(t, fmt.Sprintf("the right to trace a process: %v %s", err, errs.String()))
	}
	trace, err := os.ReadFile(s.path("trace"))
	if err != nil {
		t.Fatal(err)
	}
	begun := map[string]string{} // calls that another process interrupted in the trace, by process
	for line := range strings.Lines(string(trace)) {
		process, text, _ := strings.Cut(strings.TrimSpace(line), " ")
		text = strings.TrimSpace(text)
		interrupted := strings.HasSuffix(text, "<unfinished ...>")
		sync := strings.HasPrefix(text, "f") // fsync, fdatasync
		switch {
		case interrupted && sync:
			begun[process] = text
			continue
		case strings.HasPrefix(text, "<... f"):
			text = begun[process]
		}
		if c, ok := s.parse(text); ok {
			out = append(out, c)
		}
	}
	return out
}

var (
	onOpenFile = regexp.MustCompile(`^(\w+)\(\d+<(/[^>]+)>`)
	unlinking  = regexp.MustCompile(`^(unlink)\("([^"]+)"`)
	renaming   = regexp.MustCompile(`^(rename\w*|link\w*)\((?:AT_FDCWD<[^>]*>, )?"([^"]+)", (?:AT_FDCWD<[^>]*>, )?"([^"]+)"`)
)

// parse reads one line of the trace; false: it is of no file of the shop that
// holds anything.
func (s shop) parse(text string) (c call, ok bool) {
	for _, form := range []*regexp.Regexp{onOpenFile, unlinking, renaming} {
		m := form.FindStringSubmatch(text)
		if m == nil {
			continue
		}
		c.name, c.path = m[1], s.absolute(m[2])
		if len(m) > 3 {
			c.to = s.absolute(m[3])
		}
		scratch := strings.Contains(c.path, ".room-") // zeros, to see whether there is room
		return c, !scratch && (c.path == s.dir || strings.HasPrefix(c.path, s.dir+"/"))
	}
	return c, false
}

func (s shop) absolute(path string) string {
	if filepath.IsAbs(path) {
		return filepath.Clean(path)
	}
	return s.path(path)
}
