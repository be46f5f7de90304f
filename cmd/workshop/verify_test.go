package workshop

import (
	"bytes"
	"database/sql"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"trueplait/data"
	"trueplait/data/demo"
	"trueplait/ingest"
	"trueplait/model"
	"trueplait/report"
	"trueplait/report/bench"
)

// workedProgram is the version that saved the calibrations of workedLog.
const workedProgram = "1.2.3"

// workedLog makes a log in which everything has happened that can happen to one,
// and returns its path and the build that was planned, finished and amended.
func workedLog(t *testing.T) (path, planned string) {
	t.Helper()
	ctx := t.Context()
	path = filepath.Join(t.TempDir(), "shop.duckdb")
	minutes := 0
	clock := func() (time.Time, error) {
		minutes++
		return today.Add(time.Duration(minutes) * time.Minute), nil
	}
	w, err := Make(ctx, path, Options{Seed: 1, Clock: clock, Program: workedProgram})
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if w.Close(&err); err != nil {
			t.Fatal(err)
		}
	}()
	b, err := NewBench(ctx, w, BenchOptions{Name: "bench page", Path: path})
	if err != nil {
		t.Fatal(err)
	}
	take := func(name string, text []byte, change func(*bench.File)) {
		t.Helper()
		f := bench.File{Name: name, Bytes: text}
		if change != nil {
			change(&f)
		}
		if got, err := b.Import(ctx, f); err != nil || !got.Taken {
			t.Fatalf("import of %s: %+v, %v", name, got, err)
		}
	}
	save := func(e model.Entry) {
		t.Helper()
		if _, err := b.Save(ctx, e); err != nil {
			t.Fatal(err)
		}
	}
	calibrate := func(labels ...model.Labels) {
		t.Helper()
		if _, err := w.Calibrate(ctx, nil, labels...); err != nil {
			t.Fatal(err)
		}
	}
	read := func(name string) []byte {
		t.Helper()
		text, err := demo.Files.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		return text
	}
	calibrate() // of nothing
	// test fills before there is a load to work their figure out from
	take("fills.csv", read("fills.csv"), nil)
	calibrate()
	const most = 120 // of the lines of each file: all parts, and enough builds
	for _, name := range []string{"parts.csv", "products.csv", "checks.csv", "builds.csv"} {
		lines := bytes.SplitAfterN(read(name), []byte("\n"), most+1)
		take(name, bytes.Join(lines[:min(most, len(lines))], nil), nil)
	}
	calibrate(model.Labels{Maker: "Arlo", CoreBatch: model.NewLevel})

	// a plan, finished, corrected, set aside and let in again
	planned = now(t, b).NextID[model.Builds]
	if _, err := b.OpenBuild(ctx, planned, map[string]string{"product": product, "maker": "Arlo", "strand_batch": "S-new"}, false); err != nil {
		t.Fatal(err)
	}
	save(model.Entry{Kind: model.Builds, Text: map[string]string{"build": planned, "weight": "1 lb 1/2 oz", "length": `6' 1 3/4"`, "shot_before": "2412 g", "shot_after": "2301.5 g"}})
	text, err := b.statedText(ctx, model.Builds, planned)
	if err != nil {
		t.Fatal(err)
	}
	text["note"] = "=the scale was wet"
	text["weight"] = "470 g"
	save(model.Entry{Kind: model.Builds, Text: text, Amend: true})
	for _, reason := range []string{"the handle was rewound", ""} {
		if _, err := b.SetAside(ctx, planned, reason); err != nil {
			t.Fatal(err)
		}
	}

	// a build that had its figures worked out, amended; an amended parts list
	text, err = b.statedText(ctx, model.Builds, "W010")
	if err != nil {
		t.Fatal(err)
	}
	text["weight"] = "16 oz"
	save(model.Entry{Kind: model.Builds, Text: text, Amend: true})
	take("parts-2.csv", bytes.Replace(read("parts.csv"), []byte(product+`",fall,fall`), []byte(product+`",thin fall,fall`), 1), func(f *bench.File) { f.Amend = true })

	// entries that state no plan, files of other marks, a workbook
	save(model.Entry{Kind: model.Fills, Text: map[string]string{"fill": "F90", "core_batch": "HC01", "filled_length": "8 in", "shot_mass": "17 g"}})
	save(model.Entry{Kind: model.Checks, Text: map[string]string{"check": "K90", "strand_batch": "NC01", "checked_length": "10 ft", "checked_mass": "14.3 g"}})
	take("comma.csv", []byte("fill;date;core_batch;filled_length_mm;shot_mass_g\nF91;2025-07-01;HC01;203,5;17,25\nF92;2025-07-01;HC01;none;1\nF93;2025-07-01;'=C;200;17\n"),
		func(f *bench.File) { f.Good = true })
	take("book.xlsx", workbook(t), nil)
	takeComma(t, w, "fill,date,core_batch,filled_length_mm,shot_mass_g\nF94,2025-07-01,HC01,\"203,125\",\"17,5\"\n")
	take("hole.csv", []byte("product,part,role,mass_g\nnew whip,fall,fall,12\nnew whip,knot,knot,none\n"), func(f *bench.File) { f.Good = true })

	// an export brought back says the same
	var exported bytes.Buffer
	if err := w.WriteRows(ctx, model.Builds, &exported); err != nil {
		t.Fatal(err)
	}
	take("exported.csv", bytes.Replace(exported.Bytes(), []byte("W020,"), []byte("W920,"), 1), nil)
	full, _, err := w.Log.Full(ctx, model.Builds, "W021") // what was worked out, stated
	if err != nil {
		t.Fatal(err)
	}
	if text, err = Text(full); err != nil {
		t.Fatal(err)
	}
	text["note"] = "as exported"
	save(model.Entry{Kind: model.Builds, Text: text, Amend: true})

	split := model.Split{Effect: model.CoreBatch, Label: "HC02", Since: time.Date(2023, 6, 1, 0, 0, 0, 0, time.UTC)}
	if err := b.Split(ctx, split); err != nil {
		t.Fatal(err)
	}
	calibrate()
	if err := b.Unsplit(ctx, split); err != nil {
		t.Fatal(err)
	}
	w.opt.Through, w.opt.KeepAll = time.Date(2023, 7, 31, 0, 0, 0, 0, time.UTC), true
	calibrate()
	return path, planned
}

