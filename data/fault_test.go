package data

import (
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"trueplait/model"
)

// written is a log that was filled and closed, and its bytes.
func written(t *testing.T, fill func(*testing.T, *Log)) (path, content string) {
	t.Helper()
	l, path := openLog(t)
	fill(t, l)
	if err := l.Close(); err != nil {
		t.Fatal(err)
	}
	return path, bytesOf(t, path)
}

// damaged writes a file, opens and verifies it as a log, and returns the first
// error or what is broken. The file must be as it was.
func damaged(t *testing.T, content string, mode Mode) error {
	t.Helper()
	path := filepath.Join(t.TempDir(), "damaged.duckdb")
	if err := os.WriteFile(path, []byte(content), 0o600); err != nil {
		t.Fatal(err)
	}
	l, err := Open(t.Context(), path, mode)
	if err == nil {
		var checked []Invariant
		checked, err = l.Invariants(t.Context())
		for _, i := range checked {
			for _, v := range i.Broken {
				err = fmt.Errorf("log %s: %w: %s", path, ErrDamaged, v)
			}
		}
		if err := l.Close(); err != nil {
			t.Error(err)
		}
	}
	if bytesOf(t, path) != content {
		t.Errorf("mode %d: the file changed, which %v", mode, err)
	}
	if err != nil && !strings.Contains(err.Error(), path) {
		t.Errorf("%q does not name the file", err)
	}
	return err
}

// Cut at any length, a log is refused or found out, and left alone.
func TestTruncated(t *testing.T) {
	inFile(t)
	_, content := written(t, fillLog)
	size := len(content)
	lengths := []int{0, 1, 11, 12, 100, 4095, 4096, 8192, 12288, 12289, size / 3, size / 2, size - 262144, size - 4096, size - 1}
	for _, n := range lengths {
		for _, mode := range []Mode{ReadOnly, ReadWrite} {
			err := damaged(t, content[:n], mode)
			switch {
			case n < 12 && !errors.Is(err, ErrNotLog):
				t.Errorf("mode %d, %d of %d bytes: %v, want ErrNotLog", mode, n, size, err)
			case n >= 12 && (!errors.Is(err, ErrDamaged) || !strings.Contains(err.Error(), "put a backup in its place")):
				t.Errorf("mode %d, %d of %d bytes: %v, want ErrDamaged and what to do", mode, n, size, err)
			}
		}
	}
}

// A byte that changed on the disk is found out wherever it matters, or does not
// matter: the rows are what they were.
func TestFlippedByte(t *testing.T) {
	inFile(t)
	t.Run("a little of everything", func(t *testing.T) { flip(t, fillLog) })
	// No rule looks at notes, and so many have blocks of their own.
	t.Run("notes", func(t *testing.T) {
		flip(t, func(t *testing.T, l *Log) {
			letters := rand.NewChaCha8([32]byte{})
			var rows []model.Row
			for n := range 3000 {
				note := make([]byte, 300)
				letters.Read(note)
				rows = append(rows, edit(usualBuild(fmt.Sprint("B", n)), func(b *model.Build) { b.Note = hex.EncodeToString(note) }))
			}
			add(t, l, file{name: "notes.csv", rows: rows})
		})
	})
}

// flip changes a byte in each of many places of a log.
func flip(t *testing.T, fill func(*testing.T, *Log)) {
	path, content := written(t, fill)
	l, err := Open(t.Context(), path, ReadOnly)
	if err != nil {
		t.Fatal(err)
	}
	want := dump(t, l)
	l.Close()
	found := 0
	for at := 12; at < len(content); at += len(content) / 12 {
		flipped := []byte(content)
		flipped[at] ^= 0x10
		err := damaged(t, string(flipped), ReadOnly)
		if errors.Is(err, ErrDamaged) {
			found++
			continue
		}
		if err != nil {
			t.Errorf("byte %d: %v, want ErrDamaged", at, err)
			continue
		}
		path := filepath.Join(t.TempDir(), "flipped.duckdb")
		if err := os.WriteFile(path, flipped, 0o600); err != nil {
			t.Fatal(err)
		}
		l, err := Open(t.Context(), path, ReadOnly)
		if err != nil {
			t.Fatal(err)
		}
		if dump(t, l) != want {
			t.Errorf("byte %d: the log holds something else, and nobody noticed", at)
		}
		l.Close()
	}
	if found == 0 {
		t.Error("no byte mattered")
	}
}

