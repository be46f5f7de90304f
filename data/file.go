package data

import (
	"context"
	"database/sql/driver"
	_ "embed"
	"errors"
	"fmt"
	"slices"
	"strings"

	"trueplait/model"
)

//go:embed query/verdict_stage.sql
var verdictStage string

//go:embed query/verdict_count.sql
var verdictCount string

//go:embed query/verdict_clear.sql
var verdictClear string

//go:embed query/verdict_unstage.sql
var verdictUnstage string

//go:embed query/repeated_count.sql
var repeatedCount string

//go:embed query/build_unrepeat.sql
var buildUnrepeat string

//go:embed query/build_repeat.sql
var buildRepeat string

//go:embed query/repeated_same.sql
var repeatedSame string

//go:embed query/repeated_unstage.sql
var repeatedUnstage string

//go:embed query/label_alike.sql
var labelAlike string

// File is one file of an import. Its bytes go in through Write as they are
// read, its rows through Add; Finish merges the rows into the log.
//
// While a file is read, what was read of it before is loaded: until Finish or
// Rollback, the connection is the backlog's.
type File struct {
	im       *Import
	table    table
	name     string
	number   int // of the source
	record   *record
	appender *appender // of the rows that are staged
	ascent   ascent    // of those that are not
	source   *source
	batch    batch // not in the backlog yet
	backlog  *backlog
	added    int // rows that went into the log as they were read
	staged   int // the others
	plans    int // saved for builds, which may take from them
	repeats  int // lines that repeat an id of an earlier one
}

// batch is rows to be loaded, value by value. It is large enough that handing it
// over costs nothing, and so small that those that wait take a few MB.
type batch struct {
	values []driver.Value
	lines  []int // of the rows
	rise   rise
}

const (
	batchRows = 512
	maxWait   = 8 // jobs in a backlog
)

// File starts the next file of the import, under the name the user gave it,
// of which bytes that are not UTF-8 are replaced: the log keeps text only. One
// file at a time: Finish it before the next.
func (im *Import) File(name string, kind model.Kind) (*File, error) {
	t, err := tableOf(kind)
	if err != nil {
		return nil, err
	}
	name = strings.ToValidUTF8(name, "\uFFFD")
	f := &File{im: im, table: t, name: name, record: t.record()}
	if err := im.get(im.ctx, name, sourceNext, &f.number); err != nil {
		return nil, err
	}
	if !im.check {
		if err := im.log.db.engine.Note(im.ctx, f.number, name, string(kind), im.now); err != nil {
			return nil, im.fail(name, err)
		}
		im.noted = true
	}
	if _, err := im.exec(im.ctx, name, t.stage); err != nil {
		return nil, err
	}
	if f.appender, err = newAppender(im.ctx, im.conn, t.append, f.record.staged()); err != nil {
		return nil, im.fail(name, err)
	}
	f.ascent.file = f
	f.backlog = newBacklog(maxWait)
	f.source = newSource(im, f.number, f.backlog)
	im.file = f
	return f, nil
}

// Write keeps the next bytes of the file. It implements [io.Writer].
func (f *File) Write(p []byte) (int, error) { return f.source.Write(p) }

// Add takes a row of the file. The row is copied. An error may be about an
// earlier row.
func (f *File) Add(row model.Row) error {
	if !f.record.load(row) {
		f.discard()
		return f.im.fail(f.name, fmt.Errorf("a row of %s in a file of %s", row.Kind(), f.table.kind))
	}
	b, width := &f.batch, len(f.appender.fields)
	if b.values == nil {
		b.values, b.lines = make([]driver.Value, 0, batchRows*width), make([]int, 0, batchRows)
	}
	b.values = b.values[:len(b.values)+width]
	b.lines = append(b.lines, f.record.origin.Line)
	if err := f.appender.read(b.values[len(b.values)-width:]); err != nil {
		f.discard()
		return f.im.fail(f.place(f.record.origin.Line), err)
	}
	b.rise.add(row)
	if len(b.lines) < batchRows {
		return nil
	}
	return f.load()
}

// place is FILE:LINE.
func (f *File) place(line int) string { return fmt.Sprintf("%s:%d", f.name, line) }

