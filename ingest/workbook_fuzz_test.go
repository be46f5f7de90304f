package ingest

import (
	"archive/zip"
	"bytes"
	"io"
	"slices"
	"strconv"
	"strings"
	"testing"

	"trueplait/model"
)

// FuzzWorkbook reads workbooks: as they come, and with the fuzzed text as one
// part of a good one, past the checksums of the archive. Every row and every
// problem is in a sheet, in order, and the rows with problems can be copied
// out.
func FuzzWorkbook(f *testing.F) {
	good := workbook(f, tab{"Log", [][]any{header, with("B1", map[int]any{4: formula{"400+12", 412}}), with("B2", map[int]any{4: "x", 6: true})}},
		tab{"Lines", [][]any{{"product"}, {"bull"}}})
	f.Add(uint8(0), good)
	r, err := zip.NewReader(bytes.NewReader(good), int64(len(good)))
	if err != nil {
		f.Fatal(err)
	}
	for i, part := range r.File {
		in, err := part.Open()
		if err != nil {
			f.Fatal(err)
		}
		text, err := io.ReadAll(in)
		if err != nil {
			f.Fatal(err)
		}
		if len(text) < 4096 { // not the theme, which is not read
			f.Add(uint8(i+1), text)
		}
	}
	f.Fuzz(func(t *testing.T, part uint8, file []byte) {
		if part > 0 {
			name := r.File[int(part-1)%len(r.File)].Name
			text := string(file)
			file = edit(t, good, func(n, old string) string {
				if n == name {
					return text
				}
				return old
			})
		}
		readers, err := NewWorkbook(bytes.NewReader(file), "x.xlsx", Options{})
		if err != nil {
			problems, ok := err.(Problems)
			if !ok {
				t.Fatalf("NewWorkbook: %v (%T), want Problems", err, err)
			}
			for _, p := range problems {
				mustBeVisible(t, p)
			}
			return
		}
		for _, r := range readers {
			reasons := map[int][]string{}
			before := 0
			var rows []model.Row
			for {
				row, problems, err := r.Read()
				if err == io.EOF {
					break
				}
				if err != nil || (row == nil) != (len(problems) > 0) {
					t.Fatalf("Read() = %v, %v, %v", row, problems, err)
				}
				at := before
				if row != nil {
					at = row.From().Line
					rows = append(rows, row)
				} else {
					at = problems[0].Start
				}
				if at <= before || at > 1<<20 {
					t.Fatalf("row %d after row %d", at, before)
				}
				before = at
				for _, p := range slices.Concat(problems, r.Warnings()) {
					if p.Line != at || p.Start != at || !cellOf(p.Cell, at) || p.Sheet != r.Sheet() {
						t.Fatalf("%+v in row %d", *p, at)
					}
					if row == nil {
						reasons[p.Start] = append(reasons[p.Start], p.Err.Error())
					}
					mustBeVisible(t, p)
				}
			}
			if err := r.CopyRejects(io.Discard, bytes.NewReader(file), reasons); err != nil {
				t.Fatalf("CopyRejects: %v, %v", err, reasons)
			}
			checkRoundTrip(t, r.Kind(), rows)
		}
	})
}

// cellOf reports whether a cell's name is one of the row.
func cellOf(name string, row int) bool {
	column, ok := strings.CutSuffix(name, strconv.Itoa(row))
	return ok && column != "" && strings.Trim(column, "ABCDEFGHIJKLMNOPQRSTUVWXYZ") == ""
}
