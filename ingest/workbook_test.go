package ingest

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"trueplait/model"
)

// tab is a sheet to be written: rows of cells, nil for a blank one.
type tab struct {
	name string
	rows [][]any
}

// Cells that need more than a value.
type (
	formula struct {
		text   string
		result any
	}
	share   float64 // shown in per cent
	failure string  // #REF! and the like
)

// workbook writes sheets with another program.
func workbook(t fataler, tabs ...tab) []byte {
	f := excelize.NewFile()
	must := func(err error) {
		if err != nil {
			t.Fatalf("writing a workbook: %v", err)
		}
	}
	inPercent, err := f.NewStyle(&excelize.Style{NumFmt: 10})
	must(err)
	must(f.SetSheetName("Sheet1", tabs[0].name))
	for i, tab := range tabs {
		if i > 0 {
			_, err := f.NewSheet(tab.name)
			must(err)
		}
		w, err := f.NewStreamWriter(tab.name)
		must(err)
		for i, row := range tab.rows {
			for j, value := range row {
				switch v := value.(type) {
				case formula:
					row[j] = excelize.Cell{Formula: v.text, Value: v.result}
				case share:
					row[j] = excelize.Cell{StyleID: inPercent, Value: float64(v)}
				case failure:
					row[j] = string(v)
				}
			}
			must(w.SetRow(fmt.Sprintf("A%d", i+1), row))
		}
		must(w.Flush())
	}
	var b bytes.Buffer
	must(f.Write(&b))
	return edit(t, b.Bytes(), func(_, text string) string {
		return writtenFailure.ReplaceAllString(text, `t="e"><v>$1</v>`)
	})
}

// writtenFailure is an error cell as the writer, which has none, writes it.
var writtenFailure = regexp.MustCompile(`t="inlineStr"><is><t>(#REF!|#DIV/0!)</t></is>`)

// edit changes the parts of a workbook.
func edit(t fataler, file []byte, change func(name, text string) string) []byte {
	r, err := zip.NewReader(bytes.NewReader(file), int64(len(file)))
	if err != nil {
		t.Fatalf("%v", err)
	}
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	for _, entry := range r.File {
		in, err := entry.Open()
		if err != nil {
			t.Fatalf("%v", err)
		}
		text, err := io.ReadAll(in)
		if err != nil {
			t.Fatalf("%v", err)
		}
		out, err := w.Create(entry.Name)
		if err != nil {
			t.Fatalf("%v", err)
		}
		io.WriteString(out, change(entry.Name, string(text)))
	}
	if err := w.Close(); err != nil {
		t.Fatalf("%v", err)
	}
	return b.Bytes()
}

// sheetLines reads all sheets of a workbook to their ends and returns what was
// found, one line for a row, a problem or a warning.
func sheetLines(t testing.TB, file []byte, opt Options) []string {
	t.Helper()
	readers, err := Open(bytes.NewReader(file), "x.xlsx", opt)
	if err != nil {
		return strings.Split(err.Error(), "\n")
	}
	var out []string
	for _, r := range readers {
		for {
			row, problems, err := r.Read()
			if err == io.EOF {
				break
			}
			if err != nil {
				t.Fatal(err)
			}
			if (row == nil) != (len(problems) > 0) {
				t.Fatalf("Read() = %v with problems %v", row, problems)
			}
			if row != nil {
				out = append(out, fmt.Sprintf("%s %s %s", row.From(), row.Kind(), row.Key()))
			}
			for _, p := range append(problems, r.Warnings()...) {
				out = append(out, p.Error())
			}
		}
	}
	return out
}

var (
	day      = time.Date(2024, 3, 31, 0, 0, 0, 0, time.UTC)
	header   = []any{"build", "date", "maker", "product", "weight_g", "length", "note"}
	goodCell = []any{"B1", day, "dita", "bull", 412, `6' 2"`}
)

// with is the good row with another build, and other cells by their place.
func with(id string, cells map[int]any) []any {
	row := append(slices.Clone(goodCell), nil, nil, nil)
	row[0] = id
	for i, c := range cells {
		row[i] = c
	}
	return row
}

