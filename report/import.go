package report

import (
	"io"
	"strconv"

	"trueplait/model"
)

// ImportJSON writes what became of imported files, or would become of checked
// ones.
func ImportJSON(w io.Writer, files []model.Imported) error {
	type file struct {
		File     string     `json:"file"`
		Kind     model.Kind `json:"kind"`
		Rows     int        `json:"rows"`
		New      int        `json:"new"`
		Same     int        `json:"same"`
		Amended  int        `json:"amended"`
		Rejected int        `json:"rejected"`
		Warnings []string   `json:"warnings"`
	}
	out := struct {
		Files []file `json:"files"`
	}{[]file{}}
	for _, f := range files {
		out.Files = append(out.Files, file{f.File, f.Kind, f.Rows, f.New, f.Same, f.Amended, f.Rejected, listed(f.Warnings)})
	}
	return writeJSON(w, out)
}

// ImportTable writes one line per file. Warnings are told as they come up, not
// here again.
func ImportTable(w io.Writer, files []model.Imported, s Style) error {
	g := grid{Head: []string{"file", "kind", "rows", "new", "same", "amended", "rejected"}, Figures: 2}
	for _, f := range files {
		g.add(label(f.File), string(f.Kind), strconv.Itoa(f.Rows), strconv.Itoa(f.New), strconv.Itoa(f.Same),
			strconv.Itoa(f.Amended), strconv.Itoa(f.Rejected))
	}
	p := newPrinter(w, s)
	p.grid(g)
	return p.err
}