// load hands the batch to the backlog.
func (f *File) load() error {
	b := f.batch
	f.batch = batch{}
	return f.backlog.add(func() error {
		rises, err := f.ascent.takes(b)
		if err != nil {
			return err
		}
		add := f.appender.Append
		if rises {
			add = f.ascent.append
			f.added += len(b.lines)
		} else {
			f.staged += len(b.lines)
		}
		width := len(f.appender.fields)
		for i, line := range b.lines {
			if err := add(b.values[i*width : (i+1)*width]); err != nil {
				return f.im.fail(f.place(line), err)
			}
		}
		return nil
	})
}

// loaded waits until all that was read is in the log's connection.
func (f *File) loaded() error {
	if err := f.load(); err != nil {
		return err
	}
	if err := f.source.flush(); err != nil {
		return err
	}
	if err := f.backlog.finish(); err != nil {
		return err
	}
	if err := errors.Join(f.ascent.close(), f.appender.Close()); err != nil {
		return f.im.fail(f.name, err)
	}
	f.im.file = nil
	return nil
}

// discard gives up what is not loaded yet.
func (f *File) discard() {
	f.source.discard()
	f.backlog.finish()
	f.ascent.discard()
	f.appender.Discard()
}

// Finish merges the rows into the log, within the import's transaction, and
// reports what became of them.
//
// A build takes what it leaves blank from the plan that was saved under its id,
// which is finished with it. A row that replaces one whose prediction was worked
// out, and still states none, keeps that figure: a build of the same product, a
// test fill or cord check of the same length.
//
// A file whose bytes the log has already and that brings nothing new leaves no
// trace.
func (f *File) Finish(ctx context.Context, opt FinishOptions) (Outcome, error) {
	var out Outcome
	if err := f.loaded(); err != nil {
		return out, err
	}
	type step func(context.Context, FinishOptions, *Outcome) error
	steps := []step{f.keepSource}
	if f.staged > 0 {
		steps = append(steps, f.takePlans, f.resolve, f.recognise, f.compare)
	}
	steps = append(steps, f.merge, f.mergeRepeats, f.finishPlans, f.forgetSource, f.alike, f.unstage)
	for _, step := range steps {
		if err := step(ctx, opt, &out); err != nil {
			return Outcome{}, err
		}
	}
	slices.SortStableFunc(out.Conflicts, func(a, b Conflict) int { return a.Line - b.Line })
	return out, nil
}

// keepSource notes the file.
func (f *File) keepSource(ctx context.Context, _ FinishOptions, _ *Outcome) error {
	_, err := f.im.exec(ctx, f.name, sourceAdd,
		f.number, f.name, string(f.table.kind), f.source.digest(), f.source.size, f.im.now)
	return err
}

// recognise takes out of the staged rows what the log worked out for them
// itself.
func (f *File) recognise(ctx context.Context, _ FinishOptions, _ *Outcome) error {
	if f.table.recognise == "" {
		return nil
	}
	if f.table.computed != "" { // what it takes to look is nothing beside a large file
		var computed int
		if err := f.im.get(ctx, f.name, f.table.computed, &computed); err != nil || computed == 0 {
			return err
		}
	}
	_, err := f.im.exec(ctx, f.name, f.table.recognise)
	return err
}

// compare sets the staged rows beside the log's: verdict holds the lines the
// log has, repeated those whose id an earlier line of the file has.
func (f *File) compare(ctx context.Context, _ FinishOptions, _ *Outcome) error {
	statements := []string{f.table.repeated, verdictStage}
	if f.added > 0 {
		statements = []string{f.table.repeated, buildUnrepeat, buildRepeat, verdictStage}
	}
	for _, query := range statements {
		if _, err := f.im.exec(ctx, f.name, query); err != nil {
			return err
		}
	}
	if _, err := f.im.exec(ctx, f.name, f.table.verdict, false); err != nil {
		return err
	}
	return f.im.get(ctx, f.name, repeatedCount, &f.repeats)
}

