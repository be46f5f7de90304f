package workshop

import (
	"bytes"
	"context"
	"errors"

	"trueplait/data"
	"trueplait/ingest"
	"trueplait/model"
	"trueplait/report"
	"trueplait/report/bench"
)

// Check says what importing a file would do.
func (b *Bench) Check(ctx context.Context, f bench.File) (*bench.FileReport, error) {
	b.log.Lock()
	defer b.log.Unlock()
	im, out, _, err := b.takeFile(ctx, f)
	if im != nil {
		err = errors.Join(err, im.Rollback())
	}
	return out, err
}

// Import takes a file into the log, if all of it is good or only the good rows
// are asked for, and fits anew.
func (b *Bench) Import(ctx context.Context, f bench.File) (*bench.FileReport, error) {
	out, write, err := b.importFile(ctx, f)
	if err != nil || !out.Taken {
		return out, err
	}
	ctx = context.WithoutCancel(ctx)
	b.after.Lock()
	defer b.after.Unlock()
	out.Saved = &report.Saved{}
	before, now, err := b.learn(ctx, write)
	if err != nil {
		return out, err
	}
	b.log.Lock()
	defer b.log.Unlock()
	out.Saved.Calibration, out.Saved.BaseLoadGMM = now.Calibration.Number, now.Calibration.Summary.BaseLoadGMM
	out.Saved.Changes, err = b.changes(ctx, before, now, &model.Build{Labels: now.Latest, Date: now.Today})
	return out, err
}

// importFile takes a file into the log, and returns the number of the write; there
// was none where the report says that nothing was taken.
func (b *Bench) importFile(ctx context.Context, f bench.File) (*bench.FileReport, int, error) {
	ctx, done := b.write(ctx)
	defer done()
	im, out, files, err := b.takeFile(ctx, f)
	if im == nil {
		return out, 0, err
	}
	if err != nil || len(out.Problems) > 0 && !f.Good {
		return out, 0, errors.Join(err, im.Rollback())
	}
	if f.Good {
		if out.Rejects, err = rejects(f, files); err != nil {
			return out, 0, errors.Join(err, im.Rollback())
		}
	}
	if err := im.Commit(ctx); err != nil {
		return out, 0, err
	}
	out.Taken = true
	b.writes++
	return out, b.writes, nil
}

// takeFile takes a file into an import, which the caller ends; there is none
// where its header is not understood.
func (b *Bench) takeFile(ctx context.Context, f bench.File) (*data.Import, *bench.FileReport, []*Taken, error) {
	at, err := b.workshop.opt.Clock()
	if err != nil {
		return nil, nil, nil, err
	}
	im, err := b.workshop.Log.Begin(ctx, at)
	if err != nil {
		return nil, nil, nil, err
	}
	out := &bench.FileReport{}
	files, err := NewLoader(im, Taking{Read: ingest.Options{Today: at}, Amend: f.Amend, Good: f.Good}).
		Load(ctx, []Input{{Name: f.Name, Reader: bytes.NewReader(f.Bytes)}})
	var problems ingest.Problems
	if errors.As(err, &problems) {
		for _, e := range problems {
			out.Problems = append(out.Problems, fileProblem(e))
		}
		return nil, out, nil, im.Rollback()
	}
	if err != nil {
		return nil, nil, nil, errors.Join(err, im.Rollback())
	}
	for _, t := range files {
		out.Files = append(out.Files, t.Imported)
		out.More += t.MoreProblems
		for _, e := range t.Problems {
			out.Problems = append(out.Problems, fileProblem(e))
		}
	}
	return im, out, files, nil
}

// fileProblem is a problem of a row for a table.
func fileProblem(e *ingest.RowError) bench.FileProblem {
	return bench.FileProblem{Sheet: e.Sheet, Cell: e.Cell, Line: e.Line, Column: e.Column, Text: e.Text, Message: e.Err.Error()}
}

// rejects are the records that were left out, as CSV with the reasons.
func rejects(f bench.File, files []*Taken) ([]byte, error) {
	var out bytes.Buffer
	for _, t := range files {
		if len(t.Rejects) == 0 {
			continue
		}
		if out.Len() > 0 { // another sheet, with columns of its own
			out.WriteString("\n")
		}
		if err := t.CopyRejects(&out, bytes.NewReader(f.Bytes)); err != nil {
			return nil, err
		}
	}
	return out.Bytes(), nil
}
