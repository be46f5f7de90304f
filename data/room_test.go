package data

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"trueplait/model"
)

// Where nothing can be written beside the log a commit is refused, all is as
// it was, and no file is left of the try.
func TestCheckRoom(t *testing.T) {
	inFile(t)
	path := filepath.Join(t.TempDir(), "shop.duckdb")
	l, err := Open(t.Context(), path, ReadWrite)
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	add(t, l, file{name: "a.csv", rows: []model.Row{usualBuild("B1")}})
	whole := l.path
	l.path = filepath.Join(t.TempDir(), "gone", "shop.duckdb") // a folder in which no file can be made
	im, err := l.Begin(t.Context(), noon)
	if err != nil {
		t.Fatal(err)
	}
	if err := im.Commit(t.Context()); err == nil || !strings.Contains(err.Error(), "gone") {
		t.Errorf("committed with %v where no file can be made", err)
	}
	l.path = whole
	add(t, l, file{name: "b.csv", rows: []model.Row{usualBuild("B2")}})
	if got := len(all(t, l, model.Builds)); got != 2 {
		t.Errorf("%d builds, want 2", got)
	}
	left, err := filepath.Glob(filepath.Join(filepath.Dir(whole), ".*room*"))
	if err != nil || len(left) > 0 {
		t.Errorf("left beside the log: %q, %v", left, err)
	}
	if _, err := os.Stat(whole); err != nil {
		t.Error(err)
	}
}
