package workshop

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"trueplait/data"
	"trueplait/data/reference"
	"trueplait/ingest"
	"trueplait/model"
)

// MaxShown is how many problems and how many warnings of a file are kept; the
// rest are counted.
const MaxShown = 50

// Taken is a file and what became of it.
type Taken struct {
	model.Imported                    // File is FILE:SHEET for a sheet of a workbook
	Input          string             // the file's name, as the user gave it
	Problems       []*ingest.RowError // the first ones
	MoreProblems   int
	Notes          []Note // the first warnings
	MoreNotes      int
	Rejects        map[int][]string // records that are left out, by their line; with Taking.Good, the reasons why

	reasons bool
	reader  *ingest.Reader
	spool   *spool
	last    bool // nobody else reads from the spool
}

// Note is a warning about a file or a row of it.
type Note struct {
	Where  string // FILE or FILE:LINE
	Column string // "": the row or the file as a whole
	Text   string
}

// String is FILE:LINE: COLUMN: text.
func (n Note) String() string { return n.Where + ": " + n.Bare() }

// Bare is the note without its place.
func (n Note) Bare() string {
	if n.Column == "" {
		return n.Text
	}
	return n.Column + ": " + n.Text
}

// Sheet is the name of the sheet, "" where the file is CSV.
func (f *Taken) Sheet() string { return f.reader.Sheet() }

// clean reports whether no row was at fault so far.
func (f *Taken) clean() bool { return len(f.Problems) == 0 }

// rows reads a file to its end: good rows go to add, problems are noted.
func (f *Taken) rows(ctx context.Context, add func(model.Row) error) error {
	for {
		row, problems, err := f.reader.Read()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
		if err := ctx.Err(); err != nil {
			return err
		}
		f.Rows++
		for _, e := range problems {
			f.reject(e)
		}
		for _, w := range f.reader.Warnings() {
			f.note(rowNote(w))
		}
		if row != nil {
			if err := add(row); err != nil {
				return err
			}
		}
	}
}

// rowNote makes a note of what is odd about a row.
func rowNote(e *ingest.RowError) Note { return Note{e.Where(), e.Column, e.What()} }

func (f *Taken) note(n Note) {
	if len(f.Notes) == MaxShown {
		f.MoreNotes++
		return
	}
	f.Notes = append(f.Notes, n)
}

// reject notes a problem and the reason for which its record is left out.
func (f *Taken) reject(e *ingest.RowError) {
	if len(f.Problems) < MaxShown {
		f.Problems = append(f.Problems, e)
	} else {
		f.MoreProblems++
	}
	reason := e.Err.Error()
	if e.Column != "" {
		reason = e.Column + ": " + e.What()
	}
	f.leave(e.Start, reason)
}

// leave notes that a record is left out, and why if anybody wants to know: the
// reasons of a long file take as much memory as the file.
func (f *Taken) leave(line int, reason string) {
	if f.reasons {
		f.Rejects[line] = append(f.Rejects[line], reason)
	} else {
		f.Rejects[line] = nil
	}
}

// designs checks the products of a parts file: an impossible part is a
// problem of its row, an odd one a warning.
func (f *Taken) designs(rows []model.Row) {
	materials := reference.Materials()
	lists := map[string][]*model.Part{}
	var products []string
	for _, row := range rows {
		p := row.(*model.Part)
		if lists[p.Product] == nil {
			products = append(products, p.Product)
		}
		lists[p.Product] = append(lists[p.Product], p)
	}
	for _, product := range products {
		design, problems := model.NewDesign(lists[product], materials)
		for _, e := range problems {
			f.reject(f.reader.Problem(e.Line, e.Column, e.Text, e.Err))
		}
		if design == nil {
			continue
		}
		for _, w := range design.Warnings {
			if !errors.Is(w, model.ErrDropped) { // nearly every thong does; the plan says where
				f.note(rowNote(f.reader.Problem(w.Line, w.Column, w.Text, w.Err)))
			}
		}
	}
}

// tell turns what the log found into problems and warnings.
func (f *Taken) tell(out data.Outcome) {
	key := f.Kind.IDColumn()
	for _, c := range out.Conflicts {
		where, remedy := "is in the log with other content", "use --amend to replace it (the old row is kept)"
		if c.InPlan {
			where, remedy = "is planned for another", "correct the row, or give the build another id"
		}
		if c.InFile {
			where, remedy = fmt.Sprintf("stands in line %d with other content", c.Other), "keep one of them"
		}
		f.reject(f.reader.Problem(c.Line, key, c.ID, &conflict{c, fmt.Sprintf("%s (%s): %s", where, differences(c), remedy)}))
	}
	for _, u := range out.Unresolved {
		f.reject(f.reader.Problem(u.Line, "calibration", fmt.Sprint(u.Calibration), unresolved(u)))
	}
	for _, r := range out.Repeats {
		f.note(rowNote(f.reader.Problem(r.Line, key, r.ID, fmt.Errorf("says again what line %d says: counted once", r.First))))
	}
	for _, e := range model.Effects {
		for _, pair := range out.Alike[e] {
			f.note(Note{f.File, string(e), fmt.Sprintf("%q and %q differ only in case or spaces: they count as two; make them one if they are", pair[0], pair[1])})
		}
	}
}

// conflict is a row whose id stands for something else.
type conflict struct {
	data.Conflict
	message string
}

func (c *conflict) Error() string { return c.message }

// differences names what differs between a row and the one before it.
func differences(c data.Conflict) string {
	var out []string
	for _, d := range c.Columns {
		out = append(out, fmt.Sprintf("%s %s there, %s here", d.Column, blankable(d.Already), blankable(d.Here)))
	}
	if len(out) == 0 {
		return "its list differs elsewhere"
	}
	return strings.Join(out, "; ")
}

func blankable(s string) string {
	if s == "" {
		return "blank"
	}
	return fmt.Sprintf("%q", s)
}

// unresolved says why the factors inside a plan are not known.
func unresolved(u data.Unresolved) error {
	var columns []string
	for _, q := range u.Missing {
		columns = append(columns, string(q)+"_factor")
	}
	missing := strings.Join(columns, ", ")
	if u.Known {
		return fmt.Errorf("has no factor for this maker and these batches: state %s, which the plan contains", missing)
	}
	return fmt.Errorf("is not saved in this log: state %s, which the plan contains, or leave calibration blank if the plan is uncorrected", missing)
}

// CopyRejects copies the records that were left out to dst, with the reasons,
// from the file read once more.
func (f *Taken) CopyRejects(dst io.Writer, src io.Reader) error {
	return f.reader.CopyRejects(dst, src, f.Rejects)
}