// What a killed program left in the write-ahead log is taken in, whole files
// only; where it is cut short, the files before that; where it is damaged, the
// log is refused.
func TestWriteAheadLog(t *testing.T) {
	inFile(t)
	path := filepath.Join(t.TempDir(), "workshop.duckdb")
	cmd, out := second(t, asImporter, path)
	for range 3 {
		if _, err := out.ReadString('\n'); err != nil {
			t.Fatal(err)
		}
	}
	if err := cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	cmd.Wait()
	content, ahead := bytesOf(t, path), bytesOf(t, path+".wal")
	open := func(ahead string) (builds int, err error) {
		t.Helper()
		path := filepath.Join(t.TempDir(), "left.duckdb")
		for name, content := range map[string]string{path: content, path + ".wal": ahead} {
			if err := os.WriteFile(name, []byte(content), 0o600); err != nil {
				t.Fatal(err)
			}
		}
		l, err := Open(t.Context(), path, ReadOnly)
		if err != nil {
			if bytesOf(t, path) != content || bytesOf(t, path+".wal") != ahead {
				t.Error("a file changed")
			}
			return 0, err
		}
		defer l.Close()
		return len(all(t, l, model.Builds)), nil
	}
	if builds, err := open(ahead); err != nil || builds < 3*killedFile {
		t.Errorf("%d builds after the kill, %v", builds, err)
	}
	last := 0
	for _, n := range []int{len(ahead) / 3, len(ahead) / 2, len(ahead) - 1} {
		builds, err := open(ahead[:n])
		if err != nil || builds%killedFile != 0 || builds < last {
			t.Errorf("%d of %d bytes: %d builds, %v", n, len(ahead), builds, err)
		}
		last = builds
	}
	if builds, err := open(ahead[:10]); err != nil || builds != 0 {
		t.Errorf("cut at its beginning: %d builds, %v; want the log as it was before", builds, err)
	}
	for _, at := range []int{len(ahead) / 3, len(ahead) / 2, len(ahead) - 100} {
		flipped := []byte(ahead)
		flipped[at] ^= 0x10
		_, err := open(string(flipped))
		if !errors.Is(err, ErrDamaged) || !strings.Contains(err.Error(), "left.duckdb.wal") || !strings.Contains(err.Error(), "put a backup in the place") {
			t.Errorf("byte %d: %v, want ErrDamaged and what to do", at, err)
		}
	}
}

// openAsStranger opens a log to write as a user who owns nothing, if it may
// become one, and says what came of it.
func openAsStranger(path string) {
	if os.Getuid() == 0 {
		const nobody = 65534
		if err := errors.Join(syscall.Setgroups(nil), syscall.Setgid(nobody), syscall.Setuid(nobody)); err != nil {
			fmt.Println(err)
			return
		}
	}
	l, err := Open(context.Background(), path, ReadWrite)
	if err == nil {
		err = l.within(context.Background(), noon, func(*Import) error { return nil })
		l.Close()
	}
	fmt.Println(err)
}

