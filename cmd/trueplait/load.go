package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

	"trueplait/data"
	"trueplait/ingest"
	"trueplait/model"
)

// maxShown is how many problems of a file are printed; the rest are counted.
const maxShown = 50

// reading are the options of commands that read CSV.
type reading struct {
	IgnoreUnknown bool   `help:"Leave out columns that are not known, instead of refusing the file."`
	Decimal       string `enum:"auto,comma,point" default:"auto" help:"The decimal mark: comma or point (default: point, in semicolon and tab files either)."`
}

func (r reading) options() (ingest.Options, error) {
	today, err := now()
	opt := ingest.Options{IgnoreUnknown: r.IgnoreUnknown, Today: today}
	switch r.Decimal {
	case "comma":
		opt.Decimal = ingest.DecimalComma
	case "point":
		opt.Decimal = ingest.DecimalPoint
	}
	return opt, err
}

// loader takes files into an import.
type loader struct {
	*program
	im       *data.Import
	opt      ingest.Options
	amend    bool
	progress *progress
	files    []*inputFile
	designed map[string]*model.Design // by product, from the lists known now
}

// inputFile is one file on its way in.
type inputFile struct {
	path     string
	file     *os.File
	reader   *ingest.Reader
	pending  bytes.Buffer // read before it was known where to keep it
	sink     io.Writer
	read     func(n int)
	result   model.Imported
	problems problemList
	warned   problemList
	rejects  map[int][]string // reasons by line of the record
}

// Read passes the file on to whoever keeps its bytes.
func (f *inputFile) Read(p []byte) (int, error) {
	n, err := f.file.Read(p)
	if f.sink == nil {
		f.pending.Write(p[:n])
	} else if _, e := f.sink.Write(p[:n]); e != nil {
		return n, e
	}
	f.read(n)
	return n, err
}

// keep sends the bytes read so far, and all that follow, to w.
func (f *inputFile) keep(w io.Writer) error {
	f.sink = w
	_, err := f.pending.WriteTo(w)
	return err
}

// problemList holds the first problems and counts the rest.
type problemList struct {
	shown []string
	total int
}

func (l *problemList) add(text string) {
	l.total++
	if len(l.shown) < maxShown {
		l.shown = append(l.shown, text)
	}
}

func (l *problemList) print(w io.Writer, path, what string) {
	for _, s := range l.shown {
		fmt.Fprintln(w, s)
	}
	if more := l.total - len(l.shown); more > 0 {
		fmt.Fprintf(w, "%s: and %d more %s\n", path, more, what)
	}
}

// load reads the files into the import, in the order of their kinds, and
// prints what is wrong with them. It returns what became of each, and whether
// every row was taken.
func (l *loader) load(paths []string) ([]model.Imported, bool, error) {
	defer func() {
		for _, f := range l.files {
			f.file.Close()
		}
	}()
	ok := true
	for _, path := range paths {
		if err := l.open(path); err != nil {
			fmt.Fprintln(l.stderr, err)
			ok = false
		}
	}
	if !ok {
		return nil, false, nil
	}
	slices.SortStableFunc(l.files, func(a, b *inputFile) int {
		return slices.Index(model.Kinds, a.result.Kind) - slices.Index(model.Kinds, b.result.Kind)
	})
	for _, f := range l.files {
		if err := l.take(f); err != nil {
			return nil, false, err
		}
	}
	if err := l.predict(); err != nil {
		return nil, false, err
	}
	if err := l.settle(); err != nil {
		return nil, false, err
	}
	l.progress.done()
	var results []model.Imported
	for _, f := range l.files {
		f.problems.print(l.stderr, f.path, "problems")
		ok = ok && f.problems.total == 0
		f.result.Rejected = len(f.rejects)
		for _, w := range f.warned.shown {
			fmt.Fprintln(l.stderr, "warning: "+w)
		}
		f.result.Warnings = f.warned.shown
		if more := f.warned.total - len(f.warned.shown); more > 0 {
			text := fmt.Sprintf("%s: and %d more warnings", f.path, more)
			fmt.Fprintln(l.stderr, "warning: "+text)
			f.result.Warnings = append(f.result.Warnings, text)
		}
		results = append(results, f.result)
	}
	return results, ok, nil
}

// open reads a file's header.
func (l *loader) open(path string) error {
	file, err := os.Open(path)
	if err != nil {
		return fileError(path, err)
	}
	f := &inputFile{path: path, file: file, read: l.progress.add, rejects: map[int][]string{}}
	if info, err := file.Stat(); err == nil {
		if info.IsDir() {
			file.Close()
			return fmt.Errorf("%s:1: is a folder: name the files in it", path)
		}
		l.progress.expect(info.Size())
	}
	if f.reader, err = ingest.NewReader(f, path, l.opt); err != nil {
		file.Close()
		return err
	}
	f.result = model.Imported{File: path, Kind: f.reader.Kind()}
	l.files = append(l.files, f)
	return nil
}

// fileError says in the program's form what the system says of a file.
func fileError(path string, err error) error {
	switch {
	case errors.Is(err, os.ErrNotExist):
		return fmt.Errorf("%s:1: there is no such file: check the name and the folder", path)
	case errors.Is(err, os.ErrPermission):
		return fmt.Errorf("%s:1: may not be read: check its permissions", path)
	}
	return fmt.Errorf("%s:1: %w", path, err)
}

