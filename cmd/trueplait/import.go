package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"trueplait/data"
	"trueplait/ingest"
	"trueplait/model"
	"trueplait/report"
)

// importCmd takes files into the log.
type importCmd struct {
	Files    []string `arg:"" name:"file" help:"CSV files of builds, test fills, cord checks, products or parts lists, in any order."`
	KeepGood bool     `help:"Take the good rows, and write the others to FILE.rejected.csv with the reason."`
	Amend    bool     `help:"Let rows replace those of the same id; the old ones are kept in the history."`
	JSON     bool     `name:"json" help:"Print the result as JSON."`
	reading
}

// Help is the worked example.
func (importCmd) Help() string {
	return `Example: trueplait import builds.csv fills.csv

A file says by its header what it holds: a column build, fill, check, part and
role, or product. Cells may carry their unit: 412 g, 14 1/2 oz, 6' 2 1/4".
All problems of a file are shown, and nothing is imported unless every row is
good. Importing the same file again changes nothing.`
}

// Run imports all files in one transaction.
func (c *importCmd) Run(p *program) error {
	for _, f := range c.Files {
		if !c.KeepGood {
			break
		}
		if _, err := os.Lstat(rejectsName(f)); err == nil {
			return fmt.Errorf("%s: is there already: move it away, it would not be overwritten", rejectsName(f))
		}
	}
	_, absent := os.Stat(p.log)
	log, err := data.Open(p.ctx, p.log, data.ReadWrite)
	if err != nil {
		return err
	}
	results, clean, err := c.into(p, log)
	err = errors.Join(err, log.Close())
	if results == nil && errors.Is(absent, os.ErrNotExist) {
		err = errors.Join(err, os.Remove(p.log)) // made for nothing
	}
	if err != nil {
		return err
	}
	if !clean && !c.KeepGood {
		fmt.Fprintln(p.stderr, "trueplait: nothing was imported")
		return reportedError{exitData}
	}
	if err := showImported(p, results, c.JSON); err != nil {
		return err
	}
	if !clean {
		return reportedError{exitData}
	}
	return nil
}

// into imports into an open log and reports whether every row was good.
func (c *importCmd) into(p *program, log *data.Log) ([]model.Imported, bool, error) {
	opt, err := c.options()
	if err != nil {
		return nil, false, err
	}
	at, err := now()
	if err != nil {
		return nil, false, err
	}
	im, err := log.Begin(p.ctx, at)
	if err != nil {
		return nil, false, err
	}
	l := &loader{program: p, im: im, opt: opt, amend: c.Amend, progress: newProgress(p.stderr)}
	results, clean, err := l.load(c.Files)
	if err != nil || results == nil || !clean && !c.KeepGood {
		return nil, false, errors.Join(err, im.Rollback())
	}
	for _, f := range l.files {
		if len(f.rejects) > 0 {
			if err := writeRejects(f.path, f.rejects); err != nil {
				return nil, false, errors.Join(err, im.Rollback())
			}
			fmt.Fprintf(p.stderr, "%s: %d %s not imported, see %s\n", f.path, len(f.rejects), f.result.Kind.Noun(len(f.rejects)), rejectsName(f.path))
		}
	}
	return results, clean, im.Commit(p.ctx)
}

func rejectsName(path string) string { return path + ".rejected.csv" }

// writeRejects copies the records that were left out, with their reasons, to a
// file beside the one they came from.
func writeRejects(path string, reasons map[int][]string) (err error) {
	src, err := os.Open(path)
	if err != nil {
		return fileError(path, err)
	}
	defer src.Close()
	dst, err := os.OpenFile(rejectsName(path), os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		return fmt.Errorf("%s: %w", filepath.Clean(rejectsName(path)), err)
	}
	if err := errors.Join(ingest.CopyRejects(dst, src, reasons), dst.Sync(), dst.Close()); err != nil {
		return errors.Join(fmt.Errorf("%s: %w", rejectsName(path), err), os.Remove(rejectsName(path)))
	}
	return nil
}

func showImported(p *program, results []model.Imported, json bool) error {
	if json {
		return report.ImportJSON(p.stdout, results)
	}
	return report.ImportTable(p.stdout, results, p.style("both"))
}
