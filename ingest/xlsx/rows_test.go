package xlsx

import (
	"bytes"
	"errors"
	"fmt"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"
)

// sheetOf is a workbook whose sheet has these rows, and strings and styles to
// refer to.
func sheetOf(t testing.TB, rows string) []byte {
	return pack(t, workbook(map[string]string{
		"xl/worksheets/sheet1.xml": `<worksheet><cols><col min="1"/></cols><sheetData>` + rows + `</sheetData><mergeCells count="1"/></worksheet>`,
		"xl/sharedStrings.xml": `<sst><si><t>dita</t></si><si><r><t>8 ft</t></r><r><rPr><b/></rPr><t xml:space="preserve"> bull</t></r>` +
			`<rPh sb="0" eb="1"><t>reading</t></rPh><phoneticPr fontId="1"/></si><si/></sst>`,
		"xl/styles.xml": `<styleSheet><numFmts><numFmt numFmtId="164" formatCode="yyyy\-mm\-dd"/></numFmts>` +
			`<cellStyleXfs><xf numFmtId="9"/></cellStyleXfs><cellXfs><xf/><xf numFmtId="14"/><xf numFmtId="164"/><xf numFmtId="10"/></cellXfs></styleSheet>`,
	}))
}

func TestCells(t *testing.T) {
	for _, c := range []struct {
		name, rows string
		want       string // column, type and text of each cell, a row number before each row
	}{
		{"numbers", `<row r="2"><c r="A2"><v>412</v></c><c r="C2" t="n"><v> 14.5 </v></c><c r="D2" s="3"><v>0.45</v></c></row>`,
			`2: 1 number 412, 3 number 14.5, 4 number 45%`},
		{"dates", `<row r="1"><c r="A1" s="1"><v>45382</v></c><c r="B1" s="2"><v>45382.4375</v></c><c r="C1" s="2"><v>-3</v></c>` +
			`<c r="D1" t="d"><v>2024-03-31</v></c><c r="E1" t="d"><v>2024-03-31T00:00:00.000Z</v></c><c r="F1" t="d"><v>2024-03-31T10:30:00</v></c></row>`,
			`1: 1 date 2024-03-31, 2 date 2024-03-31 10:30, 3 date -3, 4 date 2024-03-31, 5 date 2024-03-31, 6 date 2024-03-31 10:30:00`},
		{"texts", `<row r="1"><c r="A1" t="s"><v>0</v></c><c r="B1" t="s" s="1"><v>1</v></c><c r="C1" t="s"><v>2</v></c>` +
			`<c r="D1" t="inlineStr"><is><t>a</t><r><t>b</t></r></is></c><c r="E1" t="str"><v>x_x000D_y</v></c></row>`,
			"1: 1 text dita, 2 text 8 ft bull, 4 text ab, 5 text x\ry"},
		{"truth and errors", `<row r="1"><c r="A1" t="b"><v>1</v></c><c r="B1" t="b"><v>0</v></c><c r="C1" t="e"><v>#REF!</v></c></row>`,
			`1: 1 bool TRUE, 2 bool FALSE, 3 failed #REF!`},
		{"formulas", `<row r="1"><c r="A1"><f>B1*2</f><v>824</v></c><c r="B1" t="str"><f>"a"</f><v>a</v></c><c r="C1" t="str"><f>""</f><v></v></c>` +
			`<c r="D1"><f>1+1</f></c><c r="E1" t="str"><f>1+2</f></c><c r="F1"><f>1+3</f><v/></c><c r="G1" s="1"><f>TODAY()</f><v>45382</v></c><c r="H1"><f t="shared" si="0"/><v>3</v></c></row>`,
			`1: 1 number 824, 2 text a, 4 unresolved =1+1, 5 unresolved =1+2, 6 unresolved =1+3, 7 date 2024-03-31, 8 number 3`},
		{"no numbers", `<row r="1"><c r="A1"><v>NaN</v></c><c r="B1"><v>x</v></c><c r="C1" s="77"><v>1</v></c><c r="D1" s="x"><v>2</v></c><c r="E1" t="new"><v>3</v></c></row>`,
			`1: 1 text NaN, 2 text x, 3 number 1, 4 number 2, 5 number 3`},
		{"blanks", `<row r="1"><c r="A1"/></row><row r="3"/><row r="5"><c r="B5" s="1"/><c r="C5" t="s"><v></v></c><c r="XFD5"><v>1</v></c></row><row r="1048576"><c r="A1048576"><v>2</v></c></row>`,
			"5: 16384 number 1\n1048576: 1 number 2"},
		{"without names", `<row><c><v>1</v></c><c r="C1"><v>2</v></c><c><v>3</v></c></row><row r="4"><c><v>4</v></c></row><row><c><v>5</v></c></row>`,
			"1: 1 number 1, 3 number 2, 4 number 3\n4: 1 number 4\n5: 1 number 5"},
		{"strange elements", `<ext/><row r="1"><ext><c><v>9</v></c></ext><c r="A1"><ext><v>9</v></ext><v>1<b>2</b>3</v></c></row>`,
			"1: 1 number 13"},
		{"prefixes", `<x:row xmlns:x="y" r="1"><x:c r="A1"><x:v>1</x:v></x:c></x:row>`, "1: 1 number 1"},
	} {
		t.Run(c.name, func(t *testing.T) {
			rows, err := readAll(sheetOf(t, c.rows))
			if err != nil {
				t.Fatal(err)
			}
			if got := describe(rows); got != c.want {
				t.Errorf("got\n%s\nwant\n%s", got, c.want)
			}
		})
	}
}

