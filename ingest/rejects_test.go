package ingest

import (
	"bytes"
	"io"
	"strings"
	"testing"
	"time"
)

// reject reads a file as import --keep-good does and returns what is written
// beside it.
func reject(t *testing.T, file string) string {
	t.Helper()
	r, err := NewReader(strings.NewReader(file), "x.csv", Options{})
	if err != nil {
		t.Fatal(err)
	}
	reasons := map[int][]string{}
	for {
		_, problems, err := r.Read()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range problems {
			reasons[p.Start] = append(reasons[p.Start], p.Err.Error())
		}
	}
	var b strings.Builder
	if err := copyRejects(&b, strings.NewReader(file), reasons); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestCopyRejects(t *testing.T) {
	const ragged = `"the row has 1 cell where the header has 5 cells: a cell with the separator or a line break in it needs quotes"`
	for _, c := range []struct{ name, file, want string }{
		{"none", "build,date,maker,product,weight_g\nB1,2024-03-31,dita,bull,412\n", "line,reason,build,date,maker,product,weight_g\n"},
		{"verbatim", "\ufeffbuild, date ,maker,product,\"weight_g\"\r\n\r\nB1,2024-03-31,dita,bull,412\r\n\"B\r\n2\",2024-03-31, di  ta ,bull,\r\nB3\r\nB4,2024-03-31,dita,bull,412\r\nB5,2024-03-31,dita,bull,\"4\"\"",
			"line,reason,build, date ,maker,product,\"weight_g\"\r\n" +
				"4,\"holds a line break or tab: keep it on one line\",\"B\r\n2\",2024-03-31, di  ta ,bull,\r\n" +
				"6," + ragged + ",B3\r\n" +
				"8,\"opens a quote that is never closed: close it, and write a quote inside the cell twice\",B5,2024-03-31,dita,bull,\"4\"\"\n"},
		{"semicolons and two reasons", "build;date;maker;product;weight_g\nB1;x;dita;bull;-4\nB2;2024-03-31;dita;bull;412,5\n",
			"line;reason;build;date;maker;product;weight_g\n" +
				`2;"is not a date: write it like 2024-03-31; is negative: leave it blank if it is not known";B1;x;dita;bull;-4` + "\n"},
		{"the rest after a record too long", "build,date,maker,product,weight_g\nB1,2024-03-31,dita,bull,412\n\n\"B2" + strings.Repeat("x\n", maxRecord) + "end",
			"line,reason,build,date,maker,product,weight_g\n" +
				"4,\"the row is longer than 1024 kB and the file is read no further: look for a quote that is never closed\",\"B2" + strings.Repeat("x\n", maxRecord) + "end"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := reject(t, c.file); got != c.want {
				t.Errorf("got\n%.2000q\nwant\n%.2000q", got, c.want)
			}
		})
	}
}

func TestCopyRejectsOfChangedFile(t *testing.T) {
	err := copyRejects(io.Discard, strings.NewReader("product\nbull\n"), map[int][]string{2: {"x"}, 3: {"y"}})
	if want := "ingest: 1 of 2 rejected rows are no longer in the file: it has changed"; err == nil || err.Error() != want {
		t.Errorf("got %v, want %v", err, want)
	}
}

