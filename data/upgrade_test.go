package data

import (
	"compress/gzip"
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"trueplait/data/duckdb"
	"trueplait/model"
)

// earlier lists the schemas that programs have had before this one.
var earlier = []int{2, 4, 5, 6, 7}

// earlierLog is the path of a log that an earlier program wrote, see
// testdata/SOURCE.md.
func earlierLog(t *testing.T, schema int) string {
	t.Helper()
	f, err := os.Open(fmt.Sprintf("testdata/schema-%04d/workshop.duckdb.gz", schema))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	unpacked, err := gzip.NewReader(f)
	if err != nil {
		t.Fatal(err)
	}
	b, err := io.ReadAll(unpacked)
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "workshop.duckdb")
	if err := os.WriteFile(path, b, 0o640); err != nil {
		t.Fatal(err)
	}
	return path
}

// A log of an earlier program holds, once upgraded, what that program said was
// in it, and its calibrations find their rows.
func TestUpgradeEarlierLogs(t *testing.T) {
	inFile(t)
	for _, schema := range earlier {
		t.Run(fmt.Sprint(schema), func(t *testing.T) {
			path := earlierLog(t, schema)
			if _, err := Open(t.Context(), path, ReadOnly); !errors.Is(err, ErrOlder) {
				t.Errorf("to read: %v, want ErrOlder", err)
			}
			l, err := Open(t.Context(), path, ReadWrite)
			if err != nil {
				t.Fatal(err)
			}
			defer l.Close()
			compareExport(t, l, fmt.Sprintf("testdata/schema-%04d", schema))
			if found := broken(t, l); found != nil {
				t.Errorf("broken: %q", found)
			}
			calibrations, err := l.Calibrations(t.Context())
			if err != nil || len(calibrations) == 0 {
				t.Fatalf("%d calibrations, %v", len(calibrations), err)
			}
			for _, c := range calibrations {
				past, err := l.AsOf(t.Context(), c)
				if err != nil {
					t.Fatal(err)
				}
				if got := fingerprintOf(t, past); got != c.Fingerprint {
					t.Errorf("calibration %d: the rows then have the fingerprint %s, want %s", c.Number, got, c.Fingerprint)
				}
				past.Close()
			}
			if names, _ := filepath.Glob(path + ".before*"); names != nil {
				t.Errorf("left beside the log: %v", names)
			}
		})
	}
}

// compareExport compares the rows of a log with the CSV files in a folder,
// whose columns are those of the tables; parts have their place beside.
func compareExport(t *testing.T, l *Log, folder string) {
	t.Helper()
	for _, kind := range model.Kinds {
		f, err := os.Open(filepath.Join(folder, string(kind)+".csv"))
		if errors.Is(err, os.ErrNotExist) && kind == model.Parts {
			continue // the schema before parts lists
		}
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		want, err := csv.NewReader(f).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		table, err := tableOf(kind)
		if err != nil {
			t.Fatal(err)
		}
		rows := all(t, l, kind)
		if len(rows) != len(want)-1 {
			t.Fatalf("%d %s, want %d", len(rows), kind, len(want)-1)
		}
		for i, row := range rows {
			r := table.record()
			r.load(row)
			var got []string
			for _, f := range r.fields {
				if f.name != "position" {
					got = append(got, f.text())
				}
			}
			if !slices.Equal(got, want[i+1]) {
				t.Errorf("%s, row %d: %q, want %q", kind, i, got, want[i+1])
			}
		}
	}
}

