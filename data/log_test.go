package data

import (
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"trueplait/data/duckdb"
	"trueplait/model"
)

func TestOpenErrors(t *testing.T) {
	inFile(t)
	dir := t.TempDir()
	write := func(name string, content string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(content), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	foreign := filepath.Join(dir, "foreign.duckdb")
	db, err := duckdb.Connect(foreign, duckdb.Reach{})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec("create table orders (id integer)"); err != nil {
		t.Fatal(err)
	}
	db.Close()
	newer := newerLog(t)
	tests := []struct {
		name, path string
		mode       Mode
		is         error
		says       []string
	}{
		{"no log", filepath.Join(dir, "none.duckdb"), ReadOnly, ErrNoLog, []string{"no log at ", "none.duckdb", "import"}},
		{"no folder", filepath.Join(dir, "none", "a.duckdb"), ReadWrite, os.ErrNotExist, []string{"folder", "create"}},
		{"a folder", dir, ReadWrite, nil, []string{"is a folder"}},
		{"a folder to read", dir, ReadOnly, nil, []string{"is a folder"}},
		{"no name", "", ReadWrite, nil, []string{"--log"}},
		{"a CSV", write("builds.csv", strings.Repeat("build,date\n", 2000)), ReadWrite, ErrNotLog, []string{"builds.csv", "no DuckDB file"}},
		{"a CSV to read", filepath.Join(dir, "builds.csv"), ReadOnly, ErrNotLog, []string{"no DuckDB file"}},
		{"an empty file", write("empty.duckdb", ""), ReadWrite, ErrNotLog, []string{"no DuckDB file"}},
		{"another program's DuckDB file", foreign, ReadWrite, ErrNotLog, []string{"something else"}},
		{"a newer log", newer, ReadWrite, ErrNewer, []string{`"0099_later"`, "unchanged"}},
		{"a newer log to read", newer, ReadOnly, ErrNewer, []string{`"0099_later"`}},
		{"a question mark", filepath.Join(dir, "what?.duckdb"), ReadWrite, nil, []string{"may not hold"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			l, err := Open(t.Context(), tt.path, tt.mode)
			if err == nil {
				l.Close()
				t.Fatal("it opened")
			}
			if tt.is != nil && !errors.Is(err, tt.is) {
				t.Errorf("%v: is not %v", err, tt.is)
			}
			for _, says := range tt.says {
				if !strings.Contains(err.Error(), says) {
					t.Errorf("%q does not say %q", err, says)
				}
			}
		})
	}
}

// newerLog is the path of a log with a migration from the future.
func newerLog(t *testing.T) string {
	t.Helper()
	l, path := openLog(t)
	if _, err := l.db.Exec(migrationAdd, 99, "0099_later"); err != nil {
		t.Fatal(err)
	}
	if err := l.Close(); err != nil {
		t.Fatal(err)
	}
	return path
}

func TestOddPaths(t *testing.T) {
	inFile(t)
	for _, name := range []string{"with space.duckdb", "häuser's.duckdb", "a#b&c=d;e.duckdb", ":memory:", "log.csv"} {
		path := filepath.Join(t.TempDir(), name)
		l, err := Open(t.Context(), path, ReadWrite)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		add(t, l, file{name: "a.csv", rows: []model.Row{usualBuild("B1")}})
		if err := l.Close(); err != nil {
			t.Error(err)
		}
		l, err = Open(t.Context(), path, ReadOnly)
		if err != nil {
			t.Errorf("%s: again: %v", name, err)
			continue
		}
		if n := len(all(t, l, model.Builds)); n != 1 {
			t.Errorf("%s: %d builds, want the 1 that went in", name, n)
		}
		l.Close()
	}
}

// A log that is open to read answers, and takes nothing.
func TestReadOnly(t *testing.T) {
	rw, path := openLog(t)
	add(t, rw, usualRows()...)
	save(t, rw, usualPlan("B8"))
	if err := rw.SetUnits(t.Context(), "ann", "metric", noon); err != nil {
		t.Fatal(err)
	}
	if err := rw.Close(); err != nil {
		t.Fatal(err)
	}
	l, err := Open(t.Context(), path, ReadOnly)
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	before := dump(t, l)
	changed := usualPlan("B8")
	changed.PredictedWeightG++
	for name, err := range map[string]error{
		"SavePlan":    l.SavePlan(t.Context(), usualPlan("B9")),
		"ReplacePlan": l.ReplacePlan(t.Context(), changed),
		"DropPlan":    l.DropPlan(t.Context(), "B8", noon),
		"SetUnits":    l.SetUnits(t.Context(), "ann", "both", noon),
	} {
		if err == nil {
			t.Errorf("%s: no error", name)
		}
	}
	if after := dump(t, l); after != before {
		t.Error("the log changed")
	}
	if units, err := l.Units(t.Context()); err != nil || units["ann"] != "metric" {
		t.Errorf("units %v, %v", units, err)
	}
	if _, total, err := l.Search(t.Context(), model.Builds, "", 1, 0); err != nil || total != 2 {
		t.Errorf("%d builds, %v; want 2", total, err)
	}
	if has, err := l.Has(t.Context(), model.Builds, "B8"); err != nil || !has {
		t.Errorf("the open plan: %v, %v", has, err)
	}
	if uses, err := l.Uses(t.Context(), model.Maker, "ann"); err != nil || uses[model.Builds] != 2 {
		t.Errorf("uses %v, %v", uses, err)
	}
}

func TestSecondProgram(t *testing.T) {
	inFile(t)
	path := filepath.Join(t.TempDir(), "workshop.duckdb")
	_, out := second(t, asHolder, path)
	if line, _ := out.ReadString('\n'); line != "ready\n" {
		t.Fatalf("the other program says %q", line)
	}
	for _, mode := range []Mode{ReadOnly, ReadWrite} {
		_, err := Open(t.Context(), path, mode)
		if !errors.Is(err, ErrInUse) || !strings.Contains(err.Error(), path) || !strings.Contains(err.Error(), "close it there") {
			t.Errorf("mode %d: %v, want the file's name and what to do", mode, err)
		}
	}
}

func TestTwoReaders(t *testing.T) {
	l, path := openLog(t)
	if err := l.Close(); err != nil {
		t.Fatal(err)
	}
	for range 2 {
		l, err := Open(t.Context(), path, ReadOnly)
		if err != nil {
			t.Fatal(err)
		}
		defer l.Close()
	}
}

// Killed at any instant, the log has whole files only, among them every one
// that was acknowledged.
func TestKilledInMidImport(t *testing.T) {
	inFile(t)
	for _, wait := range []time.Duration{0, 37 * time.Millisecond, 90 * time.Millisecond} {
		path := filepath.Join(t.TempDir(), "workshop.duckdb")
		cmd, out := second(t, asImporter, path)
		acknowledged := 0
		for acknowledged < 3 {
			line, err := out.ReadString('\n')
			if err != nil || strings.TrimSpace(line) == "" {
				t.Fatalf("the importer says %q, %v", line, err)
			}
			acknowledged++
		}
		time.Sleep(wait)
		if err := cmd.Process.Kill(); err != nil {
			t.Fatal(err)
		}
		for { // what it said before it died
			if _, err := out.ReadString('\n'); err != nil {
				break
			}
			acknowledged++
		}
		cmd.Wait()
		for _, mode := range []Mode{ReadOnly, ReadWrite} {
			l, err := Open(t.Context(), path, mode)
			if err != nil {
				t.Fatalf("mode %d after the kill: %v", mode, err)
			}
			n := len(all(t, l, model.Builds))
			if n%killedFile != 0 || n < acknowledged*killedFile {
				t.Errorf("%d builds after %d files of %d were acknowledged", n, acknowledged, killedFile)
			}
			if err := l.Close(); err != nil {
				t.Fatal(err)
			}
		}
	}
}

// What a statement could do beside its log is refused, whoever wrote it. A file
// log may make one other file, for backups, and nothing of a similar name.
func TestHardened(t *testing.T) {
	inFile(t)
	folder := t.TempDir()
	secret := filepath.Join(folder, "secret.csv")
	if err := os.WriteFile(secret, []byte("a\n1\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	file, path := openLog(t)
	if err := os.WriteFile(path+".csv", []byte("a\n1\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	part := path + ".backup-part"
	for name, l := range map[string]*Log{"file": file, "memory": newLog(t)} {
		for _, query := range []string{
			"select * from read_csv(" + duckdb.Literal(secret) + ")",
			"select * from " + duckdb.Literal(secret),
			"select * from read_text(" + duckdb.Literal(path) + ")",
			"select * from read_blob(" + duckdb.Literal(path+".csv") + ")",
			"select * from read_json(" + duckdb.Literal(secret) + ")",
			"select * from read_parquet(" + duckdb.Literal(secret) + ")",
			"select * from glob(" + duckdb.Literal(folder+"/*") + ")",
			"select * from sniff_csv(" + duckdb.Literal(secret) + ")",
			"copy (select 1) to " + duckdb.Literal(secret+".out"),
			"copy maker_units from " + duckdb.Literal(secret),
			"export database " + duckdb.Literal(filepath.Join(folder, "all")),
			"import database " + duckdb.Literal(folder),
			"attach " + duckdb.Literal(secret+".duckdb") + " as other",
			"attach " + duckdb.Literal(path+".backup-part2") + " as other",
			"attach " + duckdb.Literal(path+".backup") + " as other",
			"attach " + duckdb.Literal(part+"/../other") + " as other",
			"attach 'https://example.org/a.duckdb' as other",
			"attach " + duckdb.Literal(secret) + " as other (type sqlite)",
			"install httpfs",
			"install httpfs from community",
			"load httpfs",
			"load " + duckdb.Literal(filepath.Join(folder, "evil.duckdb_extension")),
			"create secret (type s3)",
			"create persistent secret (type s3)",
			"set enable_external_access = true",
			"set global enable_external_access = true",
			"set allowed_paths = [" + duckdb.Literal(secret) + "]",
			"set allowed_directories = [" + duckdb.Literal(folder) + "]",
			"set temp_directory = " + duckdb.Literal(folder),
			"set memory_limit = '2GB'",
			"set TimeZone = 'Europe/London'",
			"set lock_configuration = false",
			"set log_query_path = " + duckdb.Literal(secret+".out"),
			"set profiling_output = " + duckdb.Literal(secret+".out"),
			"reset lock_configuration",
			"reset allowed_paths",
			"pragma enable_external_access = true",
			"pragma memory_limit = '2GB'",
			"pragma threads = 4",
			"pragma temp_directory = " + duckdb.Literal(folder),
		} {
			if _, err := l.db.Exec(query); err == nil {
				t.Errorf("%s: %s: was allowed", name, query)
			}
		}
		var zone string
		if err := l.db.QueryRow("select current_setting('TimeZone')").Scan(&zone); err != nil || zone != "UTC" {
			t.Errorf("%s: time zone %s, %v", name, zone, err)
		}
	}
	if files, _ := os.ReadDir(folder); len(files) != 1 {
		t.Errorf("files were written: %v", files)
	}
	reader, path := openLog(t)
	if err := reader.Close(); err != nil {
		t.Fatal(err)
	}
	reader, err := Open(t.Context(), path, ReadOnly)
	if err != nil {
		t.Fatal(err)
	}
	defer reader.Close()
	if _, err := reader.db.Exec("attach " + duckdb.Literal(path+".backup-part") + " as other"); err == nil {
		t.Error("a log open to read may make a file")
	}
}

// A calibration is of the rows that it says: it is not saved where a file came in
// since they were read.
func TestSaveCalibration_Changed(t *testing.T) {
	l := newLog(t)
	c := Calibration{Fingerprint: "f", Made: noon, NewestSource: newestOf(t, l)}
	add(t, l, file{name: "builds.csv", rows: []model.Row{usualBuild("B1")}})
	if _, err := l.SaveCalibration(t.Context(), c, found("{}")); !errors.Is(err, ErrChanged) {
		t.Errorf("%v, want ErrChanged", err)
	}
	c.NewestSource = newestOf(t, l)
	if n, err := l.SaveCalibration(t.Context(), c, found("{}")); err != nil || n != 1 {
		t.Errorf("saved as %d, %v; want 1", n, err)
	}
}

func TestCalibrationsAreAppendOnly(t *testing.T) {
	l := newLog(t)
	want := []Calibration{
		{Number: 1, Fingerprint: "f", Options: "a", Through: day(3), Made: noon},
		{Number: 2, Fingerprint: "f", Options: "b", Made: noon},
	}
	results := []string{`{"x":1}`, strings.Repeat("of any length ", 3*pieceSize/14)}
	factors := []SavedFactor{
		{model.Body, model.Labels{Maker: "ann", StrandBatch: "N1", Product: "6 ft"}, 1.05},
		{model.Shot, model.Labels{Maker: "ann", CoreBatch: "C1", ShotBatch: "S1"}, 0.9},
	}
	for round := range 2 {
		for i, c := range want {
			r := found(results[i], factors[:2-2*i]...)
			if round == 1 {
				r = found("other", factors...)
			}
			if n, err := l.SaveCalibration(t.Context(), c, r); err != nil || n != c.Number {
				t.Errorf("round %d: saved as %d, %v; want %d", round, n, err, c.Number)
			}
		}
	}
	got, err := l.Calibrations(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if d := diff(want, got); d != "" {
		t.Errorf("calibrations (-want +got):\n%s", d)
	}
	for i, c := range want {
		var result strings.Builder
		if err := l.WriteResult(t.Context(), c.Number, &result); err != nil || result.String() != results[i] {
			t.Errorf("calibration %d: %d bytes of result, %v; want the %d saved", c.Number, result.Len(), err, len(results[i]))
		}
		got, err := l.SavedFactors(t.Context(), c.Number)
		if err != nil || !slices.Equal(got, factors[:2-2*i]) {
			t.Errorf("factors of calibration %d: %v, %v; want %v", c.Number, got, err, factors[:2-2*i])
		}
	}
	for _, c := range append(want, Calibration{Fingerprint: "f", Options: "c"}, Calibration{Fingerprint: "g", Options: "a"}) {
		if n, err := l.CalibrationNumber(t.Context(), c.Fingerprint, c.Options); err != nil || n != c.Number {
			t.Errorf("CalibrationNumber(%q, %q) = %d, %v; want %d", c.Fingerprint, c.Options, n, err, c.Number)
		}
	}
}

func TestFingerprint(t *testing.T) {
	fingerprint := func(through time.Time, files ...file) string {
		t.Helper()
		l := newLog(t)
		if len(files) > 0 {
			add(t, l, files...)
		}
		f, err := l.Fingerprint(t.Context(), through)
		if err != nil || len(f) != 64 {
			t.Fatalf("fingerprint %q, %v", f, err)
		}
		return f
	}
	one, two := usualBuild("B1"), edit(usualBuild("B2"), func(b *model.Build) { b.Date = day(5) })
	all := time.Time{}
	base := fingerprint(all, file{name: "a.csv", rows: []model.Row{one, two}})
	if f := fingerprint(all, file{name: "b.csv", rows: []model.Row{two}}, file{name: "c.csv", rows: []model.Row{one}}); f != base {
		t.Error("another order and other files change the fingerprint")
	}
	if f := fingerprint(all, file{name: "a.csv", rows: []model.Row{one, edit(two, func(b *model.Build) { b.Note = "read by no fit" })}}); f != base {
		t.Error("a note changes the fingerprint")
	}
	if fingerprint(day(1), file{name: "a.csv", rows: []model.Row{one, two}}) != fingerprint(all, file{name: "a.csv", rows: []model.Row{one}}) {
		t.Error("rows after the last date count")
	}
	changes := map[string]func(*model.Build){
		"id": func(b *model.Build) { b.ID = "B3" }, "date": func(b *model.Build) { b.Date = day(6) },
		"started": func(b *model.Build) { b.Started = day(1) }, "maker": func(b *model.Build) { b.Maker = "bob" },
		"blank batch": func(b *model.Build) { b.CoreBatch = "" }, "weight": func(b *model.Build) { b.WeightG += 1e-9 },
		"load": func(b *model.Build) { b.LoadLengthMM++ }, "set aside": func(b *model.Build) { b.SetAside = "why" },
		"factor": func(b *model.Build) { b.ShotFactor = 1.01 }, "strand": func(b *model.Build) { b.StrandCutMM = 5000 },
		"labels swapped": func(b *model.Build) { b.CoreBatch, b.StrandBatch = b.StrandBatch, b.CoreBatch },
	}
	seen := map[string]string{base: "unchanged"}
	for name, change := range changes {
		f := fingerprint(all, file{name: "a.csv", rows: []model.Row{one, edit(two, change)}})
		if was, ok := seen[f]; ok {
			t.Errorf("%s: the same fingerprint as %s", name, was)
		}
		seen[f] = name
	}
}

func TestExportParquet(t *testing.T) {
	l := newLog(t)
	add(t, l, usualRows()...)
	dir := filepath.Join(t.TempDir(), "it's here")
	if err := os.Mkdir(dir, 0o700); err != nil {
		t.Fatal(err)
	}
	for range 2 { // a second export replaces the first
		if err := l.ExportParquet(t.Context(), dir); err != nil {
			t.Fatal(err)
		}
	}
	reader, err := memory(t.Context(), dir)
	if err != nil {
		t.Fatal(err)
	}
	defer reader.Close()
	for kind, table := range map[string]string{"builds": "build", "fills": "fill", "checks": "cord_check", "products": "product", "parts": "part"} {
		want, got := tableText(t, l, table), tableText(t, reader, duckdb.Literal(filepath.Join(dir, kind+".parquet")))
		if !slices.Equal(got, want) {
			t.Errorf("%s.parquet holds\n%s\nthe log\n%s", kind, got, want)
		}
	}
	if err := l.ExportParquet(t.Context(), filepath.Join(dir, "none")); err == nil {
		t.Error("export into a folder that is not there reports success")
	}
}