// merge adds the rows that are new and, where amending, replaces those that
// differ. Repeated lines wait.
func (f *File) merge(ctx context.Context, opt FinishOptions, out *Outcome) error {
	if f.staged == 0 {
		out.New = f.added
		return nil
	}
	known, differing, err := f.count(ctx)
	if err != nil {
		return err
	}
	out.Same = known - differing
	switch {
	case differing == 0:
	case opt.Amend:
		out.Amended = differing
		if f.table.carry != "" {
			if _, err := f.im.exec(ctx, f.name, f.table.carry); err != nil {
				return err
			}
		}
		if !f.im.check {
			if _, err := f.im.exec(ctx, f.name, f.table.keep, f.im.now, f.number); err != nil {
				return err
			}
		}
		if _, err := f.im.exec(ctx, f.name, f.table.remove); err != nil {
			return err
		}
	default:
		if err := f.conflicts(ctx, out); err != nil {
			return err
		}
	}
	if f.table.hold != "" && known+f.repeats > 0 {
		if _, err := f.im.exec(ctx, f.name, f.table.hold, opt.Amend); err != nil {
			return err
		}
	}
	added, err := f.im.exec(ctx, f.name, f.table.insert, f.number)
	out.New = f.added + added - out.Amended
	return err
}

// mergeRepeats compares the lines that repeat an id with what the log has by
// now, which is what their first line said unless that was in conflict itself.
func (f *File) mergeRepeats(ctx context.Context, _ FinishOptions, out *Outcome) error {
	if f.repeats == 0 {
		return nil
	}
	if _, err := f.im.exec(ctx, f.name, verdictClear); err != nil {
		return err
	}
	if _, err := f.im.exec(ctx, f.name, f.table.verdict, true); err != nil {
		return err
	}
	known, differing, err := f.count(ctx)
	if err != nil {
		return err
	}
	out.Same += known - differing
	var r Repeat
	err = f.im.each(ctx, f.name, repeatedSame, []any{&r.ID, &r.Line, &r.First}, func() {
		out.Repeats = append(out.Repeats, r)
	})
	if err != nil || differing == 0 {
		return err
	}
	return f.conflicts(ctx, out)
}

// count returns how many staged lines the log has, and how many of them
// differ.
func (f *File) count(ctx context.Context) (known, differing int, err error) {
	err = f.im.each(ctx, f.name, verdictCount, []any{&known, &differing}, func() {})
	return known, differing, err
}

// conflicts adds the rows that differ from the log's to the outcome.
func (f *File) conflicts(ctx context.Context, out *Outcome) error {
	here, already := f.table.record(), f.table.record()
	var line, source, other int
	targets := append(here.scanners(&line), already.scanners(&source, &other)...)
	return f.im.each(ctx, f.name, f.table.conflicts, targets, func() {
		c := Conflict{ID: here.row().Key(), Line: line, InFile: source == f.number, Other: other}
		for i := range here.fields {
			h, a := here.fields[i].text(), already.fields[i].text()
			if h != a {
				c.Columns = append(c.Columns, Difference{Column: here.fields[i].name, Here: h, Already: a})
			}
		}
		out.Conflicts = append(out.Conflicts, c)
	})
}

// forgetSource removes the file's bytes where the log has them already, and
// the whole note of it where it also brought nothing.
func (f *File) forgetSource(ctx context.Context, _ FinishOptions, out *Outcome) error {
	if out.New > 0 || out.Amended > 0 || f.im.check {
		return nil
	}
	var copies int
	if err := f.im.get(ctx, f.name, sourceKnown, &copies, f.source.digest(), string(f.table.kind)); err != nil || copies < 2 {
		return err
	}
	for _, query := range []string{sourcePieceRemove, sourceRemove} {
		if _, err := f.im.exec(ctx, f.name, query, f.number); err != nil {
			return err
		}
	}
	return nil
}

// alike finds labels that were probably meant to be one.
func (f *File) alike(ctx context.Context, _ FinishOptions, out *Outcome) error {
	if out.New == 0 && out.Amended == 0 {
		return nil
	}
	var effect, here, other string
	return f.im.each(ctx, f.name, labelAlike, []any{&effect, &here, &other}, func() {
		if out.Alike == nil {
			out.Alike = map[model.Effect][][2]string{}
		}
		e := model.Effect(effect)
		out.Alike[e] = append(out.Alike[e], [2]string{here, other})
	}, f.number)
}

// unstage drops the temporary tables of the file.
func (f *File) unstage(ctx context.Context, _ FinishOptions, _ *Outcome) error {
	for _, query := range []string{f.table.unstage, verdictUnstage, repeatedUnstage} {
		if _, err := f.im.exec(ctx, f.name, query); err != nil {
			return err
		}
	}
	return nil
}