func TestNotOursToWrite(t *testing.T) {
	inFile(t)
	tests := []struct {
		name         string
		folder, file os.FileMode
	}{
		{"a file to read only", 0o755, 0o444},
		{"a file and folder to read only", 0o555, 0o444},
		{"a file not to be read", 0o755, 0o000},
	}
	_, content := written(t, fillLog)
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			folder := t.TempDir()
			for dir := folder; dir != os.TempDir(); dir = filepath.Dir(dir) {
				if err := os.Chmod(dir, 0o755); err != nil {
					t.Fatal(err)
				}
			}
			path := filepath.Join(folder, "workshop.duckdb")
			if err := os.WriteFile(path, []byte(content), 0o600); err != nil {
				t.Fatal(err)
			}
			if err := errors.Join(os.Chmod(path, tt.file), os.Chmod(folder, tt.folder)); err != nil {
				t.Fatal(err)
			}
			defer os.Chmod(folder, 0o755)
			_, out := second(t, asStranger, path)
			said, _ := out.ReadString('\n')
			for _, says := range []string{path, "must be yours to read and write", "change their permissions"} {
				if !strings.Contains(said, says) {
					t.Errorf("%q does not say %q", said, says)
				}
			}
			os.Chmod(path, 0o600)
			if bytesOf(t, path) != content {
				t.Error("the file changed")
			}
			if names, _ := filepath.Glob(path + "*"); len(names) != 1 {
				t.Errorf("left beside the log: %v", names)
			}
		})
	}
}

// Whatever the clock says, what came later is later.
func TestClockSetBack(t *testing.T) {
	l := newLog(t)
	for n, now := range []time.Time{noon, noon.AddDate(0, 0, -2), noon.AddDate(-1, 0, 0), noon.AddDate(0, 0, -1)} {
		err := l.within(t.Context(), now, func(im *Import) error {
			merge(t, im, file{name: fmt.Sprintf("%d.csv", n), opt: FinishOptions{Amend: true}, rows: []model.Row{
				edit(usualBuild("B1"), func(b *model.Build) { b.WeightG = 400 + float64(n) }),
				usualBuild(fmt.Sprintf("N%d", n)),
			}})
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	history, err := l.History(t.Context(), model.Builds, "B1")
	if err != nil {
		t.Fatal(err)
	}
	var weights []float64
	for _, a := range history {
		weights = append(weights, a.Row.(*model.Build).WeightG)
	}
	if !slices.Equal(weights, []float64{400, 401, 402}) {
		t.Errorf("history %v, want the order in which it was replaced", weights)
	}
	if id, err := l.NewestID(t.Context(), model.Builds); err != nil || id != "N3" {
		t.Errorf("newest %q, %v; want N3", id, err)
	}
	s, ok, err := l.SourceOf(t.Context(), model.Builds, "B1")
	if err != nil || !ok || s.Name != "3.csv" {
		t.Errorf("B1 is from %q, %v; want 3.csv", s.Name, err)
	}
	if found := broken(t, l); found != nil {
		t.Errorf("broken: %q", found)
	}
}

// What the system says of files that are somebody else's is put into words with
// a remedy, whatever it says; other failures are not.
func TestOpenError_NotOurs(t *testing.T) {
	for _, err := range []error{
		errors.New(`IO Error: Cannot open file "w.duckdb": Permission denied`),
		errors.New(`IO Error: Cannot open file "w.duckdb": Read-only file system`),
		errors.New(`IO Error: Cannot open file "w.duckdb": Operation not permitted`),
		&os.PathError{Op: "open", Path: "w.duckdb", Err: syscall.EACCES},
	} {
		want := "log w.duckdb: the file and its folder must be yours to read and write: change their permissions, or copy the log to a folder of yours: " + err.Error()
		if got := openError("w.duckdb", err); got.Error() != want || !errors.Is(got, err) {
			t.Errorf("openError(%v) = %v", err, got)
		}
	}
	other := errors.New("no such table")
	if got := openError("w.duckdb", other); got.Error() != "log w.duckdb: no such table" {
		t.Errorf("openError(%v) = %v", other, got)
	}
}

// A full disk is told from other failures.
func TestDiskError(t *testing.T) {
	full := []error{
		errors.New(`TransactionContext Error: Failed to commit: Could not write file "w.duckdb.wal": No space left on device`),
		&os.PathError{Op: "write", Path: "w.duckdb", Err: syscall.ENOSPC},
	}
	for _, err := range full {
		if got := diskError(err); !errors.Is(got, err) || !strings.Contains(got.Error(), "make room and do it again") {
			t.Errorf("diskError(%v) = %v", err, got)
		}
	}
	if other := errors.New("no such row"); diskError(other) != other {
		t.Errorf("diskError(%v) = %v", other, diskError(other))
	}
}
