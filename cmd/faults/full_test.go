package faults

import (
	"errors"
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"strings"
	"syscall"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// On a full disk each command says so and how to go on. The log opens, then and
// when there is room again, and has all that was acknowledged.
func TestDiskFull(t *testing.T) {
	s := smallDisk(t)
	s.write(t, "amend.csv", amended(0))
	s.run(t, "import", "amend.csv")
	known, err := read(t, s.log())
	if err != nil {
		t.Fatal(err)
	}
	changes := map[string]change{"import": importing(2000)(t, s, 1), "build": entering(t, s, 1), "fill": filling(t, s, 1),
		"calibrate": calibrating(t, s, 1), "edit": editing(t, s, 1), "amend": amending(t, s, 1)}
	s.fillDisk(t)
	for _, c := range []struct {
		name string
		args []string
		want string // what stderr says among other things
	}{
		{"import", changes["import"].args, fullDisk},
		{"fill", changes["fill"].args, fullDisk},
		{"build", changes["build"].args, fullDisk},
		{"calibrate", changes["calibrate"].args, fullDisk},
		{"plan", []string{"plan", "--product", product, "--save", "P1"}, fullDisk},
		{"sheet", []string{"plan", "--product", product, "-o", "sheet.html"}, "trueplait: sheet.html: " + fullDisk},
		{"report", []string{"report", "-o", "page.html"}, "trueplait: page.html: " + fullDisk},
		{"export", []string{"export", "out"}, ".csv: " + fullDisk},
		{"backup", []string{"backup", "copy.duckdb"}, fullDisk},
		{"edit", changes["edit"].args, fullDisk},
		{"amend", changes["amend"].args, fullDisk},
	} {
		r := finish(t, command(s.dir, append(c.args, "--log", "shop.duckdb")...))
		if r.code != 1 || r.stdout != "" {
			t.Errorf("%s: exit code %d, stdout %q", c.name, r.code, r.stdout)
		}
		if !strings.Contains(r.stderr, c.want) {
			t.Errorf("%s: stderr %q, want %q in it", c.name, r.stderr, c.want)
		}
		s.onlyHidden(t, 0)
	}
	s.run(t, "factors") // still there to be read
	s.freeDisk(t)
	found, err := read(t, s.log())
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(known, found); diff != "" {
		t.Fatalf("after the disk was full: -before +found:\n%s", short(diff))
	}
	for _, name := range []string{"import", "build", "fill", "calibrate", "edit", "amend"} {
		s.run(t, changes[name].args...)
		known = changes[name].apply(known)
	}
	if found, err = read(t, s.log()); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(known, found); diff != "" {
		t.Errorf("with room again: -want +found:\n%s", short(diff))
	}
}

const fullDisk = "the disk is full: make room and do it again"

// The bench page whose disk is full saves nothing that it does not say it
// saved, and goes on when there is room again.
func TestDiskFull_Serve(t *testing.T) {
	s := smallDisk(t)
	page := s.serve(t)
	saved := map[string]bool{}
	save := func(id string) int {
		t.Helper()
		status, _, err := page.saveFill(id)
		if err != nil {
			t.Fatal(err)
		}
		saved[id] = status == http.StatusSeeOther
		return status
	}
	save("before")
	s.fillDisk(t)
	// The last block of the write-ahead log may have room for some more.
	status := http.StatusSeeOther
	for i := 0; i < 20 && status == http.StatusSeeOther; i++ {
		status = save(fmt.Sprintf("full%d", i))
	}
	if status != http.StatusInternalServerError {
		t.Errorf("on a full disk a save is answered with status %d, want %d", status, http.StatusInternalServerError)
	}
	s.freeDisk(t)
	save("after")
	if !saved["before"] || !saved["after"] {
		t.Errorf("with room, before and after, not all was saved: %v", saved)
	}
	page.kill()
	found, err := read(t, s.log())
	if err != nil {
		t.Fatal(err)
	}
	for id, said := range saved {
		if _, there := found.Rows["fills "+id]; there != said {
			t.Errorf("%s: said to be saved: %v, there: %v", id, said, there)
		}
	}
}

// smallDisk is a shop on a disk of 24 MB.
func smallDisk(t *testing.T) shop {
	t.Helper()
	needRoot(t)
	needCommand(t, "mount", "mount")
	s := shop{t.TempDir()}
	if out, err := exec.Command("mount", "-t", "tmpfs", "-o", "size=24m", "tmpfs", s.dir).CombinedOutput(); err != nil {
		need(t, fmt.Sprintf("the right to mount a tmpfs: %v %s", err, out))
	}
	s.unmountAtEnd(t)
	s.stock(t)
	return s
}

// unmountAtEnd takes away the disk that the shop's folder is.
func (s shop) unmountAtEnd(t *testing.T) {
	t.Cleanup(func() {
		if out, err := exec.Command("umount", "-l", s.dir).CombinedOutput(); err != nil {
			t.Errorf("umount: %v %s", err, out)
		}
	})
}

// ballast is the file that fills the disk.
const ballast = "out.ballast"

// fillDisk leaves no room on the shop's disk.
func (s shop) fillDisk(t *testing.T) {
	t.Helper()
	f, err := os.Create(s.path(ballast))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for piece := make([]byte, 4096); err == nil; {
		_, err = f.Write(piece)
	}
	if !errors.Is(err, syscall.ENOSPC) {
		t.Fatal(err)
	}
}

// freeDisk makes room again.
func (s shop) freeDisk(t *testing.T) {
	t.Helper()
	if err := os.Remove(s.path(ballast)); err != nil {
		t.Fatal(err)
	}
}
