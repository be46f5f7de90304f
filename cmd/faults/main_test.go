package faults

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// program is the path of the program under test, built by TestMain.
var program string

func TestMain(m *testing.M) {
	os.Exit(func() int {
		dir, err := os.MkdirTemp("", "faults")
		if err != nil {
			fmt.Fprintln(os.Stderr, err)
			return 1
		}
		defer os.RemoveAll(dir)
		// Other users start it too.
		if err := os.Chmod(dir, 0o755); err != nil {
			fmt.Fprintln(os.Stderr, err)
			return 1
		}
		program = filepath.Join(dir, "trueplait")
		if out, err := exec.Command("go", "build", "-o", program, "trueplait/cmd/trueplait").CombinedOutput(); err != nil {
			fmt.Fprintf(os.Stderr, "go build: %v\n%s", err, out)
			return 1
		}
		return m.Run()
	}())
}

// result is what a finished command said.
type result struct {
	stdout, stderr string
	code           int // -1: killed
}

// command is the program with arguments, run in a folder on 2025-07-01. It
// knows nothing else of this machine.
func command(dir string, args ...string) *exec.Cmd {
	cmd := exec.Command(program, args...)
	cmd.Dir = dir
	cmd.Env = []string{"SOURCE_DATE_EPOCH=1751328000", "PATH=" + os.Getenv("PATH")}
	return cmd
}

// finish runs a command to its end.
func finish(t *testing.T, cmd *exec.Cmd) result {
	t.Helper()
	var out, errs bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &errs
	if err := cmd.Run(); err != nil && cmd.ProcessState == nil {
		t.Fatal(err)
	}
	return result{out.String(), errs.String(), cmd.ProcessState.ExitCode()}
}

// mustRun runs the program where nothing may go wrong.
func mustRun(t *testing.T, dir string, args ...string) result {
	t.Helper()
	r := finish(t, command(dir, args...))
	if r.code != 0 {
		t.Fatalf("trueplait %s: exit code %d\n%s", strings.Join(args, " "), r.code, r.stderr)
	}
	return r
}

// need skips a test for want of something, or fails it where nothing may be
// skipped.
func need(t *testing.T, what string) {
	t.Helper()
	if os.Getenv("TRUEPLAIT_NEED") == "all" {
		t.Fatal("needs " + what)
	}
	t.Skip("needs " + what)
}

// needCommand makes sure that a command is there.
func needCommand(t *testing.T, name, from string) {
	t.Helper()
	if _, err := exec.LookPath(name); err != nil {
		need(t, fmt.Sprintf("%s (Debian package %s): %v", name, from, err))
	}
}

// needRoot makes sure that this process may mount and become somebody else.
func needRoot(t *testing.T) {
	t.Helper()
	if os.Geteuid() != 0 {
		need(t, "root, to mount a small disk or to become another user")
	}
}
