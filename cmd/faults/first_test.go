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
	strace, err := exec.LookPath("strace")
	if err != nil {
		t.Fatal(err)
	}
	killed := 0
	for call, times := range map[string]int{"pwrite64": 4, "fsync": 2, "linkat": 1, "unlinkat": 1} {
		for when := 1; when <= times; when++ {
			dir := t.TempDir()
			fills := []byte("fill,date,core_batch,filled_length_in,shot_mass_g,predicted_shot_g\nF1,2025-06-01,C1,6,12.1,12\n")
			if err := os.WriteFile(filepath.Join(dir, "fills.csv"), fills, 0o600); err != nil {
				t.Fatal(err)
			}
			cut := command(dir, "import", "fills.csv")
			cut.Path = strace
			cut.Args = append([]string{"strace", "-f", "-o", os.DevNull, "-e", "trace=" + call,
				"-e", fmt.Sprintf("inject=%s:signal=KILL:when=%d", call, when), program}, cut.Args[1:]...)
			if out := finish(t, cut); out.code != 0 {
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
