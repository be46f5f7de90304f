package faults

import (
	"bytes"
	"database/sql"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	_ "github.com/duckdb/duckdb-go/v2"
	"github.com/google/go-cmp/cmp"

	"trueplait/data/demo"
)

// victims are the commands that are killed.
func victims() []victim {
	return []victim{
		{name: "import", kills: 40, next: importing(300)},
		{name: "large import", kills: 1, next: importing(130_000)}, // DuckDB writes part of it before the commit
		{name: "amend", kills: 30, setup: func(t *testing.T, s shop) {
			s.write(t, "amend.csv", amended(0))
			s.run(t, "import", "amend.csv")
		}, next: amending},
		{name: "keep good", kills: 24, next: keepingGood},
		{name: "build", kills: 5, next: entering},
		{name: "edit", kills: 5, next: editing},
		{name: "fill", kills: 5, next: filling},
		{name: "calibrate", kills: 10, next: calibrating},
		{name: "plan", kills: 8, next: planning},
		{name: "export", kills: 36, next: exporting},
		{name: "report", kills: 4, next: reporting},
		{name: "backup", kills: 20, next: backingUp},
		{name: "verify", kills: 6, setup: func(t *testing.T, s shop) { s.run(t, "calibrate") }, next: verifying},
		{name: "demo", kills: 3, next: showing},
	}
}

// importing takes two files at once, of n builds and one test fill.
func importing(n int) func(*testing.T, shop, int) change {
	return func(t *testing.T, s shop, round int) change {
		var b strings.Builder
		b.WriteString("build,date,maker,product,core_batch,predicted_weight_g,predicted_shot_g,weight_g,shot_used_g\n")
		added := map[string]figures{fmt.Sprintf("fills IF%d", round): {LengthMM: 200, ShotG: 16}}
		for i := range n {
			id, weight, shot := fmt.Sprintf("I%d-%d", round, i), 400+i%50, 80+i%7
			fmt.Fprintf(&b, "%s,2024-05-01,Arlo,\"%s\",HC01,410,82,%d,%d\n", id, product, weight, shot)
			added["builds "+id] = figures{MassG: float64(weight), ShotG: float64(shot)}
		}
		s.write(t, "builds.csv", b.String())
		s.write(t, "fills.csv", fmt.Sprintf("fill,date,core_batch,filled_length_mm,shot_mass_g\nIF%d,2024-05-01,HC01,200,16\n", round))
		return change{
			args: []string{"import", "builds.csv", "fills.csv"},
			apply: func(l ledger) ledger {
				for id, f := range added {
					l.Rows[id] = f
				}
				return l
			},
		}
	}
}

const amendedRows = 500

// amended is a file of builds whose weight tells the round.
func amended(round int) string {
	var b strings.Builder
	b.WriteString("build,date,maker,product,predicted_weight_g,weight_g\n")
	for i := range amendedRows {
		fmt.Fprintf(&b, "A%d,2024-05-01,Arlo,\"%s\",410,%d\n", i, product, 350+round)
	}
	return b.String()
}

func amending(t *testing.T, s shop, round int) change {
	s.write(t, "amend.csv", amended(round+1))
	return change{
		args: []string{"import", "--amend", "amend.csv"},
		apply: func(l ledger) ledger {
			for i := range amendedRows {
				id := fmt.Sprintf("builds A%d", i)
				l.Rows[id] = figures{MassG: float64(350 + round + 1)}
				l.Replaced[id]++
			}
			return l
		},
	}
}

// keepingGood takes the good half of a file.
func keepingGood(t *testing.T, s shop, round int) change {
	const half = 2000
	var b strings.Builder
	b.WriteString("fill,date,core_batch,filled_length_mm,shot_mass_g\n")
	for i := range half {
		fmt.Fprintf(&b, "G%d-%d,2024-05-01,HC01,200,16\nR%d-%d,2024-05-01,HC01,200,none\n", round, i, round, i)
	}
	name := fmt.Sprintf("good%d.csv", round)
	s.write(t, name, b.String())
	return change{
		args: []string{"import", "--keep-good", name},
		code: 1,
		apply: func(l ledger) ledger {
			for i := range half {
				l.Rows[fmt.Sprintf("fills G%d-%d", round, i)] = figures{LengthMM: 200, ShotG: 16}
			}
			return l
		},
		files: func(t *testing.T, s shop, said string) {
			rejects := s.path(name + ".rejected.csv")
			if _, err := os.Stat(rejects); errors.Is(err, fs.ErrNotExist) && said == "" {
				return
			}
			if n, err := countRows(t, rejects); err != nil || n != half {
				t.Errorf("%s has %d rows, want %d: %v", filepath.Base(rejects), n, half, err)
			}
		},
	}
}