func describe(rows []Row) string {
	names := map[Type]string{Text: "text", Number: "number", Date: "date", Bool: "bool", Failed: "failed", Unresolved: "unresolved"}
	var lines []string
	for _, row := range rows {
		var cells []string
		for _, c := range row.Cells {
			cells = append(cells, fmt.Sprint(c.Column, " ", names[c.Type], " ", c.Text))
		}
		lines = append(lines, fmt.Sprint(row.Number, ": ", strings.Join(cells, ", ")))
	}
	return strings.Join(lines, "\n")
}

func TestDamagedRows(t *testing.T) {
	const good = `<row r="7"><c r="A7"><v>1</v></c></row>`
	for _, c := range []struct{ name, rows, want string }{
		{"row twice", `<row r="7"/>`, `row "7" follows row 7`},
		{"row back", `<row r="3"/>`, `row "3" follows row 7`},
		{"row is no number", `<row r="x"/>`, `row "x" follows row 7`},
		{"too many rows", `<row r="1048577"/>`, "row 1048577 of at most 1048576"},
		{"one more than the last row", `<row r="1048576"/><row/>`, "row 1048577 of at most 1048576"},
		{"cell twice", `<row><c r="A8"/><c r="A8"/></row>`, `cell "A8" follows column 1 in row 8`},
		{"cell of no column", `<row><c r="8"/></row>`, `cell "8" follows column 0 in row 8`},
		{"cell too far", `<row><c r="XFE8"/></row>`, `cell "XFE8" follows column 0 in row 8`},
		{"cell much too far", `<row><c r="ZZZZZZZZZZZZZZZZZZZZZZZZZ8"/></row>`, `cell "ZZZZZZZZZZZZZZZZZZZZZZZZZ8" follows column 0 in row 8`},
		{"no such string", `<row><c t="s"><v>3</v></c></row>`, `string "3" of 3`},
		{"string is no number", `<row><c t="s"><v>x</v></c></row>`, `string "x" of 3`},
		{"not closed", `<row><c>`, "XML syntax error on line 1: element <c> closed by </sheetData>"},
		{"endless text", `<row><c><v>` + strings.Repeat("1", 1<<20+1<<13), "a tag or text is longer than 1 MB"},
		{"endless tag", `<row><c` + strings.Repeat(` a=""`, 1<<20/5+1<<13), "a tag or text is longer than 1 MB"},
		{"endless cell", `<row><c><is>` + strings.Repeat("<r></r>", 16<<20/7+1<<13), "a row is longer than 16 MB"},
		{"endless nesting", `<row><c><is>` + strings.Repeat("<r>", 64), "elements are nested over 64 deep"},
		{"endless nesting, passed over", `<row><extLst>` + strings.Repeat("<r>", 64), "elements are nested over 64 deep"},
	} {
		t.Run(c.name, func(t *testing.T) {
			rows, err := readAll(sheetOf(t, good+c.rows))
			if want := "damaged: xl/worksheets/sheet1.xml: " + c.want; !errors.Is(err, ErrDamaged) || err.Error() != want {
				t.Errorf("got %v, want %s", err, want)
			}
			if describe(rows) != "7: 1 number 1" {
				t.Errorf("the row before: got %q", describe(rows))
			}
		})
	}
	for _, text := range []string{"", "<worksheet>", "<worksheet/>", "<worksheet><sheetData>", "<worksheet><sheetData><row>"} {
		if _, err := readAll(pack(t, workbook(map[string]string{"xl/worksheets/sheet1.xml": text}))); !errors.Is(err, ErrDamaged) {
			t.Errorf("a sheet that is %q: got %v, want %v", text, err, ErrDamaged)
		}
	}
}

func TestColumns(t *testing.T) {
	for n, name := range map[int]string{1: "A", 26: "Z", 27: "AA", 702: "ZZ", 703: "AAA", maxColumns: "XFD"} {
		if got := ColumnName(n); got != name {
			t.Errorf("ColumnName(%d) = %q, want %q", n, got, name)
		}
		if got := columnNumber(name + "7"); got != n {
			t.Errorf("columnNumber(%q) = %d, want %d", name+"7", got, n)
		}
	}
}