func TestReadWorkbook(t *testing.T) {
	today := time.Date(2024, 4, 1, 0, 0, 0, 0, time.UTC)
	builds := func(rows ...[]any) tab { return tab{"Builds", append([][]any{header}, rows...)} }
	for _, c := range []struct {
		name string
		tabs []tab
		opt  Options
		want []string
	}{
		{"a good row", []tab{builds(goodCell)}, Options{}, []string{"x.xlsx:Builds:2 builds B1"}},
		{"no rows", []tab{builds()}, Options{}, nil},
		{"header further down and to the right", []tab{{"Log", [][]any{{nil}, {}, {nil, nil, "Product", nil, "Weight low (oz)"}, {nil, nil, "bull", nil, 14.5}, {}, {nil, nil, "snake", nil, 0}}}},
			Options{}, []string{"x.xlsx:Log:4 products bull", `x.xlsx:Log!E6: weight_low: "0" is zero: leave it blank if it is not known`}},
		{"blank rows", []tab{builds([]any{nil}, goodCell, []any{" ", nil, ""}, with("B2", nil), []any{nil, nil, nil})}, Options{},
			[]string{"x.xlsx:Builds:3 builds B1", "x.xlsx:Builds:5 builds B2"}},
		{"several in a row", []tab{builds(with("B1", map[int]any{1: "31.3.2024", 2: "new", 3: nil, 4: -1, 5: 5}))}, Options{}, []string{
			`x.xlsx:Builds!B2: date: "31.3.2024" is not a date: write it like 2024-03-31`,
			`x.xlsx:Builds!C2: maker: "new" is a reserved word: use another label`,
			`x.xlsx:Builds!E2: weight: "-1" is negative: leave it blank if it is not known`,
			`x.xlsx:Builds!F2: length: "5" has no unit: write "5 mm" or "5 in", or name the unit in the header`,
			`x.xlsx:Builds!D2: product: "" is blank: builds need it`}},
		{"the row as a whole", []tab{builds(with("B1", map[int]any{4: nil, 5: nil}))}, Options{}, []string{
			"x.xlsx:Builds!A2: weight, length and shot_used are all blank: a build needs one of them"}},
		{"warnings", []tab{builds(with("B1", map[int]any{1: today.AddDate(0, 0, 1)}))}, Options{Today: today}, []string{
			"x.xlsx:Builds:2 builds B1", `x.xlsx:Builds!B2: date: "2024-04-02" is after today, 2024-04-01: check it`}},
		{"times", []tab{builds(with("B1", map[int]any{1: day.Add(90 * time.Minute)}), with("B2", map[int]any{1: "2024-03-31"}), with("B3", map[int]any{1: 45382}))}, Options{}, []string{
			`x.xlsx:Builds!B2: date: "2024-03-31 01:30" is not a date: write it like 2024-03-31`,
			"x.xlsx:Builds:3 builds B2",
			`x.xlsx:Builds!B4: date: "45382" is not a date: write it like 2024-03-31`}},
		{"an amount that became a date", []tab{builds(with("B1", map[int]any{5: time.Date(2024, 1, 8, 0, 0, 0, 0, time.UTC)}))}, Options{}, []string{
			`x.xlsx:Builds!F2: length: "2024-01-08" is a date, which a spreadsheet makes of 8-1/2 or 6/2: format the cell as text and write the amount again`}},
		{"errors", []tab{builds(with("B1", map[int]any{4: failure("#DIV/0!")}), with("B2", map[int]any{6: failure("#REF!")}), with("B3", map[int]any{6: "#4 shot"}))}, Options{}, []string{
			`x.xlsx:Builds!E2: weight: "#DIV/0!" is an error of the spreadsheet: correct its formula, or leave the cell blank`,
			`x.xlsx:Builds!G3: note: "#REF!" is an error of the spreadsheet: correct its formula, or leave the cell blank`,
			"x.xlsx:Builds:4 builds B3"}},
		{"formulas", []tab{builds(with("B1", map[int]any{4: formula{"400+12", 412}}), with("B2", map[int]any{4: formula{"400+12", nil}}))}, Options{}, []string{
			"x.xlsx:Builds:2 builds B1",
			`x.xlsx:Builds!E3: weight: "=400+12" is a formula without a result: open the workbook in a spreadsheet program and save it again`}},
		{"beside the table", []tab{builds(append(with("B1", nil), "mean", 3), with("B2", nil), []any{nil, nil, nil, nil, nil, nil, nil, 7})}, Options{}, []string{
			`x.xlsx:Builds!J2: "mean" stands under no header: name its column, move it to another sheet or say --ignore-unknown`,
			"x.xlsx:Builds:3 builds B2",
			`x.xlsx:Builds!H4: "7" stands under no header: name its column, move it to another sheet or say --ignore-unknown`}},
		{"beside the table, ignored", []tab{builds(append(with("B1", nil), "mean", 3), []any{nil, nil, nil, nil, nil, nil, nil, 7})}, Options{IgnoreUnknown: true}, []string{
			"x.xlsx:Builds:2 builds B1"}},
		{"decimals in text", []tab{builds(with("B1", map[int]any{4: 412.125, 5: "188,5 cm"}), with("B2", map[int]any{4: "412.125"}), with("B3", map[int]any{4: "412,5", 5: nil}))}, Options{}, []string{
			`x.xlsx:Builds!F2: length: "188,5 cm" has a comma: write decimals with a point and thousands without a mark, or say --decimal comma`,
			"x.xlsx:Builds:3 builds B2",
			`x.xlsx:Builds!E4: weight: "412,5" has a comma: write decimals with a point and thousands without a mark, or say --decimal comma`}},
		{"decimal comma", []tab{builds(with("B1", map[int]any{4: 412.125, 5: "188,5 cm"}), with("B2", map[int]any{4: "412.125"}))}, Options{Decimal: DecimalComma}, []string{
			"x.xlsx:Builds:2 builds B1",
			`x.xlsx:Builds!E3: weight: "412.125" has a point, where decimals have a comma (--decimal comma): write it like 14,5`}},
		{"text with separators and quotes", []tab{builds(with(`a;b,"c"`, map[int]any{6: "one\ntwo;\tthree"}))}, Options{}, []string{`x.xlsx:Builds:2 builds a;b,"c"`}},
		{"header problems", []tab{{"A", [][]any{{"build", "date", "maker", "product", "weight_g", "Weight (oz)", "colour"}}}, {"B", [][]any{{}, {nil, "fill", "build"}}}}, Options{}, []string{
			`x.xlsx:A!F1: "Weight (oz)" is the column weight, as "weight_g" is: keep one of them`,
			`x.xlsx:A!G1: "colour" is not a column of builds; the nearest is "maker": rename it, delete it or say --ignore-unknown`,
			"x.xlsx:B!A1: the header has columns of both builds and fills: " + kindsByHeader}},
		{"a table that is none of ours", []tab{builds(goodCell), {"Sums", [][]any{{"product", "mean"}, {"bull", 412}}}}, Options{}, []string{
			`x.xlsx:Sums!B1: "mean" is not a column of products; the nearest is "product": rename it, delete it or say --ignore-unknown`,
			"x.xlsx:Sums!A1: the sheet was read as products: " + kindsByHeader + "; hide a sheet that is not for the log"}},
		{"kinds in order, other sheets", []tab{{"Notes", [][]any{{"To do"}, {"build", "date"}}}, builds(goodCell), {"Blank", nil}, {"---", [][]any{{"---"}}}, {"Old", [][]any{header, with("B0", nil)}},
			{"Checks", [][]any{{"check", "date", "strand_batch", "checked_length_m", "checked_mass_g"}, {"K1", day, "N1", 10, 47}}},
			{"Lines", [][]any{{"product"}, {"bull"}}}, {"Parts", [][]any{{"product", "part", "role"}, {"bull", "belly", "plait"}}}}, Options{}, []string{
			"x.xlsx:Parts:2 parts bull", "x.xlsx:Lines:2 products bull", "x.xlsx:Checks:2 checks K1", "x.xlsx:Builds:2 builds B1", "x.xlsx:Old:2 builds B0"}},
		{"no sheet for the log", []tab{{"Notes", [][]any{{"To do"}}}, {"Blank\u202e", nil}}, Options{}, []string{
			`x.xlsx:1: no sheet's first row tells what its rows are, of "Notes", "Blank\u202e": ` + kindsByHeader}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := strings.Join(sheetLines(t, workbook(t, c.tabs...), c.opt), "\n")
			if want := strings.Join(c.want, "\n"); got != want {
				t.Errorf("got\n%s\nwant\n%s", got, want)
			}
		})
	}
}