func entering(_ *testing.T, _ shop, round int) change {
	id := fmt.Sprintf("K%d", round)
	return change{
		args: []string{"build", "--build", id, "--maker", "Arlo", "--product", product, "--core-batch", "HC01",
			"--weight", "265g", "--length", "1200mm", "--shot-used", "68g", "--yes"},
		apply: func(l ledger) ledger {
			l.Rows["builds "+id] = figures{265, 1200, 68}
			return l
		},
	}
}

// editing corrects the weight of the demo's last build of the product.
func editing(t *testing.T, _ shop, round int) change {
	rows := demoRecords(t)
	id := rows[len(rows)-1][0]
	return change{
		args: []string{"build", "--edit", id, "--weight", fmt.Sprintf("%dg", 250+round), "--yes"},
		apply: func(l ledger) ledger {
			f := l.Rows["builds "+id]
			f.MassG = float64(250 + round)
			l.Rows["builds "+id] = f
			l.Replaced["builds "+id]++
			return l
		},
	}
}

func filling(_ *testing.T, _ shop, round int) change {
	id := fmt.Sprintf("T%d", round)
	return change{
		args: []string{"fill", "--fill", id, "--core-batch", "HC01", "--filled-length", "200mm", "--shot-mass", "17g"},
		apply: func(l ledger) ledger {
			l.Rows["fills "+id] = figures{LengthMM: 200, ShotG: 17}
			return l
		},
	}
}

// calibrating saves a calibration as of a date that no other has.
func calibrating(t *testing.T, _ shop, round int) change {
	var dates []string
	for _, r := range demoRecords(t) {
		dates = append(dates, r[1])
	}
	slices.Sort(dates)
	dates = slices.Compact(dates)
	return change{
		args:  []string{"calibrate", "--through", dates[len(dates)-1-round]},
		apply: func(l ledger) ledger { l.Calibrations++; return l },
	}
}

// demoRecords are the shop's first builds: id, date, ….
func demoRecords(t *testing.T) [][]string {
	t.Helper()
	records, err := csv.NewReader(strings.NewReader(demoRows(t, "builds.csv"))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return records[1:]
}

// planning opens a build, and replaces a sheet.
func planning(t *testing.T, s shop, round int) change {
	id := fmt.Sprintf("P%d", round)
	s.write(t, "sheet.html", oldPage)
	return change{
		args:  []string{"plan", "--product", product, "--save", id, "-o", "sheet.html"},
		apply: func(l ledger) ledger { l.Plans[id] = true; return l },
		files: func(t *testing.T, s shop, said string) { pageIsWhole(t, s.path("sheet.html"), said != "") },
	}
}

func reporting(t *testing.T, s shop, _ int) change {
	s.write(t, "page.html", oldPage)
	return change{
		args:  []string{"report", "-o", "page.html"},
		files: func(t *testing.T, s shop, said string) { pageIsWhole(t, s.path("page.html"), said != "") },
	}
}

const oldPage = "an older page"

// pageIsWhole makes sure that a page is the old one or the new one.
func pageIsWhole(t *testing.T, path string, done bool) {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Error(err)
		return
	}
	whole := bytes.HasPrefix(text, []byte("<!")) && bytes.HasSuffix(bytes.TrimSpace(text), []byte("</html>"))
	if !whole && (done || string(text) != oldPage) {
		t.Errorf("%s: %d bytes are neither the old page nor a whole new one", filepath.Base(path), len(text))
	}
}

// exporting writes into a folder of its own.
func exporting(_ *testing.T, s shop, round int) change {
	dir := fmt.Sprintf("out%d", round)
	return change{
		args:  []string{"export", dir, "--parquet"},
		files: func(t *testing.T, s shop, said string) { exportIsWhole(t, s, dir, said) },
	}
}

