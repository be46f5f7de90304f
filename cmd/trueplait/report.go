package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"

	"trueplait/data"
	"trueplait/report"
)

// reportCmd writes the HTML page.
type reportCmd struct {
	Output string `short:"o" default:"report.html" placeholder:"FILE" help:"Where to write the page (default: report.html)."`
	analysis
}

// Help is the worked example.
func (reportCmd) Help() string {
	return `Example: trueplait report -o march.html

Writes one page that needs no network and no other file: what to do now, the
predictions before and after, load by core batch, factors by maker, what was
set aside, and how it was worked out. A page of the same name is replaced.`
}

// Run writes the page.
func (c *reportCmd) Run(p *program) (err error) {
	w, err := c.open(p, data.ReadOnly)
	if err != nil {
		return err
	}
	defer w.Close(&err)
	page, err := w.Page(p.ctx, p.style(c.Units))
	if err != nil {
		return err
	}
	if err := writePage(c.Output, page); err != nil {
		return err
	}
	if c.JSON {
		return report.CalibrationJSON(p.stdout, page.Calibration)
	}
	fmt.Fprintf(p.stdout, "wrote %s\n", c.Output)
	return nil
}

func writePage(path string, page report.Page) error {
	var b bytes.Buffer
	if err := report.HTML(&b, page); err != nil {
		return err
	}
	return replaceFile(path, func(w io.Writer) error {
		_, err := b.WriteTo(w)
		return err
	})
}

// replaceFile writes a file whole: beside its place first, then moved there,
// so that an interruption leaves the old one or the new one, never half.
func replaceFile(path string, write func(io.Writer) error) (err error) {
	f, err := os.CreateTemp(filepath.Dir(path), "."+filepath.Base(path)+".*")
	if err != nil {
		return unwritten(path, err)
	}
	defer func() {
		if err != nil {
			f.Close()
			os.Remove(f.Name())
		}
	}()
	if err := write(f); err != nil {
		return unwritten(path, err)
	}
	if err := f.Chmod(0o644); err != nil {
		return unwritten(path, err)
	}
	if err := f.Sync(); err != nil {
		return unwritten(path, err)
	}
	if err := f.Close(); err != nil {
		return unwritten(path, err)
	}
	if err := os.Rename(f.Name(), path); err != nil {
		return unwritten(path, err)
	}
	return syncFolder(filepath.Dir(path))
}

// unwritten says why a file is not written, and what to do. The name that the
// system gives is left out: that of a temporary file means nothing to a maker.
func unwritten(path string, err error) error {
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("%s: its folder is not there: create it first", path)
	case errors.Is(err, fs.ErrPermission):
		return fmt.Errorf("%s: nothing may be written there: change the permissions of the folder, or name another", path)
	case errors.Is(err, syscall.ENOSPC):
		return fmt.Errorf("%s: the disk is full: make room and do it again", path)
	}
	var named *fs.PathError
	if errors.As(err, &named) {
		err = named.Err
	}
	return fmt.Errorf("%s: %w", path, err)
}

// syncFolder makes a rename in the folder last.
func syncFolder(path string) error {
	d, err := os.Open(path)
	if err != nil {
		return err
	}
	defer d.Close()
	return d.Sync()
}