// TestSecondOpinion: another reader finds the same texts and numbers in what
// it wrote.
func TestSecondOpinion(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := excelize.NewFile()
		rows := rapid.IntRange(1, 8).Draw(t, "rows")
		for row := 1; row <= rows; row++ {
			for column := 1; column <= rapid.IntRange(0, 6).Draw(t, "columns"); column++ {
				name, _ := excelize.CoordinatesToCellName(column, row)
				var value any
				switch rapid.IntRange(0, 3).Draw(t, "type") {
				case 0:
					value = rapid.Float64Range(-1e9, 1e9).Draw(t, "number")
				case 1:
					value = rapid.Int().Draw(t, "count")
				case 2:
					value = rapid.StringMatching(`[ -~äé½″\n]{0,9}`).Draw(t, "text")
				}
				if err := f.SetCellValue("Sheet1", name, value); err != nil {
					t.Fatal(err)
				}
			}
		}
		var b bytes.Buffer
		if err := f.Write(&b); err != nil {
			t.Fatal(err)
		}
		again, err := excelize.OpenReader(bytes.NewReader(b.Bytes()))
		if err != nil {
			t.Fatal(err)
		}
		want, err := again.GetRows("Sheet1", excelize.Options{RawCellValue: true})
		if err != nil {
			t.Fatal(err)
		}
		got, err := readAll(b.Bytes())
		if err != nil {
			t.Fatal(err)
		}
		for _, row := range got {
			for _, c := range row.Cells {
				text := want[row.Number-1][c.Column-1]
				want[row.Number-1][c.Column-1] = ""
				if c.Type == Number {
					text, _ = plain.number(text)
				}
				if c.Text != text {
					t.Fatalf("%s%d: got %q, want %q", ColumnName(c.Column), row.Number, c.Text, text)
				}
			}
		}
		if left := strings.Join(slices.Concat(want...), ""); left != "" {
			t.Fatalf("not found: %q", left)
		}
	})
}

// TestDateSystems: a day is the same in both, written by another program.
func TestDateSystems(t *testing.T) {
	day := time.Date(2024, 3, 31, 0, 0, 0, 0, time.UTC)
	for _, date1904 := range []bool{false, true} {
		f := excelize.NewFile()
		if err := errors.Join(f.SetWorkbookProps(&excelize.WorkbookPropsOptions{Date1904: &date1904}), f.SetCellValue("Sheet1", "A1", day),
			f.SetCellValue("Sheet1", "B1", day.Add(10*time.Hour))); err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		if err := f.Write(&b); err != nil {
			t.Fatal(err)
		}
		rows, err := readAll(b.Bytes())
		if err != nil {
			t.Fatal(err)
		}
		if got, want := describe(rows), "1: 1 date 2024-03-31, 2 date 2024-03-31 10:00"; got != want {
			t.Errorf("1904 %v: got %q, want %q", date1904, got, want)
		}
	}
}

// TestFarCells: blank cells take no memory, however far the last one is.
func TestFarCells(t *testing.T) {
	var rows strings.Builder
	for i := 1; i <= 1000; i++ {
		fmt.Fprintf(&rows, `<row r="%d"><c r="XFD%d"><v>1</v></c></row>`, i*1000, i*1000)
	}
	file := sheetOf(t, rows.String())
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	got, err := readAll(file)
	runtime.ReadMemStats(&after)
	if err != nil || len(got) != 1000 {
		t.Fatalf("got %d rows, %v", len(got), err)
	}
	if taken := (after.TotalAlloc - before.TotalAlloc) >> 20; taken > 16 {
		t.Errorf("%d MB for 1,000 cells", taken)
	}
}

func BenchmarkRows(b *testing.B) {
	const rows, columns = 20_000, 20
	f := excelize.NewFile()
	w, err := f.NewStreamWriter("Sheet1")
	if err != nil {
		b.Fatal(err)
	}
	for i := 1; i <= rows; i++ {
		var cells []any
		for j := range columns {
			if j%3 == 0 {
				cells = append(cells, fmt.Sprintf("text %d", i))
				continue
			}
			cells = append(cells, float64(i)/7)
		}
		if err := w.SetRow(fmt.Sprintf("A%d", i), cells); err != nil {
			b.Fatal(err)
		}
	}
	var file bytes.Buffer
	if err := errors.Join(w.Flush(), f.Write(&file)); err != nil {
		b.Fatal(err)
	}
	b.Run(fmt.Sprintf("rows=%d/cols=%d", rows, columns), func(b *testing.B) {
		b.ReportAllocs()
		var read []Row
		for b.Loop() {
			if read, err = readAll(file.Bytes()); err != nil {
				b.Fatal(err)
			}
		}
		if len(read) != rows || len(read[0].Cells) != columns {
			b.Fatalf("read %d rows of %d cells", len(read), len(read[0].Cells))
		}
	})
}
