package xlsx

import (
	"archive/zip"
	"bytes"
	"errors"
	"hash/crc32"
	"io"
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
)

const relationType = "http://schemas.openxmlformats.org/officeDocument/2006/relationships/"

// workbook is the parts of a workbook with one sheet, with some replaced.
func workbook(replaced map[string]string) map[string]string {
	parts := map[string]string{
		"_rels/.rels": `<Relationships><Relationship Id="r1" Type="` + relationType + `officeDocument" Target="xl/workbook.xml"/></Relationships>`,
		"xl/_rels/workbook.xml.rels": `<Relationships>` +
			`<Relationship Id="r1" Type="` + relationType + `worksheet" Target="worksheets/sheet1.xml"/>` +
			`<Relationship Id="r2" Type="` + relationType + `sharedStrings" Target="/xl/sharedStrings.xml"/>` +
			`<Relationship Id="r3" Type="` + relationType + `styles" Target="styles.xml"/></Relationships>`,
		"xl/workbook.xml":          `<workbook xmlns:r="x"><sheets><sheet name="Log" sheetId="1" r:id="r1"/></sheets></workbook>`,
		"xl/sharedStrings.xml":     `<sst/>`,
		"xl/styles.xml":            `<styleSheet/>`,
		"xl/worksheets/sheet1.xml": `<worksheet><sheetData/></worksheet>`,
	}
	maps.Copy(parts, replaced)
	return parts
}