// TestTypedCells: what the cells of one row with all types come to.
func TestTypedCells(t *testing.T) {
	file := workbook(t, tab{"Log", [][]any{
		{"build", "date", "maker", "product", "core_batch", "strand_batch", "weight (oz)", "length", "humidity", "calibration", "shot_factor", "started", "set_aside"},
		{17, formula{"TODAY()", day}, []excelize.RichTextRun{{Text: "di"}, {Text: "ta", Font: &excelize.Font{Bold: true}}}, true, "0017", 1e21, 14.6, "6 ft 2 1/2 in", share(0.07), 7.0, 1.0312, day, "'=1+1"},
		{18, day, "dita", "bull", nil, nil, "1 lb 3 1/2 oz", formula{`"8½ in"`, "8½ in"}, 45, 8, 1e-6, nil, nil},
	}})
	// The writer rounds to 15 digits, spreadsheets store 17.
	file = edit(t, file, func(_, text string) string { return strings.Replace(text, ">14.6<", ">14.600000000000001<", 1) })
	readers, err := NewWorkbook(bytes.NewReader(file), "x.xlsx", Options{Decimal: DecimalComma})
	if err != nil || len(readers) != 1 {
		t.Fatal(readers, err)
	}
	r := readers[0]
	if r.Kind() != model.Builds || r.Sheet() != "Log" || r.Name() != "x.xlsx:Log" {
		t.Errorf("got %s in %q of %q", r.Kind(), r.Sheet(), r.Name())
	}
	first, problems, err := r.Read()
	if err != nil || problems != nil {
		t.Fatal(problems, err)
	}
	nan := model.Unknown
	want := model.Build{ID: "17", Date: day, Labels: model.Labels{Maker: "dita", Product: "TRUE", CoreBatch: "0017", StrandBatch: "1000000000000000000000"},
		PredictedWeightG: nan, PredictedLengthMM: nan, PredictedShotG: nan, PredictedStrandMM: nan, Calibration: 7, ShotFactor: 1.0312, BodyFactor: nan, LengthFactor: nan,
		WeightG: 14.600000000000001 * 45359237 / 1600000, LengthMM: 74.5 * 25.4, ShotUsedG: nan, StrandCutMM: nan, StrandLeftMM: nan, LoadLengthMM: nan,
		Started: day, Humidity: 7, SetAside: "=1+1"}
	if got := content(first); got != content(&want) {
		t.Errorf("got  %s\nwant %s", got, content(&want))
	}
	second, problems, err := r.Read()
	if err != nil || problems != nil {
		t.Fatal(problems, err)
	}
	if b := second.(*model.Build); !near(b.WeightG, 19.5*nistOunce) || !near(b.LengthMM, 8.5*nistInch) || b.Humidity != 45 || b.ShotFactor != 1e-6 {
		t.Errorf("got %+v", b)
	}
}