// bytesOf is what a file holds.
func bytesOf(t *testing.T, path string) string {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// An upgrade that fails at any step leaves the log as it was, keeps a copy and
// names both; afterwards a good one succeeds.
func TestUpgradeFails(t *testing.T) {
	inFile(t)
	path := earlierLog(t, 2)
	before := bytesOf(t, path)
	known := duckdb.Engine{}.Migrations()
	for failing := 2; failing < len(known); failing++ {
		bad := slices.Clone(known)
		bad[failing].SQL += "\ninsert into no_such_table select 1;"
		_, err := openUpTo(t.Context(), path, ReadWrite, bad)
		if err == nil {
			t.Fatalf("migration %d failed and the log opened", failing)
		}
		kept := path + ".before-0008"
		for _, says := range []string{path + " is as it was", kept, bad[failing].Name, "go on with the program that wrote it"} {
			if !strings.Contains(err.Error(), says) {
				t.Errorf("%q does not say %q", err, says)
			}
		}
		if bytesOf(t, path) != before {
			t.Errorf("migration %d failed and the log has other bytes", failing)
		}
		for _, file := range []string{path, kept} {
			old, err := openUpTo(t.Context(), file, ReadOnly, known[:2])
			if err != nil {
				t.Fatalf("%s after migration %d failed: %v", file, failing, err)
			}
			compareExport(t, old, "testdata/schema-0002")
			if err := old.Close(); err != nil {
				t.Fatal(err)
			}
		}
		if bytesOf(t, kept) != before {
			t.Error("the copy has other bytes than the log had")
		}
		if info, err := os.Stat(kept); err != nil || info.Mode().Perm() != 0o640 {
			t.Errorf("the copy's permissions are %v, %v; want the log's", info.Mode(), err)
		}
	}
	l, err := Open(t.Context(), path, ReadWrite)
	if err != nil {
		t.Fatal(err)
	}
	compareExport(t, l, "testdata/schema-0002")
	if err := l.Close(); err != nil {
		t.Fatal(err)
	}
	if names, _ := filepath.Glob(path + "*"); len(names) != 1 {
		t.Errorf("left beside the log: %v", names)
	}
}

// upgradeForever upgrades a log with a last migration that never ends.
func upgradeForever(path string) {
	known := duckdb.Engine{}.Migrations()
	known[len(known)-1].SQL += "\ncreate table endless as select count(*) as n from range(1000000000) as a cross join range(1000000000) as b;"
	_, err := openUpTo(context.Background(), path, ReadWrite, known)
	fmt.Println(err)
}

// Killed in the middle of an upgrade, the log is an old one still, with its
// copy; the next program upgrades it.
func TestUpgradeKilled(t *testing.T) {
	inFile(t)
	path := earlierLog(t, 4)
	cmd, _ := second(t, asUpgrader, path)
	deadline := time.Now().Add(30 * time.Second)
	for { // until the copy is there and the migrations are on
		if _, err := os.Stat(path + ".before-0008"); err == nil {
			break
		}
		if time.Now().After(deadline) {
			t.Fatal("no copy after half a minute")
		}
		time.Sleep(5 * time.Millisecond)
	}
	time.Sleep(100 * time.Millisecond)
	if err := cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	cmd.Wait()
	for _, file := range []string{path, path + ".before-0008"} {
		old, err := openUpTo(t.Context(), file, ReadOnly, duckdb.Engine{}.Migrations()[:4])
		if err != nil {
			t.Fatal(err)
		}
		compareExport(t, old, "testdata/schema-0004")
		old.Close()
	}
	l, err := Open(t.Context(), path, ReadWrite)
	if err != nil {
		t.Fatal(err)
	}
	compareExport(t, l, "testdata/schema-0004")
	if err := l.Close(); err != nil {
		t.Fatal(err)
	}
	if names, _ := filepath.Glob(path + "*"); len(names) != 1 {
		t.Errorf("left beside the log: %v", names)
	}
}

// A copy that an upgrade was killed before removing goes away; other files
// beside the log do not.
func TestUpgradeLeftovers(t *testing.T) {
	inFile(t)
	l, path := openLog(t)
	if err := l.Close(); err != nil {
		t.Fatal(err)
	}
	for _, end := range []string{".before-0008", ".before-0009", ".backup"} {
		if err := os.WriteFile(path+end, []byte("x"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if l, err := Open(t.Context(), path, ReadWrite); err != nil {
		t.Error(err)
	} else {
		l.Close()
	}
	names, _ := filepath.Glob(path + ".*")
	if want := []string{path + ".backup", path + ".before-0009"}; !slices.Equal(names, want) {
		t.Errorf("beside the log: %v, want %v", names, want)
	}
}
