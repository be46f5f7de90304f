package bench

import (
	"cmp"
	"fmt"
	"io"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"trueplait/model"
	"trueplait/report"
)

// lookAtFiles takes files that were sent, and says what importing them would do.
// Nothing is imported.
func (v *visit) lookAtFiles() error {
	select {
	case v.arriving <- struct{}{}:
		defer func() { <-v.arriving }()
	case <-v.r.Context().Done():
		return v.r.Context().Err()
	}
	up, err := v.received()
	if err != nil {
		// The rest is thrown away first: closing on a browser that still sends
		// can lose it the answer (RFC 9112, section 9.6).
		_, _ = io.Copy(io.Discard, v.r.Body)
		return err
	}
	if len(up.files) == 0 {
		return v.show(http.StatusUnprocessableEntity, "files", "Files", v.filesPage("Choose a file first."))
	}
	return v.lookAgain("", up)
}

// lookAgain checks an upload and goes on to the page that says what was found.
func (v *visit) lookAgain(token string, up *upload) error {
	up.reports = nil
	for _, f := range up.files {
		r, err := v.shop.Check(v.r.Context(), f)
		if err != nil {
			return err
		}
		up.reports = append(up.reports, r)
	}
	token = v.uploads.keep(token, up, v.opt.now())
	return v.redirect("/files/look?" + string(query("token", token)))
}

// lookPage says what is in the files that were sent, or what became of them.
type lookPage struct {
	Token       string
	Files       []lookedFile
	Amend, Good bool
	Tried       bool // an import was tried
	Taken       int  // files that are in the log
	Wrong       int  // problems in all files
}

// lookedFile is one file and what was found in it.
type lookedFile struct {
	*FileReport
	Name    string
	Number  int // of its rejects
	Sheets  []sheet
	Changed []string
}

// sheet is what one file, or one sheet of a workbook, holds.
type sheet struct{ Name, Holds string }

// newSheet counts what is in a sheet: "300 builds: 298 new, 2 left out".
func newSheet(in model.Imported) sheet {
	var counts []string
	for _, c := range []struct {
		n    int
		what string
	}{{in.New, "new"}, {in.Same, "known already"}, {in.Amended, "corrected"}, {in.Rejected, "left out"}} {
		if c.n > 0 {
			counts = append(counts, fmt.Sprintf("%d %s", c.n, c.what))
		}
	}
	holds := fmt.Sprintf("%d %s", in.Rows, in.Kind.Noun(in.Rows))
	if counts != nil {
		holds += ": " + strings.Join(counts, ", ")
	}
	return sheet{in.File, holds}
}

// Where says where a problem stands: "sheet Builds, D7", "line 17".
func (p FileProblem) Where() string {
	switch {
	case p.Sheet != "" && p.Cell != "":
		return "sheet " + report.Label(p.Sheet) + ", " + p.Cell
	case p.Sheet != "":
		return "sheet " + report.Label(p.Sheet)
	case p.Line > 0:
		return "line " + strconv.Itoa(p.Line)
	}
	return "the file"
}

// waiting finds the upload that is asked for.
func (v *visit) waiting() (string, *upload, error) {
	token := v.value("token")
	up := v.uploads.find(token, v.opt.now())
	if up == nil {
		return "", nil, &wrong{http.StatusGone, "Choose the file again",
			"Files are kept for ten minutes between looking and importing, and that is over. Nothing else is lost: choose the file again on the Files page."}
	}
	return token, up, nil
}

// filesLooked shows what was found in files, or what became of them.
func (v *visit) filesLooked() error {
	token, up, err := v.waiting()
	if err != nil {
		return err
	}
	page := lookPage{Token: token, Tried: up.tried}
	for i, r := range up.reports {
		f := lookedFile{FileReport: r, Name: up.files[i].Name, Number: i}
		for _, in := range r.Files {
			f.Sheets = append(f.Sheets, newSheet(in))
		}
		if r.Saved != nil {
			f.Changed = r.Saved.Changed(v.units)
		}
		page.Files = append(page.Files, f)
		page.Amend, page.Good = page.Amend || up.files[i].Amend, page.Good || up.files[i].Good
		if r.Taken {
			page.Taken++
		}
		page.Wrong += len(r.Problems) + r.More
	}
	return v.show(http.StatusOK, "look", page.Title(), page)
}

// Title says how far it is.
func (p lookPage) Title() string {
	switch {
	case !p.Tried && len(p.Files) == 1:
		return "What is in the file"
	case !p.Tried:
		return "What is in the files"
	case p.Taken == 0:
		return "Nothing was imported"
	case p.Open():
		return "Some files were imported"
	}
	return "Imported"
}

// Open reports whether there is something left to import.
func (p lookPage) Open() bool { return p.Taken < len(p.Files) }

// takeFiles imports files that were looked at, or looks at them again with
// other choices.
func (v *visit) takeFiles() error {
	token, up, err := v.waiting()
	if err != nil {
		return err
	}
	next := &upload{files: slices.Clone(up.files)}
	for i := range next.files {
		next.files[i].Amend, next.files[i].Good = v.value("amend") != "", v.value("good") != ""
	}
	if v.value("do") == "look" {
		return v.lookAgain(token, next)
	}
	next.reports, next.tried = slices.Clone(up.reports), true
	for _, i := range loadOrder(up.reports) {
		if next.reports[i].Taken {
			continue // by an import before this one
		}
		r, err := v.shop.Import(v.r.Context(), next.files[i])
		if err != nil {
			v.uploads.keep(token, next, v.opt.now())
			return err
		}
		next.reports[i] = r
	}
	v.uploads.keep(token, next, v.opt.now())
	return v.redirect("/files/look?" + string(query("token", token)))
}

// loadOrder is the order in which files are loaded: what predicts comes before
// what is predicted.
func loadOrder(reports []*FileReport) []int {
	first := func(r *FileReport) int {
		at := len(model.Kinds)
		for _, f := range r.Files {
			if k := slices.Index(model.Kinds, f.Kind); k >= 0 {
				at = min(at, k)
			}
		}
		return at
	}
	order := make([]int, len(reports))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(first(reports[a]), first(reports[b])) })
	return order
}