func TestHiddenAndMerged(t *testing.T) {
	f := excelize.NewFile()
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	for _, sheet := range []string{"Sheet1", "Hidden"} {
		if sheet != "Sheet1" {
			_, err := f.NewSheet(sheet)
			must(err)
		}
		must(f.SetSheetRow(sheet, "A1", &header))
		for i, id := range []string{"B1", "B2"} {
			row := with(id, nil)
			must(f.SetSheetRow(sheet, fmt.Sprint("A", i+2), &row))
		}
	}
	must(f.SetSheetVisible("Hidden", false))
	must(f.SetCellValue("Sheet1", "C3", nil))
	must(f.MergeCell("Sheet1", "C2", "C3")) // one maker for both
	var b bytes.Buffer
	must(f.Write(&b))
	want := []string{"x.xlsx:Sheet1:2 builds B1", `x.xlsx:Sheet1!C3: maker: "" is blank: builds need it`}
	if got := sheetLines(t, b.Bytes(), Options{}); !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
	hidden := edit(t, b.Bytes(), func(_, text string) string {
		return strings.ReplaceAll(text, `<sheet name="Sheet1"`, `<sheet state="veryHidden" name="Sheet1"`)
	})
	want = []string{"x.xlsx:1: all sheets are hidden, and hidden sheets are not read: unhide those for the log"}
	if got := sheetLines(t, hidden, Options{}); !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestNoSheets(t *testing.T) {
	file := edit(t, workbook(t, tab{"Log", [][]any{header}}), func(_, text string) string { return strings.ReplaceAll(text, "/worksheet\"", "/chartsheet\"") })
	want := []string{"x.xlsx:1: the workbook has no sheet with cells: " + kindsByHeader}
	if got := sheetLines(t, file, Options{}); !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
	var many []tab
	for i := range maxListed + 2 {
		many = append(many, tab{fmt.Sprint(i), nil})
	}
	if got := sheetLines(t, workbook(t, many...), Options{}); len(got) != 1 || !strings.Contains(got[0], `of "0", "1", "2",`) || !strings.Contains(got[0], `"11" and 2 more: `) {
		t.Errorf("got %q", got)
	}
}

func TestProblem(t *testing.T) {
	wrong := errors.New("is in the log already")
	sheets, err := Open(bytes.NewReader(workbook(t, tab{"Log", [][]any{{}, append([]any{nil}, header...), append([]any{nil}, goodCell...)}})), "x.xlsx", Options{})
	if err != nil {
		t.Fatal(err)
	}
	files, err := Open(strings.NewReader(buildHeader), "x.csv", Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		reader       *Reader
		column, text string
		want         string
	}{
		{sheets[0], "maker", "dita", `x.xlsx:Log!D7: maker: "dita" is in the log already`},
		{sheets[0], "core_batch", "C1", `x.xlsx:Log!A7: core_batch: "C1" is in the log already`},
		{sheets[0], "", "", `x.xlsx:Log!A7: is in the log already`},
		{files[0], "maker", "dita", `x.csv:7: maker: "dita" is in the log already`},
	} {
		if got := c.reader.Problem(7, c.column, c.text, wrong); got.Error() != c.want || got.Line != 7 || got.Start != 7 || !errors.Is(got, wrong) {
			t.Errorf("got %v (%+v), want %s", got, *got, c.want)
		}
	}
}