// TestCopySheetRejects: what is written reads as the sheet did, and holds
// nothing that a spreadsheet would work out.
func TestCopySheetRejects(t *testing.T) {
	file := workbook(t, tab{"Other", [][]any{{"product"}, {"bull"}}}, tab{"Log", [][]any{
		{nil, "build", "date", nil, "maker", "product", "weight_g", "length", "note"},
		{nil, "B1", day, nil, "dita", "bull", 412},
		{nil, "=B2", day, nil, "'@dita", "+bull", -412.5, "6' 2\"", "one\ntwo, \"three\""},
		{"stray", "B3", day, nil, "dita", "bull", 412.5, "188.5 cm"},
		{},
		{nil, "B4", day.Add(time.Hour), nil, true, "bull", failure("#REF!"), formula{"A1", nil}, share(0.5)},
	}})
	for _, c := range []struct {
		name string
		opt  Options
		want string
	}{
		{"point", Options{}, "line,reason,build,date,maker,product,weight_g,length,note\n" +
			`3,is negative: leave it blank if it is not known,'=B2,2024-03-31,'@dita,'+bull,-412.5,"6' 2""","one` + "\n" + `two, ""three"""` + "\n" +
			`4,"stands under no header: name its column, move it to another sheet or say --ignore-unknown",B3,2024-03-31,dita,bull,412.5,188.5 cm,` + "\n" +
			`6,"is not a date: write it like 2024-03-31; is an error of the spreadsheet: correct its formula, or leave the cell blank; ` +
			`is a formula without a result: open the workbook in a spreadsheet program and save it again",B4,2024-03-31 01:00,TRUE,bull,#REF!,'=A1,50%` + "\n"},
		{"comma", Options{Decimal: DecimalComma, IgnoreUnknown: true}, "line,reason,build,date,maker,product,weight_g,length,note\n" +
			`3,is negative: leave it blank if it is not known,'=B2,2024-03-31,'@dita,'+bull,"-412,5","6' 2""","one` + "\n" + `two, ""three"""` + "\n" +
			`4,"has a point, where decimals have a comma (--decimal comma): write it like 14,5",B3,2024-03-31,dita,bull,"412,5",188.5 cm,` + "\n" +
			`6,"is not a date: write it like 2024-03-31; is an error of the spreadsheet: correct its formula, or leave the cell blank; ` +
			`is a formula without a result: open the workbook in a spreadsheet program and save it again",B4,2024-03-31 01:00,TRUE,bull,#REF!,'=A1,50%` + "\n"},
	} {
		t.Run(c.name, func(t *testing.T) {
			readers, err := Open(bytes.NewReader(file), "x.xlsx", c.opt)
			if err != nil || len(readers) != 2 {
				t.Fatal(readers, err)
			}
			r := readers[1]
			_, problems := drain(t, r)
			reasons := map[int][]string{}
			for _, p := range problems {
				reasons[p.Start] = append(reasons[p.Start], p.Err.Error())
			}
			var b strings.Builder
			if err := r.CopyRejects(&b, bytes.NewReader(file), reasons); err != nil {
				t.Fatal(err)
			}
			if b.String() != c.want {
				t.Errorf("got\n%s\nwant\n%s", b.String(), c.want)
			}
			reasons[5] = []string{"x"}
			err = r.CopyRejects(io.Discard, bytes.NewReader(file), reasons)
			if want := "ingest: 1 of 4 rejected rows are no longer in the file: it has changed"; err == nil || err.Error() != want {
				t.Errorf("got %v, want %v", err, want)
			}
			err = r.CopyRejects(io.Discard, bytes.NewReader(workbook(t, tab{"Log 2", nil})), reasons)
			if want := "ingest: 4 of 4 rejected rows are no longer in the file: it has changed"; err == nil || err.Error() != want {
				t.Errorf("got %v, want %v", err, want)
			}
		})
	}
}

// TestCopyRejectsByReader: a reader of CSV copies as CopyRejects does.
func TestCopyRejectsByReader(t *testing.T) {
	const file = "product;weight_low_g\nbull;x\nsnake;4,5\n"
	r, err := NewReader(strings.NewReader(file), "x.csv", Options{})
	if err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	if err := r.CopyRejects(&b, strings.NewReader(file), map[int][]string{2: {"is no number"}}); err != nil {
		t.Fatal(err)
	}
	if want := "line;reason;product;weight_low_g\n2;\"is no number\";bull;x\n"; b.String() != want {
		t.Errorf("got %q, want %q", b.String(), want)
	}
}
