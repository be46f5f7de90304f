package xlsx

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"

	"trueplait/ingest/heap"
)

// openAll opens a file and reads its sheets to the end.
func openAll(file []byte) error {
	f, err := open(file)
	if err != nil {
		return err
	}
	for _, s := range f.Sheets {
		r, err := f.Rows(s)
		for err == nil {
			_, err = r.Next()
		}
		if err != io.EOF {
			return err
		}
	}
	return nil
}

// TestHostileParts: parts that are made to fill the memory, or to reach what is
// not in the package, are refused; what a few kB unpack to is never held.
func TestHostileParts(t *testing.T) {
	const book, relations, sheet, texts, styles = "xl/workbook.xml", "xl/_rels/workbook.xml.rels", "xl/worksheets/sheet1.xml", "xl/sharedStrings.xml", "xl/styles.xml"
	const nested, long = "elements are nested over 64 deep", "a tag or text is longer than 1 MB"
	const deep = 4 << 20 // bytes, which would hold a hundred MB
	fill := func(text string, size int) string { return strings.Repeat(text, size/len(text)) }
	target := func(path string) string {
		return `<Relationships><Relationship Id="r1" Type="` + relationType + `worksheet" TargetMode="External" Target="` + path + `"/></Relationships>`
	}
	const laughs = `<!DOCTYPE x [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;"><!ENTITY c SYSTEM "file:///etc/hostname">]>`
	for _, c := range []struct {
		name, part, text string
		want             string // "": it is read
		holding          uint64 // MB
	}{
		{"rows nested", sheet, `<worksheet><sheetData>` + fill("<a>", deep), nested, 8},
		{"sheet nested", sheet, fill("<a>", deep), nested, 8},
		{"strings nested", texts, `<sst><si>` + fill("<r>", deep), nested, 8},
		{"styles nested", styles, fill("<xf>", deep), nested, 8},
		{"list nested", book, `<workbook><sheets>` + fill("<a>", deep), nested, 8},
		{"a tag of attributes", styles, `<styleSheet` + fill(` a=""`, MaxList-100), long, 64},
		{"a text", texts, `<sst><si><t>` + fill("long ", MaxStrings-100), long, 8},
		{"a comment", sheet, `<worksheet><!--` + fill("long ", MaxStrings), long, 8},
		{"blank strings", texts, `<sst>` + fill("<si/>", MaxStrings-100) + `</sst>`, "over 1973790 strings", 128},
		{"styles", styles, `<styleSheet><cellXfs>` + fill("<xf/>", MaxList-100) + `</cellXfs></styleSheet>`, "", 128},
		{"relations", relations, `<Relationships>` + fill("<Relationship/>", MaxList-100) + `</Relationships>`, "", 128},
		{"sheets", book, `<workbook xmlns:r="x"><sheets>` + strings.Repeat(`<sheet r:id="r1"/>`, maxSheets+1) + `</sheets></workbook>`, "1001 sheets of at most 1000", 8},
		{"a million blank rows", sheet, `<worksheet><sheetData>` + strings.Repeat("<row/>", maxRows) + `</sheetData></worksheet>`, "", 16},
		{"entities", sheet, laughs + `<worksheet><sheetData><row><c t="inlineStr"><is><t>&b;</t></is></c></row></sheetData></worksheet>`, "XML syntax error on line 1: invalid character entity &b;", 8},
		{"an external entity", texts, laughs + `<sst><si><t>&c;</t></si></sst>`, "XML syntax error on line 1: invalid character entity &c;", 8},
		{"a target outside", relations, target("../../../../etc/hostname"), "damaged: ../../../etc/hostname: it is missing", 8},
		{"an absolute target", relations, target("/etc/hostname"), "damaged: etc/hostname: it is missing", 8},
		{"a target elsewhere", relations, target("https://example.com/sheet.xml"), "damaged: xl/https:/example.com/sheet.xml: it is missing", 8},
	} {
		t.Run(c.name, func(t *testing.T) {
			file := pack(t, workbook(map[string]string{c.part: c.text}))
			var err error
			mem := heap.Held(func() { err = openAll(file) })
			switch {
			case c.want == "" && err != nil:
				t.Errorf("got %v", err)
			case c.want != "" && (!errors.Is(err, ErrDamaged) || !strings.HasSuffix(err.Error(), c.want)):
				t.Errorf("got %v, want %s", err, c.want)
			}
			if mem > c.holding<<20 {
				t.Errorf("%d MB held for a file of %d kB, want at most %d", mem>>20, len(file)>>10, c.holding)
			}
		})
	}
}

// TestHostileArchives: what an archive holds beside the parts of a workbook is
// not unpacked, however much it is.
func TestHostileArchives(t *testing.T) {
	archive := func(fill func(w *zip.Writer) error) []byte {
		var b bytes.Buffer
		w := zip.NewWriter(&b)
		if err := errors.Join(fill(w), w.Close()); err != nil {
			t.Fatal(err)
		}
		return b.Bytes()
	}
	add := func(w *zip.Writer, name string, text []byte) error {
		part, err := w.Create(name)
		if err == nil {
			_, err = part.Write(text)
		}
		return err
	}
	zeros := archive(func(w *zip.Writer) error { return add(w, "zeros", make([]byte, 16<<20)) })
	for _, c := range []struct {
		name    string
		file    []byte
		want    error
		holding uint64 // MB
	}{
		{"archives in archives", archive(func(w *zip.Writer) (err error) {
			for i := range 100 {
				err = errors.Join(err, add(w, fmt.Sprint(i, ".xlsx"), zeros))
			}
			return err
		}), ErrNoWorkbook, 8},
		{"a workbook full of archives", archive(func(w *zip.Writer) (err error) {
			for name, text := range workbook(nil) {
				err = errors.Join(err, add(w, name, []byte(text)))
			}
			for i := range 100 {
				err = errors.Join(err, add(w, fmt.Sprint("xl/media/", i, ".zip"), zeros))
			}
			return err
		}), nil, 8},
		{"100,000 parts", archive(func(w *zip.Writer) (err error) {
			for i := range 100_000 {
				if _, err := w.CreateHeader(&zip.FileHeader{Name: fmt.Sprint(i), Method: zip.Store}); err != nil {
					return err
				}
			}
			return nil
		}), ErrNoWorkbook, 80},
	} {
		var err error
		mem := heap.Held(func() { err = openAll(c.file) })
		if !errors.Is(err, c.want) {
			t.Errorf("%s: got %v, want %v", c.name, err, c.want)
		}
		if mem > c.holding<<20 {
			t.Errorf("%s: %d MB held, want at most %d", c.name, mem>>20, c.holding)
		}
	}
}
