package ingest

import (
	"io"
	"strings"
	"testing"
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
	if err := CopyRejects(&b, strings.NewReader(file), reasons); err != nil {
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
	err := CopyRejects(io.Discard, strings.NewReader("product\nbull\n"), map[int][]string{2: {"x"}, 3: {"y"}})
	if want := "ingest: 1 of 2 rejected rows are no longer in the file: it has changed"; err == nil || err.Error() != want {
		t.Errorf("got %v, want %v", err, want)
	}
}
