package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"unicode"

	"trueplait/cmd/workshop"
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
		if err := refuseRejects(rejectsName(f, "")); err != nil {
			return err
		}
	}
	absent := workshop.Absent(p.log)
	log, err := data.Open(p.ctx, p.log, data.ReadWrite)
	if err != nil {
		return err
	}
	results, clean, err := c.into(p, log)
	err = errors.Join(err, log.Close())
	if results == nil && absent {
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

// into imports into an open log and reports whether every row was good; what
// is wrong is printed.
func (c *importCmd) into(p *program, log *data.Log) ([]model.Imported, bool, error) {
	opt, err := c.options()
	if err != nil {
		return nil, false, err
	}
	at, err := now()
	if err != nil {
		return nil, false, err
	}
	bar := newProgress(p.stderr)
	inputs, closeAll, err := p.openFiles(c.Files, bar)
	defer closeAll()
	if err != nil {
		return nil, false, nil
	}
	im, err := log.Begin(p.ctx, at)
	if err != nil {
		return nil, false, err
	}
	files, clean, err := p.load(im, inputs, workshop.Taking{Read: opt, Amend: c.Amend, Good: c.KeepGood})
	bar.done()
	if err != nil || files == nil || !clean && !c.KeepGood {
		return nil, false, errors.Join(err, im.Rollback())
	}
	var results []model.Imported
	for _, f := range files {
		results = append(results, f.Imported)
		if f.Rejected > 0 {
			to := rejectsName(f.Input, f.Sheet())
			if err := writeRejects(to, f); err != nil {
				return nil, false, errors.Join(err, im.Rollback())
			}
			fmt.Fprintf(p.stderr, "%s: %d %s not imported, see %s\n", f.File, f.Rejected, f.Kind.Noun(f.Rejected), to)
		}
	}
	return results, clean, im.Commit(p.ctx)
}

// load takes files into an import, prints what is wrong with them and reports
// whether every row was good; no files: a header was not understood.
func (p *program) load(im *data.Import, inputs []workshop.Input, opt workshop.Taking) ([]*workshop.Taken, bool, error) {
	files, err := workshop.NewLoader(im, opt).Load(p.ctx, inputs)
	var problems ingest.Problems
	if errors.As(err, &problems) {
		fmt.Fprintln(p.stderr, problems)
		return nil, false, nil
	}
	if err != nil {
		return nil, false, err
	}
	clean := true
	for _, f := range files {
		p.tell(f)
		clean = clean && len(f.Problems) == 0
	}
	return files, clean, nil
}

// rejectsName is the file that takes what was left out of a file, or of a sheet
// of it. Whatever a sheet is called, its rejects stand beside the workbook.
func rejectsName(path, sheet string) string {
	if sheet != "" {
		path += "." + strings.Map(func(r rune) rune {
			if r == '/' || r == '\\' || r == ':' || !unicode.IsPrint(r) {
				return '_'
			}
			return r
		}, sheet)
	}
	return path + ".rejected.csv"
}

// writeRejects writes the records that were left out, with their reasons. The
// file gets its name when it is whole.
func writeRejects(path string, f *workshop.Taken) error {
	src, err := os.Open(f.Input)
	if err != nil {
		return fileError(f.Input, err)
	}
	defer src.Close()
	if err := refuseRejects(path); err != nil {
		return err
	}
	return replaceFile(path, func(w io.Writer) error { return f.CopyRejects(w, src) })
}

// refuseRejects makes sure that rejects take the place of nothing.
func refuseRejects(path string) error {
	if _, err := os.Lstat(path); err == nil {
		return fmt.Errorf("%s: is there already: move it away, it would not be overwritten", path)
	}
	return nil
}

func showImported(p *program, results []model.Imported, json bool) error {
	if json {
		return report.ImportJSON(p.stdout, results)
	}
	return report.ImportTable(p.stdout, results, p.style("both"))
}
