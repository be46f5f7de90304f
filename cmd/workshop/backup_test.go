package workshop

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"sync/atomic"
	"testing"

	"trueplait/data"
	"trueplait/model"
)

// Copies made while rows are being saved are whole: each verifies, and has every
// row that was saved before it was asked for.
func TestBench_BackupWhileSaving(t *testing.T) {
	const saves, hands, backups = 200, 4, 5
	folder := t.TempDir()
	path := filepath.Join(folder, "shop.duckdb")
	w := openBench(t, path).workshop
	// Without a calibration a save: fitting 200 again, five times, takes a minute.
	b, err := NewBench(t.Context(), w, BenchOptions{Name: "bench page", Path: path})
	if err != nil {
		t.Fatal(err)
	}
	var saved atomic.Int64
	var working sync.WaitGroup
	done := make([]atomic.Bool, saves)
	enough := make(chan struct{}, saves) // one for each row saved
	for hand := range hands {
		working.Go(func() {
			for i := hand; i < saves; i += hands {
				_, err := b.Save(t.Context(), model.Entry{Kind: model.Fills, Key: fmt.Sprint("k", i), Text: map[string]string{
					"fill": fmt.Sprint("F", i), "core_batch": fmt.Sprint("C", i%3), "filled_length": "8 in", "shot_mass": fmt.Sprintf("%d g", 15+i%7)}})
				if err != nil {
					t.Error(err)
					return
				}
				done[i].Store(true)
				saved.Add(1)
				enough <- struct{}{}
			}
		})
	}
	before := make([][]string, backups) // the rows that must be in each copy
	for n := range backups {
		for range saves / (backups + 1) {
			<-enough
		}
		for i := range done {
			if done[i].Load() {
				before[n] = append(before[n], fmt.Sprint("F", i))
			}
		}
		to := filepath.Join(folder, fmt.Sprint("copy-", n))
		var err error
		if n%2 == 0 {
			err = b.BackupTo(t.Context(), to)
		} else { // as the page gives it out
			err = errors.Join(err, writeTo(to, func(f *os.File) error { return b.Backup(t.Context(), f) }))
		}
		if err != nil {
			t.Fatal(err)
		}
		if int(saved.Load()) == saves {
			t.Errorf("backup %d was made when everything had been saved: it shows nothing", n)
		}
	}
	working.Wait()
	for n, must := range before {
		path := filepath.Join(folder, fmt.Sprint("copy-", n))
		if v := verified(t, path, ""); !v.Sound() || len(v.Notes) > 0 {
			t.Errorf("backup %d: %q, notes %q", n, faults(v), v.Notes)
		}
		log, err := data.Open(t.Context(), path, data.ReadOnly)
		if err != nil {
			t.Fatal(err)
		}
		for _, id := range must {
			if has, err := log.Has(t.Context(), model.Fills, id); err != nil || !has {
				t.Errorf("backup %d lacks test fill %s, saved before it: %v", n, id, err)
			}
		}
		if err := log.Close(); err != nil {
			t.Error(err)
		}
	}
	if err := b.BackupTo(t.Context(), filepath.Join(folder, "copy-0")); !errors.Is(err, os.ErrExist) {
		t.Errorf("a backup over another: %v", err)
	}
	left, err := filepath.Glob(filepath.Join(folder, ".backup-*"))
	if err != nil || len(left) > 0 {
		t.Errorf("left behind: %q, %v", left, err)
	}
}

// writeTo has a new file written.
func writeTo(path string, content func(*os.File) error) error {
	f, err := os.Create(path)
	if err != nil {
		return err
	}
	return errors.Join(content(f), f.Close())
}
