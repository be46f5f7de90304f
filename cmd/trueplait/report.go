package main

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"trueplait/calibrate"
	"trueplait/data"
	"trueplait/model"
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
	defer w.close(&err)
	page, err := c.page(p, w)
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

// page gathers all that the page shows.
func (a *analysis) page(p *program, w *workshop) (report.Page, error) {
	page := report.Page{Version: versionText(), Style: p.style(a.Units)}
	var err error
	if page.Calibration, err = a.fit(p.ctx, w); err != nil {
		return page, err
	}
	if page.Proof, err = calibrate.Prove(p.ctx, w.src, calibrate.ProofOptions{KeepAll: a.keepAll(), Seed: a.Seed}); err != nil {
		return page, err
	}
	if page.Promises, err = a.promises(p, w, page.Calibration); err != nil {
		return page, err
	}
	saved, err := w.log.Calibrations(p.ctx)
	if err != nil {
		return page, err
	}
	for _, s := range saved {
		page.Calibrations = append(page.Calibrations, report.SavedMark{Number: s.Number, Through: s.Through})
	}
	if page.Products, err = a.products(p, w); err != nil {
		return page, err
	}
	if page.Lines, err = calibrate.Consistency(p.ctx, w.src, page.Products, calibrate.ConsistencyOptions{}); err != nil {
		return page, err
	}
	for row, err := range w.log.Rows(p.ctx, model.Fills, a.Through.Time) {
		if err != nil {
			return page, err
		}
		page.Fills = append(page.Fills, row.(*model.Fill))
	}
	return page, nil
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
		return fmt.Errorf("%s: %w", path, err)
	}
	defer func() {
		if err != nil {
			f.Close()
			os.Remove(f.Name())
		}
	}()
	if err := write(f); err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	if err := f.Chmod(0o644); err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	if err := f.Sync(); err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	if err := f.Close(); err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	if err := os.Rename(f.Name(), path); err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	return syncFolder(filepath.Dir(path))
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