// take reads a file's rows into the import.
func (l *loader) take(f *inputFile) error {
	into, err := l.im.File(f.path, f.result.Kind)
	if err != nil {
		return err
	}
	if err := f.keep(into); err != nil {
		return err
	}
	add := into.Add
	var list []model.Row
	if f.result.Kind == model.Parts { // a list with a hole in it is no list
		add = func(row model.Row) error { list = append(list, row); return nil }
	}
	if err := l.rows(f, add); err != nil {
		return err
	}
	if f.problems.total == 0 && list != nil {
		f.designs(list)
	}
	for _, row := range list {
		if f.problems.total > 0 {
			at := row.From().Line
			f.rejects[at] = append(f.rejects[at], "another row of the file is at fault, and a parts list is taken whole or not at all")
			continue
		}
		if err := into.Add(row); err != nil {
			return err
		}
	}
	out, err := into.Finish(l.ctx, data.FinishOptions{Amend: l.amend})
	if err != nil {
		return err
	}
	f.result.New, f.result.Same, f.result.Amended = out.New, out.Same, out.Amended
	f.tell(out, l.amend)
	return nil
}

// rows reads a file to its end: good rows go to add, problems are noted.
func (l *loader) rows(f *inputFile, add func(model.Row) error) error {
	for {
		row, problems, err := f.reader.Read()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
		if err := l.ctx.Err(); err != nil {
			return err
		}
		f.result.Rows++
		for _, e := range problems {
			f.reject(e)
		}
		for _, w := range f.reader.Warnings() {
			f.warned.add(w.Error())
		}
		if row != nil {
			if err := add(row); err != nil {
				return err
			}
		}
	}
}

// reject notes a problem and the reason for which its record is left out.
func (f *inputFile) reject(e *ingest.RowError) {
	f.problems.add(e.Error())
	reason := e.Err.Error()
	if e.Column != "" {
		reason = fmt.Sprintf("%s: %q %s", e.Column, e.Text, reason)
	}
	f.rejects[e.Start] = append(f.rejects[e.Start], reason)
}

// tell turns what the log found into problems and warnings.
func (f *inputFile) tell(out data.Outcome, amend bool) {
	key := keyColumn(f.result.Kind)
	for _, c := range out.Conflicts {
		where, remedy := "is in the log with other content", "use --amend to replace it (the old row is kept)"
		if c.InPlan {
			where, remedy = "is planned for another", "correct the row, or give the build another id"
		}
		if c.InFile {
			where, remedy = fmt.Sprintf("stands in line %d with other content", c.Other), "keep one of them"
		}
		f.reject(&ingest.RowError{
			File: f.path, Line: c.Line, Start: c.Line, Column: key, Text: c.ID,
			Err: fmt.Errorf("%s (%s): %s", where, differences(c), remedy),
		})
	}
	for _, u := range out.Unresolved {
		f.reject(&ingest.RowError{
			File: f.path, Line: u.Line, Start: u.Line, Column: "calibration", Text: fmt.Sprint(u.Calibration),
			Err: unresolved(u),
		})
	}
	for _, r := range out.Repeats {
		f.warned.add((&ingest.RowError{
			File: f.path, Line: r.Line, Start: r.Line, Column: key, Text: r.ID,
			Err: fmt.Errorf("says again what line %d says: counted once", r.First),
		}).Error())
	}
	for _, e := range model.Effects {
		for _, pair := range out.Alike[e] {
			f.warned.add(fmt.Sprintf("%s: %s: %q and %q differ only in case or spaces: they count as two; make them one if they are",
				f.path, e, pair[0], pair[1]))
		}
	}
}

// keyColumn is the column that identifies a row of the kind.
func keyColumn(k model.Kind) string {
	return map[model.Kind]string{
		model.Parts: "product", model.Products: "product", model.Fills: "fill", model.Checks: "check", model.Builds: "build",
	}[k]
}

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

// settle does what needs all files and warns of what it finds.
func (l *loader) settle() error {
	shared, err := l.shared()
	if err != nil {
		return err
	}
	s, err := l.im.Settle(l.ctx, shared)
	if err != nil {
		return err
	}
	byPath := map[string]*inputFile{}
	for _, f := range l.files {
		byPath[f.path] = f
	}
	for _, u := range s.Slips {
		overall := u.Median
		if !model.Known(overall) {
			overall = 1
		}
		f := byPath[u.Origin.File]
		f.warned.add(fmt.Sprintf("%s:%d: %s: %s %q measured %.2g times the plan: %s; left out of fits until corrected",
			u.Origin.File, u.Origin.Line, u.Column, u.Key.Kind.Noun(1), u.Key.ID, u.Ratio, model.GuessSlip(u.Dimension(), u.Ratio, overall)))
	}
	for _, kind := range []model.Kind{model.Fills, model.Checks, model.Builds} {
		n := s.Unpredicted[kind]
		for _, f := range slices.Backward(l.files) {
			if n > 0 && f.result.Kind == kind {
				f.warned.add(fmt.Sprintf("%s: %d %s without a prediction: kept, but nothing can be learnt from them", f.path, n, kind.Noun(n)))
				break
			}
		}
	}
	return nil
}
