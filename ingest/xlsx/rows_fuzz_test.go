package xlsx

import (
	"errors"
	"math"
	"strconv"
	"strings"
	"testing"
)

// FuzzRows reads a workbook whose sheet, strings and styles are the fuzzed
// text, past the checksums of the archive. Rows and cells come in order and
// inside the limits of a sheet, none blank, numbers are numbers, and whatever
// cannot be read is said to be damaged or too large.
func FuzzRows(f *testing.F) {
	const header = `<row r="1"><c r="A1" t="s"><v>0</v></c><c r="B1" t="inlineStr"><is><r><t>da</t></r><r><t>te</t></r></is></c></row>`
	const texts, styles = `<sst><si><t>build</t></si><si><r><t>B</t></r><rPh><t>x</t></rPh></si></sst>`, `<styleSheet><numFmts><numFmt numFmtId="164" formatCode="yyyy\-mm\-dd"/></numFmts><cellXfs><xf numFmtId="0"/><xf numFmtId="164"/><xf numFmtId="9"/></cellXfs></styleSheet>`
	for _, rows := range []string{
		header,
		header + `<row><c t="s"><v>1</v></c><c s="1"><v>45382</v></c><c s="2"><v>0.07</v></c><c t="b"><v>1</v></c><c t="e"><v>#REF!</v></c></row>`,
		`<row r="1048576"><c r="XFD1048576"><f>1+1</f></c></row>`,
		`<row><c t="d"><v>2024-03-31T00:00:00Z</v></c><c t="str"><f>x</f><v>_x202E_</v></c><c><v>1e308</v></c><c><v>0x1p4</v></c></row>`,
		`<row><c t="inlineStr"><is><t>` + strings.Repeat("<b>", 80) + `</is></c></row>`,
		`<row><c><v>&x;</v></c></row>`,
	} {
		f.Add(`<worksheet><sheetData>`+rows+`</sheetData></worksheet>`, texts, styles)
	}
	f.Add(`<!DOCTYPE x [<!ENTITY x SYSTEM "file:///etc/passwd">]><worksheet><sheetData><row><c><v>&x;</v></c></row></sheetData></worksheet>`, texts, styles)
	f.Fuzz(func(t *testing.T, sheet, texts, styles string) {
		rows, err := readAll(pack(t, workbook(map[string]string{
			"xl/worksheets/sheet1.xml": sheet, "xl/sharedStrings.xml": texts, "xl/styles.xml": styles})))
		if size := (*SizeError)(nil); err != nil && !errors.Is(err, ErrDamaged) && !errors.As(err, &size) {
			t.Fatalf("got the error %v", err)
		}
		row := 0
		for _, r := range rows {
			if r.Number <= row || r.Number > maxRows || len(r.Cells) == 0 {
				t.Fatalf("row %d of %d cells after row %d", r.Number, len(r.Cells), row)
			}
			row = r.Number
			column := 0
			for _, c := range r.Cells {
				if c.Column <= column || c.Column > maxColumns || c.Text == "" {
					t.Fatalf("the cell %+v after column %d", c, column)
				}
				column = c.Column
				if c.Type == Number {
					x, err := strconv.ParseFloat(strings.TrimSuffix(c.Text, "%"), 64)
					if err != nil || math.IsInf(x, 0) || math.IsNaN(x) || strings.ContainsAny(c.Text, "eExX_") {
						t.Fatalf("the cell %+v is no number", c)
					}
				}
			}
		}
	})
}
