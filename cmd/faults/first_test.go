package faults

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

// A kill at each of the first writes of a new log leaves nothing that the next
// command stumbles over: the log is not there, or it is whole.
func TestFirstWritesKilled(t *testing.T) {
	needCommand(t, "strace", "strace")
	killed := 0
	for call, times := range map[string]int{"pwrite64": 4, "fsync": 2, "linkat": 1, "unlinkat": 1} {
		for when := 1; when <= times; when++ {
			dir := t.TempDir()
			fills := []byte("fill,date,core_batch,filled_length_in,shot_mass_g,predicted_shot_g\nF1,2025-06-01,C1,6,12.1,12\n")
			if err := os.WriteFile(filepath.Join(dir, "fills.csv"), fills, 0o600); err != nil {
				t.Fatal(err)
			}
			if out := finish(t, killedAt(t, call, when, command(dir, "import", "fills.csv"))); out.code != 0 {
				killed++
			}
			if out := finish(t, command(dir, "import", "fills.csv")); out.code != 0 {
				t.Errorf("killed at %s number %d, the next import exits %d: %s", call, when, out.code, out.stderr)
			}
			if out := finish(t, command(dir, "factors")); out.code != 0 {
				t.Errorf("killed at %s number %d, factors exit %d: %s", call, when, out.code, out.stderr)
			}
		}
	}
	if killed < 6 {
		t.Errorf("only %d of the imports were killed", killed)
	}
	t.Logf("%d imports killed", killed)
}

// A kill where the demo's first file, or its log, has no name yet leaves nothing
// that the next demo in that folder is refused for.
func TestDemoKilled(t *testing.T) {
	needCommand(t, "strace", "strace")
	dir := t.TempDir()
	for _, call := range []string{"fsync", "renameat", "linkat"} {
		if out := finish(t, killedAt(t, call, 1, command(dir, "demo", "shop"))); out.code >= 0 {
			t.Errorf("to be killed at %s, the demo exits %d: %s", call, out.code, out.stderr)
		}
	}
	if out := finish(t, command(dir, "demo", "shop")); out.code != 0 {
		t.Errorf("after the last kill, the demo exits %d: %s", out.code, out.stderr)
	}
}

// killedAt has a command killed at a system call, the one of that number of one
// of its threads.
func killedAt(t *testing.T, call string, when int, cmd *exec.Cmd) *exec.Cmd {
	t.Helper()
	strace, err := exec.LookPath("strace")
	if err != nil {
		t.Fatal(err)
	}
	cmd.Path = strace
	cmd.Args = append([]string{"strace", "-f", "-o", os.DevNull, "-e", "trace=" + call,
		"-e", fmt.Sprintf("inject=%s:signal=KILL:when=%d", call, when), program}, cmd.Args[1:]...)
	return cmd
}
