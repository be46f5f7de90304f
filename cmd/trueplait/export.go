package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"trueplait/cmd/workshop"
	"trueplait/data"
	"trueplait/model"
)

// exportCmd writes the log back to files.
type exportCmd struct {
	Dir     string `arg:"" help:"Folder to write into; made if it is not there."`
	Parquet bool   `help:"Write Parquet files as well."`
}

// Help is the worked example.
func (exportCmd) Help() string {
	return `Example: trueplait export backup-2026-03

Writes builds.csv, fills.csv, checks.csv, products.csv and parts.csv, as far as
there are rows, in grams and millimetres. Imported into a new log and exported
again they give the same bytes. Amended rows and saved calibrations go beside
them as amendments.jsonl and calibrations.jsonl. Nothing is overwritten.`
}

// Run exports.
func (c *exportCmd) Run(p *program) (err error) {
	w, err := workshop.Open(p.ctx, p.log, data.ReadOnly, workshop.Options{Clock: now})
	if err != nil {
		return err
	}
	defer w.Close(&err)
	if err := os.MkdirAll(c.Dir, 0o777); err != nil {
		return unwritten(c.Dir, err)
	}
	if err := c.refuseOverwriting(); err != nil {
		return err
	}
	var wrote []string
	err = w.Export(p.ctx, func(name string, content func(io.Writer) error) error {
		path := filepath.Join(c.Dir, name)
		wrote = append(wrote, path)
		return replaceFile(path, content)
	})
	if err == nil && c.Parquet {
		var paths []string
		paths, err = c.parquet(p, w.Log)
		wrote = append(wrote, paths...)
	}
	if err != nil {
		return err
	}
	for _, path := range wrote {
		if _, err := fmt.Fprintf(p.stdout, "wrote %s\n", path); err != nil {
			return err
		}
	}
	return nil
}

// refuseOverwriting finds what is in the way before anything is written.
func (c *exportCmd) refuseOverwriting() error {
	names := []string{workshop.AmendmentsName, workshop.CalibrationsName}
	for _, k := range model.Kinds {
		names = append(names, string(k)+".csv", string(k)+".parquet")
	}
	for _, n := range names {
		path := filepath.Join(c.Dir, n)
		if _, err := os.Lstat(path); err == nil {
			return fmt.Errorf("%s: is there already: export into an empty folder", path)
		}
	}
	return nil
}

// parquet writes the Parquet files in a folder of their own and moves them to
// their place when they are whole. It returns where they are.
func (c *exportCmd) parquet(p *program, log *data.Log) (paths []string, err error) {
	half, err := os.MkdirTemp(c.Dir, ".parquet.*")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(half)
	if err := log.ExportParquet(p.ctx, half); err != nil {
		return nil, err
	}
	files, err := os.ReadDir(half)
	if err != nil {
		return nil, err
	}
	for _, f := range files {
		from, path := filepath.Join(half, f.Name()), filepath.Join(c.Dir, f.Name())
		if err := syncFile(from); err != nil {
			return nil, err
		}
		if err := os.Rename(from, path); err != nil {
			return nil, err
		}
		paths = append(paths, path)
	}
	return paths, syncFolder(c.Dir)
}

// syncFile makes the content of a file last that DuckDB wrote, which does not
// do it itself.
func syncFile(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}