// takeComma takes a file that is read with --decimal comma.
func takeComma(t *testing.T, w *Workshop, text string) {
	t.Helper()
	im, err := w.Log.Begin(t.Context(), today)
	if err != nil {
		t.Fatal(err)
	}
	files, err := NewLoader(im, Taking{Read: ingest.Options{Decimal: ingest.DecimalComma}}).
		Load(t.Context(), []Input{{Name: "decimal.csv", Reader: strings.NewReader(text)}})
	if err != nil || files[0].New != 1 {
		t.Fatalf("%+v, %v", files, errors.Join(err, im.Rollback()))
	}
	if err := im.Commit(t.Context()); err != nil {
		t.Fatal(err)
	}
}

// workbook is a workbook with a sheet of test fills and one of builds.
func workbook(t *testing.T) []byte {
	t.Helper()
	book := excelize.NewFile()
	defer book.Close()
	for sheet, rows := range map[string][][]any{
		"Fills spring": {{"fill", "date", "core_batch", "filled_length_mm", "shot_mass_g"}, {"F95", "2025-06-01", "HC01", 203.2, 17.5}},
		"Whips": {{"build", "date", "maker", "product", "weight_g", "predicted_weight_g", "load_length", "predicted_shot_g"},
			{"X1", "2025-06-02", "Arlo", product, 470.25, 455.5, "40 in", 81}},
	} {
		if _, err := book.NewSheet(sheet); err != nil {
			t.Fatal(err)
		}
		for i, row := range rows {
			if err := book.SetSheetRow(sheet, fmt.Sprint("A", i+1), &row); err != nil {
				t.Fatal(err)
			}
		}
	}
	var out bytes.Buffer
	if err := book.Write(&out); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// verified is what a program says of a log that nobody has open.
func verified(t *testing.T, path, program string) *report.Verification {
	t.Helper()
	w, err := Open(t.Context(), path, data.ReadOnly, Options{Program: program})
	if err != nil {
		t.Fatal(err)
	}
	defer w.Close(&err)
	v, err := w.Verify(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// faults are the lines of what is wrong, each after what does not hold.
func faults(v *report.Verification) []string {
	var out []string
	for _, c := range v.Checks {
		for _, f := range c.Faults {
			out = append(out, c.Holds+": "+f.String())
		}
	}
	return out
}

// Verify finds nothing in a log that was only worked with, and says what it
// looked at; it finds and names whatever was changed behind the program's back.
func TestVerify(t *testing.T) {
	path, planned := workedLog(t)
	t.Run("sound", func(t *testing.T) {
		for _, program := range []string{workedProgram, "1.2.4"} {
			v := verified(t, path, program)
			if !v.Sound() || len(v.Notes) > 0 {
				t.Errorf("program %s: %q, notes %q", program, faults(v), v.Notes)
			}
			for _, c := range v.Checks {
				if c.Count == 0 && c.Holds != "what the page saved is there" {
					t.Errorf("nothing was looked at for %q", c.Holds)
				}
			}
		}
	})
	const (
		rows    = "every row is what its line of the kept file states: "
		figures = "what was worked out at import comes out the same again: "
		fits    = "calibrations come out the same when fitted again: "
	)
	type damage struct{ statement, want string }
	for _, c := range []struct {
		name    string
		program string
		damages []damage
	}{
		{"rows", workedProgram, []damage{
			{`update build set weight_g = 1 where id = 'W011'`, rows + `build "W011" (builds.csv:12): weight is "1 g" in the log and `},
			{`update build set maker = 'Arlo' where id = 'W002'`, rows + `build "W002" (builds.csv:3): maker is "Arlo" in the log and "Tamsin" in the kept file: `},
			{`update build set humidity_percent = null where id = 'W001'`, rows + `build "W001" (builds.csv:2): humidity is blank in the log and "41" in the kept file: `},
			{`update build set note = 'as new' where id = 'W004'`, rows + `build "W004" (builds.csv:5): note is "as new" in the log and blank in the kept file: `},
			{`update fill set shot_mass_g = 18 where id = 'F90'`, rows + `test fill "F90" (bench page:2): shot_mass is "18 g" in the log and "17 g" in the kept file: `},
			{`update fill set shot_mass_g = 1725 where id = 'F91'`, rows + `test fill "F91" (comma.csv:2): shot_mass is "1725 g" in the log and "17.25 g" in the kept file: `},
			{`update fill set filled_length_mm = 203125 where id = 'F94'`, rows + `test fill "F94" (decimal.csv:2): filled_length is "203125 mm" in the log and "203.125 mm" in the kept file: `},
			{`update build set weight_g = 471 where id = 'X1'`, rows + `build "X1" (book.xlsx:Whips:2): weight is "471 g" in the log and "470.25 g" in the kept file: `},
			{`update build set predicted_weight_g = 400 where id = '` + planned + `'`, rows + `build "` + planned + `" (bench page:2): predicted_weight is "400 g" in the log and `},
			{`update build_history set weight_g = 1 where id = 'W010'`, rows + `build "W010" (builds.csv:11): weight is "1 g" in the log and `},
			{`update build set line = 14 where id = 'W012'`, rows + `build "W012" (builds.csv:14): the kept file has build "W013" on that line: `},
			{`update build set line = 9999 where id = 'W014'`, rows + `build "W014" (builds.csv:9999): that line of the kept file holds no row: `},
			{`delete from build where id = 'W015'`, rows + `build "W015" (builds.csv:16): is in the kept file and not in the log: `},
			{`delete from part where product = '` + product + `' and role = 'cracker'`, rows + `part "cracker" of product "` + product + `" (parts-2.csv:37): is in the kept file and not in the log: `},
			{`update part set length_mm = 1 where product = '` + product + `' and role = 'fall'`, rows + `part "thin fall" of product "` + product + `" (parts-2.csv:`},
			{`update product set weight_high_g = 1 where product = '` + product + `'`, rows + `product "` + product + `" (products.csv:`},
			{`update build set computed_weight_g = computed_weight_g * 1.00001 where id = 'W017'`, figures + `build "W017" (builds.csv:18): the weight worked out for it is `},
			{`update build set parts_version = 7 where id = 'W018'`, figures + `build "W018" (builds.csv:19): its figures are marked as from parts list 7 of product `},
			{`update fill set computed_shot_g = computed_shot_g * 1.001 where id = 'F03'`, figures + `test fill "F03" (fills.csv:4): the figure worked out for it, `},
			{`update cord_check set computed_mass_g = computed_mass_g * 1.001 where id = 'K90'`, figures + `cord check "K90" (bench page:2): the figure worked out for it, `},
			{``, fits + `calibration 3: the rows it was made from are not those that the log has of that time: `},
		}},
		{"kept files", workedProgram, []damage{
			{`delete from source_piece where source = (select source from build where id = 'W011')`, rows + `builds.csv: the kept file cannot be read any more (`},
			{`update source_piece set content_gzip = '\x1F\x8Bnothing'::blob where source = (select source from fill where id = 'F01')`, rows + `fills.csv: its kept bytes cannot be read (`},
		}},
		{"calibrations", workedProgram, []damage{
			{`delete from calibration where number = 1`, "calibrations are numbered "},
			{`delete from calibration_factor where number = 2 and maker is not null`, fits + `calibration 2: quantities{quantity=shot} factors{maker=`},
			{`update calibration_factor set factor = factor * 1.001 where number = 3 and quantity = 'shot'`, fits + `calibration 3: quantities{quantity=shot} factors{maker=`},
			{`update calibration set result = replace(result, '"mean_se":', '"mean_se":1') where number = 4`, fits + `calibration 4: quantities{quantity=`},
			{`update calibration set result = '{' where number = 5`, fits + `calibration 5: its result cannot be read (`},
		}},
		// Another version may have learnt to work out better what it does not
		// stake its criterion on.
		{"calibrations of another version", "1.2.4", []damage{
			{`update calibration set result = replace(result, '"criterion":-', '"criterion":-1') where number = 4`, fits + `calibration 4: quantities{quantity=`},
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			copied := copyOf(t, path)
			for _, d := range c.damages {
				if d.statement != "" {
					corrupt(t, copied, d.statement)
				}
			}
			found := faults(verified(t, copied, c.program))
			for _, d := range c.damages {
				if !slices.ContainsFunc(found, func(f string) bool { return strings.HasPrefix(f, d.want) }) {
					t.Errorf("after %s: no fault %s", d.statement, d.want)
				}
			}
			if t.Failed() {
				t.Logf("found:\n%s", strings.Join(found, "\n"))
			}
		})
	}
	t.Run("improved", func(t *testing.T) {
		copied := copyOf(t, path)
		corrupt(t, copied, `update calibration set result = replace(result, '"mean_se":', '"mean_se":1') where number = 4`)
		v := verified(t, copied, "1.2.4")
		if !v.Sound() || len(v.Notes) != 1 || !strings.Contains(v.Notes[0], "calibration 4 was saved by another version of the program: ") {
			t.Errorf("%q, notes %q", faults(v), v.Notes)
		}
	})
}

// copyOf copies a log that nobody has open.
func copyOf(t *testing.T, path string) string {
	t.Helper()
	file, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	to := filepath.Join(t.TempDir(), "shop.duckdb")
	if err := os.WriteFile(to, file, 0o666); err != nil {
		t.Fatal(err)
	}
	return to
}

// corrupt changes a log by a statement that no program of ours would run.
func corrupt(t *testing.T, path, statement string) {
	t.Helper()
	db, err := sql.Open("duckdb", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	result, err := db.ExecContext(t.Context(), statement)
	if err != nil {
		t.Fatalf("%s: %v", statement, err)
	}
	if n, err := result.RowsAffected(); err != nil || n == 0 {
		t.Fatalf("%s touched %d rows, %v", statement, n, err)
	}
}

// Two results are compared figure by figure, whatever the order of their lists.
func TestApart(t *testing.T) {
	const result = `{"quantities":[{"quantity":"shot","reml":{"criterion":-10,"blup":[{"effect":"maker","level":"a","value":0.5},{"effect":"maker","level":"b","value":0}]},` +
		`"factors":[{"maker":"a","factor":1.5,"low":null}]}]}`
	for _, c := range []struct {
		name, now, what string
		far             float64
	}{
		{"the same", result, "", 0},
		{"another order", `{"quantities":[{"quantity":"shot","reml":{"blup":[{"effect":"maker","level":"b","value":0},{"effect":"maker","level":"a","value":0.5}],"criterion":-10},` +
			`"factors":[{"maker":"b","factor":9},{"maker":"a","factor":1.5}]}]}`, "", 0},
		{"a little off", strings.Replace(result, "1.5", "1.4", 1), "quantities{quantity=shot} factors{maker=a} factor is 1.5, and fitted again 1.4", 0.1 / 1.5},
		{"near zero", strings.Replace(result, `"b","value":0`, `"b","value":1e-9`, 1), "quantities{quantity=shot} reml blup{effect=maker, level=b} value is 0, and fitted again 1e-09", 1e-6},
		{"missing", strings.Replace(result, `"criterion":-10`, `"criterion":null`, 1), "quantities{quantity=shot} reml criterion is -10, and fitted again missing", math.Inf(1)},
		{"more", strings.Replace(result, `"criterion":-10`, `"criterion":-10,"mean":1`, 1), "quantities{quantity=shot} reml mean is missing, and fitted again 1", math.Inf(1)},
	} {
		was, err := figuresIn([]byte(result))
		if err != nil {
			t.Fatal(err)
		}
		again, err := figuresIn([]byte(c.now))
		if err != nil {
			t.Fatal(err)
		}
		what, far := apart(was, again, func(string) bool { return true })
		if what != c.what || math.Abs(far-c.far) > 1e-12 {
			t.Errorf("%s: %q by %g, want %q by %g", c.name, what, far, c.what, c.far)
		}
	}
}

// Across versions of the program a quantity is judged by its criterion, and by
// its spreads where either fit was an approximate one, which has none.
func TestDeciding(t *testing.T) {
	const exact, large, none = `"reml":{"criterion":-10,"sd":{"maker":0.05,"residual":0.02}}`, `"reml":{"criterion":null,"sd":{"maker":0.05,"residual":0.02}}`, `"reml":null`
	for _, c := range []struct {
		name, was, now        string
		criterion, spread     string
		criterionBy, spreadBy float64
	}{
		{"exact, the same", exact, exact, "", "", 0, 0},
		{"exact, another criterion", exact, strings.Replace(exact, "-10", "-8", 1), "criterion is -10, and fitted again -8", "", 0.2, 0},
		{"exact, other spreads", exact, strings.Replace(exact, "0.05", "0.04", 1), "", "", 0, 0},
		{"large, the same", large, large, "", "", 0, 0},
		{"large, other spreads", large, strings.Replace(large, "0.05", "0.04", 1), "", "sd maker is 0.05, and fitted again 0.04", 0, 0.2},
		{"exact before, large now", exact, large, "", "", 0, 0},
		{"large before, exact now, other scatter", large, strings.Replace(exact, "0.02", "0.01", 1), "", "sd residual is 0.02, and fitted again 0.01", 0, 0.5},
		{"no fit now", exact, none, "", "sd maker is 0.05, and fitted again missing", 0, math.Inf(1)},
		{"no fit before", none, large, "", "sd maker is missing, and fitted again 0.05", 0, math.Inf(1)},
	} {
		figures := func(reml string) map[string]float64 {
			of, err := figuresIn([]byte(`{"quantities":[{"quantity":"shot",` + reml + `}]}`))
			if err != nil {
				t.Fatal(err)
			}
			return of
		}
		was, now := figures(c.was), figures(c.now)
		criteria, spreads := deciding(was, now)
		for _, of := range []struct {
			counts func(string) bool
			what   string
			by     float64
		}{{criteria, c.criterion, c.criterionBy}, {spreads, c.spread, c.spreadBy}} {
			what, by := apart(was, now, of.counts)
			if !strings.HasSuffix(what, of.what) || (what == "") != (of.what == "") || by != of.by && math.Abs(by-of.by) > 1e-12 {
				t.Errorf("%s: %q by %g, want %q by %g", c.name, what, by, of.what, of.by)
			}
		}
	}
}
