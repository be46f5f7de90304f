package data

import (
	"errors"
	"path/filepath"
	"slices"
	"testing"

	"trueplait/data/duckdb"
	"trueplait/model"
)

func TestMigrateFromEmptyAndAgain(t *testing.T) {
	inFile(t)
	l, path := openLog(t)
	add(t, l, usualRows()...)
	before := dump(t, l)
	if err := l.Close(); err != nil {
		t.Fatal(err)
	}
	for _, mode := range []Mode{ReadOnly, ReadWrite} {
		l, err := Open(t.Context(), path, mode)
		if err != nil {
			t.Fatal(err)
		}
		if after := dump(t, l); after != before {
			t.Errorf("mode %d: the log reads otherwise", mode)
		}
		if err := l.Close(); err != nil {
			t.Fatal(err)
		}
	}
	if names, _ := filepath.Glob(path + "*"); len(names) != 1 {
		t.Errorf("left beside the log: %v", names)
	}
}

// olderLog is the path of a log with the first migrations only, as an older
// program left it after do.
func olderLog(t *testing.T, version int, do func(*Log)) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "old.duckdb")
	db, err := duckdb.Connect(path, duckdb.Reach{})
	if err != nil {
		t.Fatal(err)
	}
	for i, m := range (duckdb.Engine{}).Migrations()[:version] {
		if _, err := db.Exec(m.SQL); err != nil {
			t.Fatal(err)
		}
		if _, err := db.Exec(migrationAdd, i+1, m.Name); err != nil {
			t.Fatal(err)
		}
	}
	do(&Log{db: newDatabase(db, duckdb.Engine{}), path: path})
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	return path
}

// A log of an older program is left alone by readers and brought up to date by
// writers.
func TestMigrateOlder(t *testing.T) {
	inFile(t)
	path := olderLog(t, 1, func(*Log) {})
	if _, err := Open(t.Context(), path, ReadOnly); !errors.Is(err, ErrOlder) {
		t.Errorf("to read: %v, want ErrOlder", err)
	}
	for _, mode := range []Mode{ReadWrite, ReadOnly} {
		l, err := Open(t.Context(), path, mode)
		if err != nil {
			t.Fatalf("mode %d: %v", mode, err)
		}
		if n := len(observations(t, l, model.Shot)); n != 0 {
			t.Errorf("mode %d: %d observations in an empty log", mode, n)
		}
		if err := l.Close(); err != nil {
			t.Fatal(err)
		}
	}
}

// A log from before plans could be dropped keeps its rows and open plans.
func TestMigrateFromBeforeTheBench(t *testing.T) {
	inFile(t)
	path := olderLog(t, 4, func(l *Log) {
		add(t, l, usualRows()...)
		save(t, l, usualPlan("B8"), usualPlan("B9"))
		add(t, l, file{name: "finished.csv", rows: []model.Row{finished("B9")}})
	})
	if _, err := Open(t.Context(), path, ReadOnly); !errors.Is(err, ErrOlder) {
		t.Errorf("to read: %v, want ErrOlder", err)
	}
	l, err := Open(t.Context(), path, ReadWrite)
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	if ids := open(t, l); !slices.Equal(ids, []string{"B8"}) {
		t.Errorf("open: %v, want B8", ids)
	}
	rows, total, err := l.Search(t.Context(), model.Builds, "", 10, 0)
	if err != nil || total != 3 || !slices.Equal(keys(rows), []string{"B1", "B9", "B2"}) {
		t.Errorf("builds %v of %d, %v; want B1, B9, B2", keys(rows), total, err)
	}
	if id, err := l.NewestID(t.Context(), model.Builds); err != nil || id != "B9" {
		t.Errorf("newest %q, %v; want B9", id, err)
	}
	if err := l.DropPlan(t.Context(), "B8", noon); err != nil {
		t.Error(err)
	}
	if err := l.SetUnits(t.Context(), "ann", "metric", noon); err != nil {
		t.Error(err)
	}
}
