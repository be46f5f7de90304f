package ingest

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"runtime"
	"slices"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/xuri/excelize/v2"
)

func TestOpen(t *testing.T) {
	good := workbook(t, tab{"Log", [][]any{header, goodCell}})
	locked := func() []byte {
		f, err := excelize.OpenReader(bytes.NewReader(good))
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		if err := f.Write(&b, excelize.Options{Password: "x"}); err != nil {
			t.Fatal(err)
		}
		return b.Bytes()
	}()
	archive := func(names ...string) []byte {
		var b bytes.Buffer
		w := zip.NewWriter(&b)
		for _, name := range names {
			if _, err := w.Create(name); err != nil {
				t.Fatal(err)
			}
		}
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
		return b.Bytes()
	}
	const old = `the file is in the format before .xlsx (.xls): save it as .xlsx or the sheet as "CSV UTF-8"`
	for _, c := range []struct {
		name, file string
		want       string
	}{
		{"log.csv", buildHeader + goodBuild, ""},
		{"log.csv", string(good), ""}, // the bytes tell
		{"log.XLSX", string(good), ""},
		{"log.xlsx", buildHeader + goodBuild, "log.xlsx:1: the file is named .xlsx but is no workbook: save it as one, or name it .csv if it is text"},
		{"log.xlsx", "", "log.xlsx:1: the file is named .xlsx but is no workbook: save it as one, or name it .csv if it is text"},
		{"log.csv", "", "log.csv:1: the file is empty: its first line must name the columns"},
		{"log.xls", oleMagic + "rest", "log.xls:1: " + old},
		{"log.xlsx", oleMagic + "rest", "log.xlsx:1: " + old},
		{"log.xlsx", string(locked), "log.xlsx:1: the workbook is locked with a password: open it and save it without one"},
		{"log.ods", string(archive("mimetype", "content.xml")), `log.ods:1: the file is an OpenDocument spreadsheet (.ods): save it as .xlsx or the sheet as "CSV UTF-8"`},
		{"log.zip", string(archive("log.csv")), `log.zip:1: the file is no workbook (.xlsx): save it as one or the sheet as "CSV UTF-8"`},
		{"log.xlsx", string(good[:len(good)-9]), "log.xlsx:1: the workbook is damaged: zip: not a valid zip file: open it in a spreadsheet program and save it again"},
		{"log.xlsx", zipMagic + strings.Repeat("x", maxWorkbook), `log.xlsx:1: the workbook is over 32 MB: save its sheets as "CSV UTF-8", which may be larger`},
	} {
		readers, err := Open(strings.NewReader(c.file), c.name, Options{})
		if c.want == "" {
			if err != nil || len(readers) != 1 {
				t.Errorf("%s of %d bytes: got %v, %v", c.name, len(c.file), readers, err)
				continue
			}
			if rows, problems := drain(t, readers[0]); len(rows) != 1 || problems != nil {
				t.Errorf("%s of %d bytes: got %v, %v", c.name, len(c.file), rows, problems)
			}
			continue
		}
		if problems := (Problems)(nil); !errors.As(err, &problems) || err.Error() != c.want || readers != nil {
			t.Errorf("%s of %d bytes: got %v, %v, want %v", c.name, len(c.file), readers, err, c.want)
		}
	}
}

func TestOpenErrors(t *testing.T) {
	broken := errors.New("disk on fire")
	for _, start := range []string{"", zipMagic, buildHeader} {
		_, err := Open(io.MultiReader(strings.NewReader(start), iotest.ErrReader(broken)), "x", Options{})
		if !errors.Is(err, broken) || !strings.HasPrefix(err.Error(), "x: ") {
			t.Errorf("after %q: got %v, want %v with the file's name", start, err, broken)
		}
	}
}

// TestDamagedSheet: the rows before the damage are read, and the row behind
// them is a problem and the last.
func TestDamagedSheet(t *testing.T) {
	file := workbook(t, tab{"Log", [][]any{header, goodCell, with("B2", nil), with("B3", nil)}}, tab{"Bad", [][]any{{"product"}}})
	file = edit(t, file, func(_, text string) string { return strings.Replace(text, `<c r="B4"`, `<c r="Z4"/><c r="B4"`, 1) })
	got := sheetLines(t, file, Options{})
	const trouble = `the workbook is damaged: xl/worksheets/sheet1.xml: cell "B4" follows column 26 in row 4: open it in a spreadsheet program and save it again`
	want := []string{"x.xlsx:Log:2 builds B1", "x.xlsx:Log:3 builds B2", "x.xlsx:Log!A4: " + trouble}
	if !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
	file = edit(t, file, func(_, text string) string { return strings.Replace(text, `<c r="A1"`, `<c r="C1"/><c r="A1"`, 1) })
	want = []string{
		`x.xlsx:Log!A1: the workbook is damaged: xl/worksheets/sheet1.xml: cell "A1" follows column 3 in row 1: open it in a spreadsheet program and save it again`,
		`x.xlsx:Bad!A1: the workbook is damaged: xl/worksheets/sheet2.xml: cell "A1" follows column 3 in row 1: open it in a spreadsheet program and save it again`}
	if got := sheetLines(t, file, Options{}); !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
}

// TestZipBomb: a workbook that unpacks to more than is read is refused before
// it is unpacked.
func TestZipBomb(t *testing.T) {
	good := workbook(t, tab{"Log", [][]any{header, goodCell}})
	r, err := zip.NewReader(bytes.NewReader(good), int64(len(good)))
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	for _, part := range r.File {
		if !strings.HasSuffix(part.Name, "sheet1.xml") {
			if err := w.Copy(part); err != nil {
				t.Fatal(err)
			}
			continue
		}
		out, err := w.Create(part.Name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := io.Copy(out, &repeated{text: strings.Repeat(" ", 1<<16), times: 1 + 256<<4}); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	bomb := b.Bytes()
	if len(bomb) > 1<<20 {
		t.Fatalf("the bomb has %d bytes", len(bomb))
	}
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	got := sheetLines(t, bomb, Options{})
	runtime.ReadMemStats(&after)
	want := []string{`x.xlsx:Log!A1: xl/worksheets/sheet1.xml unpacks to over 256 MB: save the sheet as "CSV UTF-8", which may be larger`}
	if !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
	if taken := (after.TotalAlloc - before.TotalAlloc) >> 20; taken > 8 {
		t.Errorf("%d MB taken", taken)
	}
}

// TestLongRow: many cells that share one long text are a row like any other
// that is too long, and the rows behind it are read.
func TestLongRow(t *testing.T) {
	long := strings.Repeat("x", 30_000)
	names, cells := slices.Clone(header), with("B1", map[int]any{6: "short"})
	for i := range 40 {
		names, cells = append(names, fmt.Sprint("own ", i)), append(cells[:len(names)-1:len(names)-1], long)
	}
	got := sheetLines(t, workbook(t, tab{"Log", [][]any{names, cells, with("B2", nil)}}), Options{IgnoreUnknown: true})
	if want := []string{"x.xlsx:Log!A2: the row holds more than 1024 kB: shorten its texts", "x.xlsx:Log:3 builds B2"}; !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
}
