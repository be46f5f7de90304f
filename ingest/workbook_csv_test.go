package ingest

import (
	"bytes"
	"encoding/csv"
	"io"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"trueplait/model"
)

// TestWorkbookAsCSV: rows of every kind with hostile texts and numbers of all
// sizes read the same from a sheet as from CSV, good or bad.
func TestWorkbookAsCSV(t *testing.T) {
	for _, f := range forms() {
		t.Run(string(f.kind), func(t *testing.T) {
			good, bad := 0, 0
			rapid.Check(t, func(t *rapid.T) {
				var file bytes.Buffer
				w := csv.NewWriter(&file)
				var rows [][]any
				add := func(record []string) {
					w.Write(record)
					row := make([]any, len(record))
					for i, text := range record {
						row[i] = text
					}
					rows = append(rows, row)
				}
				record := make([]string, len(f.columns))
				for i, c := range f.columns {
					record[i] = c.header()
				}
				add(record)
				for range rapid.IntRange(1, 4).Draw(t, "rows") {
					for i, c := range f.columns {
						record[i] = strings.Map(inXML, drawCell(t, c))
					}
					if rapid.Bool().Draw(t, "spoil") {
						record[rapid.IntRange(0, len(record)-1).Draw(t, "column")] = rapid.SampledFrom([]string{"", "x", "1,5", "-2 g", "0", "new", "8-1/2\""}).Draw(t, "text")
					}
					add(record)
					if i := rapid.IntRange(0, len(record)-1).Draw(t, "number"); plainNumber.MatchString(record[i]) {
						rows[len(rows)-1][i], _ = strconv.Atoi(record[i])
					}
				}
				w.Flush()
				want, wantProblems := read(t, file.String(), Options{})
				readers, err := NewWorkbook(bytes.NewReader(workbook(t, tab{"Log", rows})), "x.xlsx", Options{})
				if err != nil {
					t.Fatalf("%v", err)
				}
				got, gotProblems := drain(t, readers[0])
				if len(got) != len(want) || len(gotProblems) != len(wantProblems) {
					t.Fatalf("got %d rows and %v, want %d and %v", len(got), gotProblems, len(want), wantProblems)
				}
				for i := range want {
					if got, want := content(got[i]), content(want[i]); got != want {
						t.Fatalf("row %d:\n got %s\nwant %s", i, got, want)
					}
				}
				for i, p := range wantProblems {
					if q := gotProblems[i]; q.Column != p.Column || q.Text != p.Text || q.Err.Error() != p.Err.Error() {
						t.Fatalf("got %v, want %v", q, p)
					}
				}
				good, bad = good+len(got), bad+len(gotProblems)
			})
			if good < 20 || bad < 20 {
				t.Errorf("only %d rows and %d problems: the property says too little", good, bad)
			}
		})
	}
}

// inXML drops what XML cannot hold.
func inXML(r rune) rune {
	if r < ' ' && !strings.ContainsRune("\t\n\r", r) || r == '\ufffe' || r == '\uffff' {
		return -1
	}
	return r
}

var plainNumber = regexp.MustCompile(`^[1-9][0-9]{0,8}$`)

// drain reads the good rows and the problems of the others.
func drain(t fataler, r *Reader) (rows []model.Row, problems []*RowError) {
	for {
		row, wrong, err := r.Read()
		if err == io.EOF {
			return rows, problems
		}
		if err != nil {
			t.Fatalf("Read: %v", err)
		}
		if row != nil {
			rows = append(rows, row)
		}
		problems = append(problems, wrong...)
	}
}

// TestShopWorkbook: a whole log, numbers as number cells and dates as dates,
// says what the CSV it was made of says.
func TestShopWorkbook(t *testing.T) {
	file := shopFile(300)
	records, err := csv.NewReader(bytes.NewReader(file)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	rows := make([][]any, len(records))
	for i, record := range records {
		for _, cell := range record {
			if x, err := strconv.ParseFloat(cell, 64); err == nil {
				rows[i] = append(rows[i], x)
			} else if at, err := time.Parse(time.DateOnly, cell); err == nil {
				rows[i] = append(rows[i], at)
			} else {
				rows[i] = append(rows[i], cell)
			}
		}
	}
	want, _ := read(t, string(file), Options{})
	readers, err := Open(bytes.NewReader(workbook(t, tab{"Builds", rows})), "builds.xlsx", Options{})
	if err != nil {
		t.Fatal(err)
	}
	got, problems := drain(t, readers[0])
	if len(problems) > 0 || len(want) != 300 || len(got) != len(want) {
		t.Fatalf("read %d rows of %d, %v", len(got), len(want), problems)
	}
	for i := range want {
		if got, want := content(got[i]), content(want[i]); got != want {
			t.Errorf("row %d:\n got %s\nwant %s", i, got, want)
		}
	}
}