// pack makes an archive of parts.
func pack(t testing.TB, parts map[string]string) []byte {
	t.Helper()
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	for _, name := range slices.Sorted(maps.Keys(parts)) {
		part, err := w.Create(name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := io.WriteString(part, parts[name]); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func open(file []byte) (*File, error) { return Open(bytes.NewReader(file), int64(len(file))) }

// readAll opens a file and reads its first sheet to the end.
func readAll(file []byte) (rows []Row, err error) {
	f, err := open(file)
	if err != nil {
		return nil, err
	}
	r, err := f.Rows(f.Sheets[0])
	if err != nil {
		return nil, err
	}
	for {
		row, err := r.Next()
		if err != nil {
			if _, again := r.Next(); again != err {
				return rows, errors.New("the error did not stay")
			}
			if err == io.EOF {
				err = nil
			}
			return rows, err
		}
		rows = append(rows, Row{row.Number, slices.Clone(row.Cells)})
	}
}

func TestSheets(t *testing.T) {
	f := excelize.NewFile()
	for _, name := range []string{"Hidden", "Very hidden", "Ünder \"öld\""} {
		if _, err := f.NewSheet(name); err != nil {
			t.Fatal(err)
		}
	}
	if err := errors.Join(f.SetSheetVisible("Hidden", false), f.SetSheetVisible("Very hidden", false, true),
		f.AddChartSheet("Chart", &excelize.Chart{Type: excelize.Bar, Series: []excelize.ChartSeries{{Values: "Sheet1!$A$1:$A$2"}}})); err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := f.Write(&b); err != nil {
		t.Fatal(err)
	}
	got, err := open(b.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, s := range got.Sheets {
		if s.Hidden {
			s.Name += " (hidden)"
		}
		names = append(names, s.Name)
	}
	if want := []string{"Sheet1", "Hidden (hidden)", "Very hidden (hidden)", `Ünder "öld"`}; !slices.Equal(names, want) {
		t.Errorf("got %q, want %q", names, want)
	}
}

func TestOtherFiles(t *testing.T) {
	good := pack(t, workbook(nil))
	if _, err := readAll(good); err != nil {
		t.Fatalf("a good workbook: %v", err)
	}
	word := workbook(map[string]string{"xl/workbook.xml": `<w:document xmlns:w="x"/>`})
	binary := workbook(map[string]string{"_rels/.rels": `<Relationships><Relationship Id="r1" Type="` + relationType + `officeDocument" Target="xl/workbook.bin"/></Relationships>`})
	without := func(name string) map[string]string {
		parts := workbook(nil)
		delete(parts, name)
		return parts
	}
	backslashes := map[string]string{}
	for name, text := range workbook(nil) {
		backslashes[strings.ToUpper(strings.ReplaceAll(name, "/", `\`))] = text
	}
	flipped := bytes.Clone(pack(t, workbook(map[string]string{"xl/worksheets/sheet1.xml": `<worksheet><sheetData><row><c><v>412</v></c></row></sheetData></worksheet>`})))
	stored := storedArchive(t, workbook(map[string]string{"xl/worksheets/sheet1.xml": `<worksheet><sheetData><row><c><v>412</v></c></row></sheetData></worksheet>`}))
	stored[bytes.Index(stored, []byte("<v>412"))+3] = '9'
	for _, c := range []struct {
		name string
		file []byte
		want error
	}{
		{"not a zip", []byte("build,date\n"), ErrDamaged},
		{"empty", nil, ErrDamaged},
		{"cut off", good[:len(good)-10], ErrDamaged},
		{"cut in half", good[:len(good)/2], ErrDamaged},
		{"some archive", pack(t, map[string]string{"a.txt": "a"}), ErrNoWorkbook},
		{"OpenDocument", pack(t, map[string]string{"mimetype": "application/vnd.oasis.opendocument.spreadsheet", "content.xml": "<x/>"}), ErrOpenDocument},
		{"a letter", pack(t, word), ErrNoWorkbook},
		{"binary workbook", pack(t, binary), ErrNoWorkbook},
		{"no list of sheets", pack(t, without("xl/workbook.xml")), ErrDamaged},
		{"sheet missing", pack(t, without("xl/worksheets/sheet1.xml")), ErrDamaged},
		{"strings missing", pack(t, without("xl/sharedStrings.xml")), ErrDamaged},
		{"list of sheets cut off", pack(t, workbook(map[string]string{"xl/workbook.xml": "<workbook><sheets>"})), ErrDamaged},
		{"list of sheets blank", pack(t, workbook(map[string]string{"xl/workbook.xml": ""})), ErrDamaged},
		{"two sheets of one name", pack(t, workbook(map[string]string{"xl/workbook.xml": `<workbook xmlns:r="x"><sheets><sheet name="a" r:id="r1"/><sheet name="a" r:id="r1"/></sheets></workbook>`})), ErrDamaged},
		{"a sheet without a name", pack(t, workbook(map[string]string{"xl/workbook.xml": `<workbook xmlns:r="x"><sheets><sheet r:id="r1"/></sheets></workbook>`})), ErrDamaged},
		{"strings cut off", pack(t, workbook(map[string]string{"xl/sharedStrings.xml": "<sst><si><t>a"})), ErrDamaged},
		{"names in capitals with backslashes", pack(t, backslashes), nil},
		{"no strings, no styles", pack(t, workbook(map[string]string{"xl/_rels/workbook.xml.rels": `<Relationships><Relationship Id="r1" Type="` + relationType + `worksheet" Target="worksheets/sheet1.xml"/></Relationships>`})), nil},
		{"not yet changed", flipped, nil},
		{"a digit changed on the disk", stored, ErrDamaged},
	} {
		if _, err := readAll(c.file); !errors.Is(err, c.want) {
			t.Errorf("%s: got %v, want %v", c.name, err, c.want)
		}
	}
}

// storedArchive makes an archive of parts without compressing them.
func storedArchive(t *testing.T, parts map[string]string) []byte {
	t.Helper()
	return rawArchive(t, parts, nil)
}

// rawArchive stores parts, and states the sizes given in place of the true
// ones.
func rawArchive(t *testing.T, parts map[string]string, sizes map[string]uint64) []byte {
	t.Helper()
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	for _, name := range slices.Sorted(maps.Keys(parts)) {
		text := []byte(parts[name])
		header := &zip.FileHeader{Name: name, Method: zip.Store, CRC32: crc32.ChecksumIEEE(text),
			CompressedSize64: uint64(len(text)), UncompressedSize64: uint64(len(text))}
		if size, ok := sizes[name]; ok {
			header.UncompressedSize64 = size
		}
		part, err := w.CreateRaw(header)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := part.Write(text); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// TestBombs: a part over its limit is refused by the size that the archive
// states, and unpacks to no more than that.
func TestBombs(t *testing.T) {
	const sheet, texts = "xl/worksheets/sheet1.xml", "xl/sharedStrings.xml"
	var size *SizeError
	for _, c := range []struct {
		name  string
		sizes map[string]uint64
		want  string
	}{
		{"strings", map[string]uint64{texts: MaxStrings + 1}, "/xl/sharedStrings.xml unpacks to over 32 MB"},
		{"sheet", map[string]uint64{sheet: MaxUnpacked + 1}, "xl/worksheets/sheet1.xml unpacks to over 256 MB"},
		{"beyond 64 bits with a sign", map[string]uint64{sheet: 1<<64 - 1}, "xl/worksheets/sheet1.xml unpacks to over 256 MB"},
		{"together", map[string]uint64{sheet: MaxUnpacked}, "the workbook unpacks to over 256 MB"},
	} {
		_, err := readAll(rawArchive(t, workbook(nil), c.sizes))
		if !errors.As(err, &size) || err.Error() != c.want {
			t.Errorf("%s: got %v, want %v", c.name, err, c.want)
		}
	}
	// A sheet of blanks that states a tenth of its size.
	var packed bytes.Buffer
	w := zip.NewWriter(&packed)
	for name, text := range workbook(nil) {
		if name == sheet {
			continue
		}
		part, _ := w.Create(name)
		io.WriteString(part, text)
	}
	blanks := `<worksheet><sheetData>` + strings.Repeat(" ", 1<<20) + `</sheetData></worksheet>`
	honest := pack(t, map[string]string{sheet: blanks})
	r, err := zip.NewReader(bytes.NewReader(honest), int64(len(honest)))
	if err != nil {
		t.Fatal(err)
	}
	header := r.File[0].FileHeader
	header.UncompressedSize64 /= 10
	raw, err := r.File[0].OpenRaw()
	if err != nil {
		t.Fatal(err)
	}
	part, err := w.CreateRaw(&header)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := io.Copy(part, raw); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := readAll(packed.Bytes()); !errors.Is(err, ErrDamaged) {
		t.Errorf("a part larger than it states: got %v, want %v", err, ErrDamaged)
	}
}
