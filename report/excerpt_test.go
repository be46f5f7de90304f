package report

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"trueplait/calibrate"
	"trueplait/model"
)

// guild is a made-up log of very many makers, batches, products, fills, rows
// set aside and changes.
func guild() Page {
	const many = 3000
	p := fakeShop(20_000)
	names := make([]string, many)
	for i := range names {
		names[i] = fmt.Sprintf("maker number %d of the guild", i)
	}
	for i := range p.Calibration.Quantities {
		q := &p.Calibration.Quantities[i]
		factor, maker := q.Factors[0], q.Makers[0]
		for j, name := range names {
			factor.Labels.Maker, maker.Maker = name, name
			q.Factors, q.Makers = append(q.Factors, factor), append(q.Makers, maker)
			key := model.RowKey{Kind: model.Builds, ID: fmt.Sprintf("G-%05d", j)}
			q.SetAside = append(q.SetAside, calibrate.SetAside{Key: key, Date: p.Calibration.Through, Ratio: 1.4, Reason: model.FarOut, Text: "far from the rest"})
			q.Shifts = append(q.Shifts, calibrate.Shift{Effect: model.Maker, Level: name, First: key, Last: key, Date: p.Calibration.Through, Rows: 3, Ratio: 1.1})
			q.Unlinked = append(q.Unlinked, calibrate.Unlinked{Makers: []string{name}})
			q.Warnings = append(q.Warnings, "no batch shared by "+name)
		}
		q.Unlinked = append(q.Unlinked, calibrate.Unlinked{Makers: names})
		q.Warnings[0] = "no batch shared by these makers: " + series(names)
	}
	line, fill := p.Lines[0], p.Fills[len(p.Fills)-1]
	for i := range many {
		x := smallPromise()
		x.Labels.Product = fmt.Sprintf("product %04d", i)
		p.Promises = append(p.Promises, x)
		line.Product = x.Labels.Product
		p.Lines = append(p.Lines, line)
		p.Fills = append(p.Fills, fill)
		p.Calibrations = append(p.Calibrations, SavedMark{i + 5, p.Calibration.Through})
	}
	p.Calibration.Builds = 100_000
	for i := range p.Proof.Quantities {
		p.Proof.Quantities[i].LeftOut = 80_000
	}
	p.ProofNewest = 20_000
	return p
}

// TestPageIsBounded checks that a page stays under 1 MB beside the library
// that draws its charts, and says what it leaves out.
func TestPageIsBounded(t *testing.T) {
	page := render(t, guild())
	if size := len(page) - len(echartsJS); size > 1_000_000 {
		t.Errorf("%d bytes beside the library, want 1 MB at most", size)
	}
	text := string(bytes.ReplaceAll(page, []byte(nbsp), []byte(" ")))
	for _, want := range []string{
		"Scored are the newest 20000 of 100000 builds, since 2023-02-06; trueplait proof scores them all.",
		"Table: the newest 100 of 20000 builds",
		"Drawn are the newest 24 of 3052 combinations, the table has 100; trueplait factors lists them all.",
		"Of more than 20 test fills of one, the newest are drawn.",
		"Drawn are the 24 with most rows; the table has 100, trueplait calibrate --json the effect of each.",
		"Table: the 100 of 3004 makers with most rows",
		"maker number 11 of the guild and 5988 more. Without a batch in common",
		"… (trueplait calibrate has the rest)",
		"which trueplait calibrate lists",
		"Listed are the newest 25 of each quantity; trueplait calibrate lists 14877 more.",
		"Listed are 50 of 3000 products; trueplait promise --product tells of each.",
		"Drawn are the 4 products with most builds of 3007; the table has 50, trueplait consistency all of them.",
		"Look at 2993 changes more.",
		"Let 2994 groups of makers more share a batch with the others.",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	small := string(render(t, fakeShop(80)))
	for _, not := range []string{"Scored are the newest", "Listed are", "trueplait factors lists"} {
		if strings.Contains(small, not) {
			t.Errorf("the page of a small shop says %q", not)
		}
	}
}

func TestShortened(t *testing.T) {
	long := strings.Repeat("é", mostLetters)
	for note, want := range map[string]string{
		"as it is":                "as it is",
		long:                      long,
		long + " é":               long + " … (trueplait calibrate has the rest)",
		"é " + long:               "é " + strings.Repeat("é", mostLetters-2) + " … (trueplait calibrate has the rest)",
		long[2:] + " whole words": long[2:] + " … (trueplait calibrate has the rest)",
	} {
		if got := shortened(note); got != want {
			t.Errorf("shortened(%q) = %q, want %q", note, got, want)
		}
	}
}
