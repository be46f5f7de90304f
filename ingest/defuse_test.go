package ingest

import (
	"bufio"
	"encoding/csv"
	"regexp"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func defused(t fataler, text string, comma byte) string {
	t.Helper()
	var b strings.Builder
	out := bufio.NewWriter(&b)
	if err := defuse(out, bufio.NewReader(strings.NewReader(text)), comma); err != nil {
		t.Fatalf("defuse(%q): %v", text, err)
	}
	if err := out.Flush(); err != nil {
		t.Fatalf("defuse(%q): %v", text, err)
	}
	return b.String()
}

func TestDefuse(t *testing.T) {
	for _, c := range []struct {
		text  string
		comma byte
		want  string
	}{
		{"", ',', ""},
		{"B1,dita,412\r\n", ',', "B1,dita,412\r\n"},
		{"=1+1,-2,+x,@y,a=b\n", ',', "'=1+1,-2,'+x,'@y,a=b\n"},
		{"＝1,＋2,－3,＠4,é\n", ',', "'＝1,'＋2,'－3,'＠4,é\n"},
		{"'=1,''=1,'tis,'\n", ',', "'=1,''=1,'tis,'\n"}, // read as they are
		{`"=1+1"," =1","a,=1","a"",=1",""` + "\n", ',', `"'=1+1"," '=1","a,=1","a"",=1",""` + "\n"},
		{`  =1,  "=1"` + "\n", ',', `  '=1,  "'=1"` + "\n"},
		{"a;=1,2;=3", ';', "a;'=1,2;'=3"},
		{"a\t=1\t\t-2", '\t', "a\t'=1\t\t'-2"},
		{"a\t\"\t=1\"", '\t', "a\t\"\t'=1\""},
		{"a,\t=1", ',', "a,\t'=1"},
		{"\"\n=1\",x", ',', "\"\n'=1\",x"},
		{"a\r=1\n=2", ',', "a\r'=1\n'=2"}, // the rest of a file
		{`6' 2",=1,"x"y",=2` + "\n", ',', `6' 2",'=1,"x"y",'=2` + "\n"},
		{`""=1,"x"=2`, ',', `""'=1,"x"'=2`},
		{`"never closed,=1`, ',', `"never closed,=1`},
	} {
		if got := defused(t, c.text, c.comma); got != c.want {
			t.Errorf("defuse(%q):\n got %q\nwant %q", c.text, got, c.want)
		}
	}
}

// TestDefuseIsRestored: of records that are well formed, no cell starts a
// formula, and each reads as it did.
func TestDefuseIsRestored(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		records := rapid.SliceOfN(rapid.SliceOfN(hostile(), 2, 2), 1, 4).Draw(t, "records")
		var b strings.Builder
		w := csv.NewWriter(&b)
		w.Comma = rapid.SampledFrom([]rune(",;\t")).Draw(t, "comma")
		if err := w.WriteAll(records); err != nil {
			t.Fatal(err)
		}
		got := readCSV(t, defused(t, b.String(), byte(w.Comma)), w.Comma)
		want := readCSV(t, b.String(), w.Comma)
		if len(got) != len(want) {
			t.Fatalf("%d records of %d", len(got), len(want))
		}
		for i, record := range got {
			for j, cell := range record {
				trimmed := strings.Trim(cell, " \t\r\n")
				number := regexp.MustCompile(`^[-+][0-9][0-9a-z ,./]*$`).MatchString(trimmed)
				if !number && strings.ContainsAny(firstRune(trimmed), "=+-@＝＋－＠") {
					t.Fatalf("the cell %q may be run", cell)
				}
				read, err := cleanText(cell, true)
				before, errBefore := cleanText(want[i][j], true)
				if read != before || (err == nil) != (errBefore == nil) {
					t.Fatalf("%q became %q, which reads %q, %v, not %q, %v", want[i][j], cell, read, err, before, errBefore)
				}
			}
		}
	})
}

func readCSV(t fataler, text string, comma rune) [][]string {
	t.Helper()
	r := csv.NewReader(strings.NewReader(text))
	r.Comma = comma
	records, err := r.ReadAll()
	if err != nil {
		t.Fatalf("%q: %v", text, err)
	}
	return records
}