// exportIsWhole reads every file of an export that has its final name, and
// looks for those that the command said it wrote.
func exportIsWhole(t *testing.T, s shop, dir, said string) {
	t.Helper()
	for line := range strings.Lines(said) {
		name := strings.TrimPrefix(strings.TrimSpace(line), "wrote ")
		if _, err := os.Stat(s.path(name)); err != nil {
			t.Errorf("said to be written: %v", err)
		}
	}
	entries, err := os.ReadDir(s.path(dir))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		t.Error(err)
	}
	rows := map[string]int{"builds": len(demoRecords(t)), "parts": strings.Count(demoRows(t, "parts.csv"), "\n") - 1}
	for _, e := range entries {
		if strings.HasPrefix(e.Name(), ".") {
			continue
		}
		kind, _, _ := strings.Cut(e.Name(), ".")
		if n, err := countRows(t, s.path(filepath.Join(dir, e.Name()))); err != nil || n != rows[kind] {
			t.Errorf("%s has %d rows, want %d: %v", e.Name(), n, rows[kind], err)
		}
	}
}

// countRows counts the rows of an exported file.
func countRows(t *testing.T, path string) (n int, err error) {
	switch filepath.Ext(path) {
	case ".csv":
		text, err := os.ReadFile(path)
		if err != nil {
			return 0, err
		}
		records, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
		if err == nil && !bytes.HasSuffix(text, []byte("\n")) {
			err = errors.New("its last line is cut off")
		}
		return len(records) - 1, err
	case ".jsonl":
		text, err := os.ReadFile(path)
		for line := range bytes.Lines(text) {
			if !json.Valid(line) {
				return n, fmt.Errorf("line %d is no JSON", n+1)
			}
			n++
		}
		return n, err
	}
	db, err := sql.Open("duckdb", "")
	if err != nil {
		return 0, err
	}
	defer db.Close()
	err = db.QueryRowContext(t.Context(), "select count(*) from read_parquet(?)", path).Scan(&n)
	return n, err
}

// backingUp copies the log to a file of its own.
func backingUp(_ *testing.T, _ shop, round int) change {
	name := fmt.Sprintf("copy%d.duckdb", round)
	return change{
		args: []string{"backup", name},
		files: func(t *testing.T, s shop, said string) {
			if _, err := os.Stat(s.path(name)); errors.Is(err, fs.ErrNotExist) && said == "" {
				return
			}
			want, err := read(t, s.log())
			if err != nil {
				t.Error(err)
			}
			found, err := read(t, s.path(name))
			if diff := cmp.Diff(want, found); err != nil || diff != "" {
				t.Errorf("the copy is not the log: %v\n%s", err, short(diff))
			}
		},
	}
}

// verifying looks at all of the log and leaves every file as it is.
func verifying(t *testing.T, s shop, _ int) change {
	before := s.content(t)
	return change{
		args: []string{"verify"},
		files: func(t *testing.T, s shop, _ string) {
			if diff := cmp.Diff(before, s.content(t)); diff != "" {
				t.Errorf("the folder changed:\n%s", diff)
			}
		},
	}
}

// showing makes the invented shop, in the folder where the one before was cut
// off.
func showing(*testing.T, shop, int) change {
	const dir = "out"
	return change{
		args:  []string{"demo", dir},
		files: func(t *testing.T, s shop, said string) { demoIsWhole(t, shop{s.path(dir)}, said) },
	}
}

// demoIsWhole looks at what has its final name in the folder of the invented
// shop: its files, its log with all of their rows or none, its page.
func demoIsWhole(t *testing.T, s shop, said string) {
	t.Helper()
	names, err := fs.Glob(demo.Files, "*.csv")
	if err != nil {
		t.Fatal(err)
	}
	rows := 0
	for _, name := range names {
		want, err := demo.Files.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if found, err := os.ReadFile(s.path(name)); err != nil || !bytes.Equal(found, want) {
			t.Errorf("%s is not as it should be: %d bytes, %v", name, len(found), err)
		}
		n, err := countRows(t, s.path(name))
		if err != nil {
			t.Error(err)
		}
		rows += n
	}
	pageIsWhole(t, s.path("report.html"), true) // that of an earlier round, or the new one
	path := s.path("workshop.duckdb")
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) && said == "" {
		return
	}
	found, err := read(t, path)
	switch {
	case err != nil:
		t.Errorf("the invented shop's log does not open: %v", err)
	case said != "" && (len(found.Rows) != rows || found.Calibrations != 4):
		t.Errorf("it said that it was done with %d of %d rows and %d calibrations", len(found.Rows), rows, found.Calibrations)
	case len(found.Rows) != rows && len(found.Rows)+found.Calibrations > 0:
		t.Errorf("%d of %d rows, %d calibrations", len(found.Rows), rows, found.Calibrations)
	}
}
