package ingest

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"testing"

	"trueplait/ingest/heap"
)

// outcome reads a file to its end and says in short what became of it: the
// number of rows, and the problems.
func outcome(t *testing.T, file io.Reader, opt Options) (rows int, problems []string) {
	t.Helper()
	readers, err := Open(file, "x.csv", opt)
	var wrong Problems
	if errors.As(err, &wrong) {
		for _, p := range wrong {
			problems = append(problems, p.Error())
		}
		return 0, problems
	}
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range readers {
		for {
			row, wrong, err := r.Read()
			if err == io.EOF {
				break
			}
			if err != nil {
				t.Fatal(err)
			}
			for _, p := range wrong {
				mustBeVisible(t, p)
				problems = append(problems, p.Error())
			}
			if row != nil {
				rows++
			}
		}
	}
	return rows, problems
}

// TestHugeFiles: files made to fill the memory or to keep the program busy are
// read or refused in a few MB.
func TestHugeFiles(t *testing.T) {
	many := func(text string, times int) io.Reader { return &repeated{text: text, times: times} }
	all := func(parts ...any) io.Reader {
		var readers []io.Reader
		for _, p := range parts {
			if text, ok := p.(string); ok {
				p = strings.NewReader(text)
			}
			readers = append(readers, p.(io.Reader))
		}
		return io.MultiReader(readers...)
	}
	const endless = 1 << 40
	const columns, more = 100_000, "build,date,maker,product,weight_g"
	tooLong := func(line int) string {
		return fmt.Sprintf("x.csv:%d: the row is longer than 1024 kB and the file is read no further: look for a quote that is never closed", line)
	}
	const row = "B1,2024-03-31,dita,bull,412"
	for _, c := range []struct {
		name    string
		file    io.Reader
		ignore  bool
		rows    int
		most    int // problems; the last is want
		want    string
		holding uint64 // MB
	}{
		{"a cell of terabytes", all(more+"\nB1,2024-03-31,", many("dita ", endless)), false, 0, 1, tooLong(2), 16},
		{"a quoted cell of terabytes", all(more+"\n"+row+"\nB2,2024-03-31,\"", many("dita\n", endless)), false, 1, 1, tooLong(3), 16},
		{"a header of terabytes", many("build", endless), false, 0, 1, tooLong(1), 16},
		{"a line of 100 MB", all(more+"\n", many("x", 100<<20), "\n"+row+"\n"), false, 0, 1, tooLong(2), 16},
		{"quotes without end", all(more+"\n\"", many(`""`, endless)), false, 0, 1, tooLong(2), 16},
		{"100,000 columns", all(more, many(",x", columns), "\n"+row, many(",1", columns), "\n"), false, 0, 51,
			"x.csv:1: and 99950 more problems with the header", 128},
		{"100,000 columns, passed over", all(more, many(",x", columns), "\n", many(row+strings.Repeat(",1", columns)+"\n", 20)), true, 20, 0, "", 128},
		{"100,000 times one column", all(more, many(",weight_g", columns), "\n"+row, many(",412", columns), "\n"), false, 0, 51,
			"x.csv:1: and 99950 more problems with the header", 128},
		{"a million blank lines", all(more+"\n", many("\n", 1_000_000), row+"\n"), false, 1, 0, "", 16},
		{"two million blank lines before and behind", all(many("\r\n", 2_000_000), more, many("\r\n", 2_000_000), row, many("\r\n", 2_000_000)), false, 1, 0, "", 16},
		{"a million rows of blank cells", all(more+"\n", many(",,,,\n", 1_000_000), row+"\n"), false, 1, 0, "", 16},
		{"10,000 digits", all(more+"\nB1,2024-03-31,dita,bull,", many("1", 10_000), "\n"), false, 0, 1,
			`x.csv:2: weight: "` + strings.Repeat("1", maxQuoted) + `…" has more than 40 digits: round it`, 16},
		{"10,000 decimals", all(more+"\nB1,2024-03-31,dita,bull,0.", many("0", 10_000), "1\n"), false, 0, 1,
			`x.csv:2: weight: "0.` + strings.Repeat("0", maxQuoted-2) + `…" has more than 40 digits: round it`, 16},
		{"a fraction of 300 digits", all("build,date,maker,product,weight\nB1,2024-03-31,dita,bull,1/", many("7", 300), "\n"), false, 0, 1,
			fmt.Sprintf(`x.csv:2: weight: "1/%[1]s…" has no unit: write "1/%[1]s… g" or "1/%[1]s… oz", or name the unit in the header`, strings.Repeat("7", maxQuoted-2)), 16},
		{"NUL without end", many("\x00", endless), false, 0, 1, `x.csv:1: the file is UTF-16: save it as "CSV UTF-8"`, 16},
	} {
		t.Run(c.name, func(t *testing.T) {
			var rows int
			var problems []string
			mem := heap.Held(func() { rows, problems = outcome(t, c.file, Options{IgnoreUnknown: c.ignore}) })
			last := ""
			if len(problems) > 0 {
				last = problems[len(problems)-1]
			}
			if rows != c.rows || len(problems) != c.most || last != c.want {
				t.Errorf("got %d rows, %d problems, the last %q\nwant %d, %d, %q", rows, len(problems), last, c.rows, c.most, c.want)
			}
			if mem > c.holding<<20 {
				t.Errorf("%d MB held, want at most %d", mem>>20, c.holding)
			}
		})
	}
}

// TestHugeParts: a parts list that would take long to plan is refused where it
// is read.
func TestHugeParts(t *testing.T) {
	var file strings.Builder
	file.WriteString("product,part,role,count,strands\n")
	for i := range maxParts + 2 {
		fmt.Fprintf(&file, "bull,layer %d,plait,1000,1000\nsnake %d,layer,plait,,\n", i, i)
	}
	file.WriteString("whip,layer,plait,1001,1001\nwhip,layer,plait,,99999999999999999999\n")
	rows, problems := outcome(t, strings.NewReader(file.String()), Options{})
	want := []string{
		`x.csv:402: product: "bull" has more than 200 parts: check that the list is not there twice`,
		`x.csv:404: product: "bull" has more than 200 parts: check that the list is not there twice`,
		`x.csv:406: count: "1001" is over 1000: check it`,
		`x.csv:406: strands: "1001" is over 1000: check it`,
		`x.csv:407: strands: "99999999999999999999" is over 1000: check it`,
	}
	if rows != 2*maxParts+2 || !slices.Equal(problems, want) {
		t.Errorf("got %d rows and %q, want %d and %q", rows, problems, 2*maxParts+2, want)
	}
}
