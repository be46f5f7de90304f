package workshop

import (
	"context"
	"fmt"
	"io"
	"slices"

	"trueplait/data"
	"trueplait/data/reference"
	"trueplait/ingest"
	"trueplait/model"
)

// Input is a file to take in.
type Input struct {
	Name string // as the user gave it
	io.Reader
}

// Taking says how files are taken in.
type Taking struct {
	Read  ingest.Options
	Amend bool // rows may replace those of the same id
	Good  bool // the good rows are wanted, and the reasons why others are not
}

// Loader takes files into an import.
type Loader struct {
	im       *data.Import
	opt      Taking
	files    []*Taken
	designed map[string]*model.Design // by product, from the lists known now
}

// NewLoader makes a loader for an import that is open. The caller ends the
// import, as the result tells it to.
func NewLoader(im *data.Import, opt Taking) *Loader { return &Loader{im: im, opt: opt} }

// Load reads the inputs into the import, in the order of their kinds, and
// returns what became of each. Where a header cannot be read, the error is
// ingest.Problems of that file, and the other files are looked at all the same.
func (l *Loader) Load(ctx context.Context, inputs []Input) ([]*Taken, error) {
	var unreadable ingest.Problems
	for _, in := range inputs {
		err := l.open(in)
		if problems, ok := err.(ingest.Problems); ok {
			unreadable = append(unreadable, problems...)
		} else if err != nil {
			return nil, err
		}
	}
	if unreadable != nil {
		return nil, unreadable
	}
	slices.SortStableFunc(l.files, func(a, b *Taken) int {
		return slices.Index(model.Kinds, a.Kind) - slices.Index(model.Kinds, b.Kind)
	})
	for i, f := range l.files {
		f.last = !slices.ContainsFunc(l.files[i+1:], func(other *Taken) bool { return other.spool == f.spool })
		if err := l.take(ctx, f); err != nil {
			return nil, err
		}
	}
	if err := l.predict(ctx); err != nil {
		return nil, err
	}
	if err := l.settle(ctx); err != nil {
		return nil, err
	}
	for _, f := range l.files {
		f.Rejected = len(f.Rejects)
		for _, n := range f.Notes {
			f.Warnings = append(f.Warnings, n.String())
		}
		if f.MoreNotes > 0 {
			f.Warnings = append(f.Warnings, fmt.Sprintf("%s: and %d more warnings", f.File, f.MoreNotes))
		}
	}
	return l.files, nil
}

// open reads a file's header, or those of a workbook's sheets.
func (l *Loader) open(in Input) error {
	from := &spool{Reader: in}
	readers, err := ingest.Open(from, in.Name, l.opt.Read)
	if err != nil {
		return err
	}
	for _, r := range readers {
		l.files = append(l.files, &Taken{
			Imported: model.Imported{File: r.Name(), Kind: r.Kind()},
			Input:    in.Name, Rejects: map[int][]string{}, reasons: l.opt.Good, reader: r, spool: from,
		})
	}
	return nil
}

// take reads a file's rows into the import.
func (l *Loader) take(ctx context.Context, f *Taken) error {
	into, err := l.im.File(f.File, f.Kind)
	if err != nil {
		return err
	}
	if err := f.spool.keep(into, f.last); err != nil {
		return err
	}
	add := into.Add
	var list []model.Row
	if f.Kind == model.Parts { // a list with a hole in it is no list
		add = func(row model.Row) error { list = append(list, row); return nil }
	}
	if err := f.rows(ctx, add); err != nil {
		return err
	}
	if f.clean() && list != nil {
		f.designs(list)
	}
	for _, row := range list {
		if !f.clean() {
			at := row.From().Line
			f.leave(at, "another row of the file is at fault, and a parts list is taken whole or not at all")
			continue
		}
		if err := into.Add(row); err != nil {
			return err
		}
	}
	out, err := into.Finish(ctx, data.FinishOptions{Amend: l.opt.Amend})
	if err != nil {
		return err
	}
	f.New, f.Same, f.Amended = out.New, out.Same, out.Amended
	f.tell(out)
	return nil
}

// predict fills in the blank predictions of the import's builds from the parts
// lists known now.
func (l *Loader) predict(ctx context.Context) error {
	lists, err := l.im.Unplanned(ctx)
	if err != nil || len(lists) == 0 {
		return err
	}
	for _, list := range lists {
		design, problems := l.design(list)
		if problems != nil { // refused at its own import, or made by another program
			return fmt.Errorf("parts list of %q: %w", list.Product, problems[0])
		}
		_, err := l.im.Plan(ctx, list, data.Base{
			WeightG: design.WeightG, LengthMM: design.LengthMM, ShotG: design.ShotG, StrandMM: design.StrandMM,
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// design designs a parts list of the log, each once an import.
func (l *Loader) design(list data.PartsList) (*model.Design, []*model.PartProblem) {
	if d := l.designed[list.Product]; d != nil {
		return d, nil
	}
	d, problems := model.NewDesign(list.Parts, reference.Materials())
	if problems == nil {
		if l.designed == nil {
			l.designed = map[string]*model.Design{}
		}
		l.designed[list.Product] = d
	}
	return d, problems
}

// settle does what needs all files, and notes what it finds.
func (l *Loader) settle(ctx context.Context) error {
	lists, err := l.im.Lists(ctx)
	if err != nil {
		return err
	}
	var designs []*model.Design
	for _, list := range lists {
		if d, problems := l.design(list); problems == nil { // else said where the list came in
			designs = append(designs, d)
		}
	}
	s, err := l.im.Settle(ctx, shared(designs))
	if err != nil {
		return err
	}
	for _, u := range s.Slips {
		overall := u.Median
		if !model.Known(overall) {
			overall = 1
		}
		f := l.files[slices.IndexFunc(l.files, func(f *Taken) bool { return f.File == u.Origin.File && f.Kind == u.Key.Kind })]
		f.note(Note{
			Where:  f.reader.Problem(u.Origin.Line, u.Column, "", nil).Where(),
			Column: u.Column,
			Text: fmt.Sprintf("%s %q measured %.2g times the plan: %s; left out of fits until corrected",
				u.Key.Kind.Noun(1), u.Key.ID, u.Ratio, model.GuessSlip(u.Dimension(), u.Ratio, overall)),
		})
	}
	for _, kind := range []model.Kind{model.Fills, model.Checks, model.Builds} {
		n := s.Unpredicted[kind]
		for _, f := range slices.Backward(l.files) {
			if n > 0 && f.Kind == kind {
				f.note(Note{Where: f.File, Text: fmt.Sprintf("%d %s without a prediction: kept, but nothing can be learnt from them", n, kind.Noun(n))})
				break
			}
		}
	}
	return nil
}
