package data

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"trueplait/model"
)

// A backup holds what the log does, to the last byte of its files, and the log
// goes on as before.
func TestBackup(t *testing.T) {
	inFile(t)
	l, path := openLog(t)
	backUp := func(name string) {
		t.Helper()
		if err := l.Backup(t.Context(), name); err != nil {
			t.Fatal(err)
		}
	}
	folder := t.TempDir()
	backUp(filepath.Join(folder, "empty.duckdb"))
	fillLog(t, l)
	if err := os.WriteFile(path+".backup-part", []byte("left by a backup that was cut off"), 0o600); err != nil {
		t.Fatal(err)
	}
	want, print := dump(t, l), fingerprintOf(t, l)
	to := filepath.Join(folder, "it's a \"copy\".duckdb")
	backUp(to)
	if dump(t, l) != want {
		t.Error("the log changed")
	}
	add(t, l, file{name: "later.csv", rows: []model.Row{usualBuild("B50")}})
	backUp(path + ".backup")

	if names, _ := filepath.Glob(path + "*"); len(names) > 3 { // the log, its write-ahead log and the last backup
		t.Errorf("left beside the log: %v", names)
	}
	if files, _ := os.ReadDir(folder); len(files) != 2 {
		t.Errorf("in the folder: %v, want two backups", files)
	}
	for _, mode := range []Mode{ReadOnly, ReadWrite} {
		copied, err := Open(t.Context(), to, mode)
		if err != nil {
			t.Fatal(err)
		}
		if d := diff(want, dump(t, copied)); d != "" {
			t.Errorf("mode %d: the backup differs (-log +backup):\n%s", mode, d)
		}
		if got := fingerprintOf(t, copied); got != print {
			t.Errorf("mode %d: fingerprint %s, want %s", mode, got, print)
		}
		if found := broken(t, copied); found != nil {
			t.Errorf("mode %d: %q", mode, found)
		}
		if mode == ReadWrite { // keys and defaults are those of a log
			add(t, copied, file{name: "later.csv", rows: []model.Row{usualBuild("B50")}})
			if _, err := copied.db.Exec("insert into maker_units values ('ann', 'both', current_timestamp)"); err == nil {
				t.Error("the backup has no primary keys")
			}
		}
		if err := copied.Close(); err != nil {
			t.Fatal(err)
		}
	}
}

// Whatever a log went through, its backup holds the same.
func TestBackupOfAnyLog(t *testing.T) {
	inFile(t)
	l, path := openLog(t)
	random := rand.New(rand.NewPCG(6, 1))
	for n := range 5 {
		for range 4 {
			grow(t, l, random, noon)
		}
		to := fmt.Sprintf("%s-%d", path, n)
		if err := l.Backup(t.Context(), to); err != nil {
			t.Fatal(err)
		}
		copied, err := Open(t.Context(), to, ReadOnly)
		if err != nil {
			t.Fatal(err)
		}
		if d := diff(dump(t, l), dump(t, copied)); d != "" {
			t.Errorf("backup %d differs (-log +backup):\n%s", n, d)
		}
		if want, got := fingerprintOf(t, l), fingerprintOf(t, copied); want != got {
			t.Errorf("backup %d: fingerprint %s, want %s", n, got, want)
		}
		copied.Close()
	}
}

func fingerprintOf(t *testing.T, l *Log) string {
	t.Helper()
	print, err := l.Fingerprint(t.Context(), time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	return print
}

func TestBackupErrors(t *testing.T) {
	inFile(t)
	l, path := openLog(t)
	fillLog(t, l)
	before := dump(t, l)
	folder := t.TempDir()
	kept := filepath.Join(folder, "kept.duckdb")
	if err := os.WriteFile(kept, []byte("mine"), 0o600); err != nil {
		t.Fatal(err)
	}
	ended, end := context.WithCancel(t.Context())
	end()
	tests := []struct {
		name string
		ctx  context.Context
		to   string
		is   error
	}{
		{"a file that is there", t.Context(), kept, os.ErrExist},
		{"the log itself", t.Context(), path, os.ErrExist},
		{"a folder that is there", t.Context(), folder, os.ErrExist},
		{"no folder", t.Context(), filepath.Join(folder, "none", "b.duckdb"), os.ErrNotExist},
		{"given up", ended, filepath.Join(folder, "b.duckdb"), context.Canceled},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			err := l.Backup(tt.ctx, tt.to)
			if !errors.Is(err, tt.is) || !strings.Contains(err.Error(), tt.to) {
				t.Errorf("%v: is not %v of %s", err, tt.is, tt.to)
			}
		})
	}
	if b, err := os.ReadFile(kept); err != nil || string(b) != "mine" {
		t.Errorf("the file that was there: %q, %v", b, err)
	}
	if files, _ := os.ReadDir(folder); len(files) != 1 {
		t.Errorf("left in the folder: %v", files)
	}
	if dump(t, l) != before {
		t.Error("the log changed")
	}
	if err := l.Close(); err != nil {
		t.Fatal(err)
	}
	reader, err := Open(t.Context(), path, ReadOnly)
	if err != nil {
		t.Fatal(err)
	}
	defer reader.Close()
	if err := reader.Backup(t.Context(), filepath.Join(folder, "b.duckdb")); !errors.Is(err, ErrNotOpenToWrite) {
		t.Errorf("open to read: %v", err)
	}
	if names, _ := filepath.Glob(path + "*"); len(names) != 1 {
		t.Errorf("left beside the log: %v", names)
	}
}

// Each backup holds whole imports, those that were done when it began among
// them.
func TestBackupWhileInUse(t *testing.T) {
	inFile(t)
	l, path := openLog(t)
	const rows = 50
	var imports sync.WaitGroup
	var done int // imports acknowledged
	var mu sync.Mutex
	imports.Go(func() {
		for n := range 12 {
			if err := importBuilds(t.Context(), l, n, rows); err != nil {
				t.Error(err)
				return
			}
			mu.Lock()
			done++
			mu.Unlock()
		}
	})
	defer imports.Wait()
	for n := range 3 {
		mu.Lock()
		before := done
		mu.Unlock()
		to := fmt.Sprintf("%s-%d", path, n)
		if err := l.Backup(t.Context(), to); err != nil {
			t.Fatal(err)
		}
		copied, err := Open(t.Context(), to, ReadOnly)
		if err != nil {
			t.Fatal(err)
		}
		if builds := len(all(t, copied, model.Builds)); builds < before*rows || builds%rows != 0 {
			t.Errorf("%d builds in a backup begun after %d imports of %d", builds, before, rows)
		}
		copied.Close()
	}
}

// On another disk, or one without links, a backup is copied under another name
// first.
func TestCopyInto(t *testing.T) {
	inFile(t)
	folder := t.TempDir()
	from := filepath.Join(t.TempDir(), "log.backup-part")
	if err := os.WriteFile(from, []byte("all of it"), 0o600); err != nil {
		t.Fatal(err)
	}
	name, err := copyInto(folder, from)
	if err != nil || filepath.Dir(name) != folder {
		t.Fatalf("copied to %s, %v", name, err)
	}
	if b, err := os.ReadFile(name); err != nil || string(b) != "all of it" {
		t.Errorf("the copy: %q, %v", b, err)
	}
	if _, err := copyInto(folder, filepath.Join(folder, "none")); err == nil {
		t.Error("copy of no file: no error")
	}
	if files, _ := os.ReadDir(folder); len(files) != 1 {
		t.Errorf("in the folder: %v", files)
	}
}
