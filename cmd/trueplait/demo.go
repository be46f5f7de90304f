package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"trueplait/data"
	"trueplait/data/demo"
	"trueplait/report"
)

// demoCmd makes the invented shop.
type demoCmd struct {
	Dir string `arg:"" optional:"" default:"demo-shop" help:"Folder to make it in (default: demo-shop)."`
}

// Help is the worked example.
func (demoCmd) Help() string {
	return `Example: trueplait demo

Writes the files of an invented shop with four makers, its log and its report
into a folder, and shows the predictions before and after calibration. Run again
it replaces them; a folder that holds anything else is refused.`
}

// Names of what the demo writes beside its CSV files.
const (
	demoLog    = "workshop.duckdb"
	demoReport = "report.html"
)

// demoSaves are the days on which the invented shop calibrated.
var demoSaves = []string{"2023-12-31", "2024-06-30", "2024-12-31", ""}

// Run makes the shop.
func (c *demoCmd) Run(p *program) error {
	files, err := fs.Glob(demo.Files, "*.csv")
	if err != nil {
		return err
	}
	if err := c.clear(files); err != nil {
		return err
	}
	var paths []string
	for _, name := range files {
		text, err := demo.Files.ReadFile(name)
		if err != nil {
			return err
		}
		path := filepath.Join(c.Dir, name)
		paths = append(paths, path)
		err = replaceFile(path, func(w io.Writer) error { _, err := w.Write(text); return err })
		if err != nil {
			return err
		}
	}
	in := *p
	in.log = filepath.Join(c.Dir, demoLog)
	in.stdout = io.Discard
	imported := importCmd{Files: paths}
	if err := imported.Run(&in); err != nil {
		return err
	}
	for _, through := range demoSaves {
		if err := c.calibrate(&in, through); err != nil {
			return err
		}
	}
	fmt.Fprintf(p.stdout, "An invented shop, in %s: every name and figure in it is made up. Each build is\n"+
		"predicted as it would have been before it was made, from earlier rows only.\n\n", c.Dir)
	return c.report(p, in.log)
}

// clear removes what an earlier demo left, and refuses a folder with anything
// else in it.
func (c *demoCmd) clear(files []string) error {
	ours := append(slices.Clone(files), demoLog, demoLog+".wal", sideDoorPath(demoLog), demoReport)
	there, err := os.ReadDir(c.Dir)
	if errors.Is(err, os.ErrNotExist) {
		return os.MkdirAll(c.Dir, 0o777)
	}
	if err != nil {
		return err
	}
	// cutOff reports whether a demo that was killed left a file or folder half made.
	cutOff := func(name string) bool {
		return slices.ContainsFunc(ours, func(of string) bool { return strings.HasPrefix(name, "."+of+".") })
	}
	for _, f := range there {
		if !slices.Contains(ours, f.Name()) && !cutOff(f.Name()) {
			return fmt.Errorf("%s: holds %q, which is not the demo's: name an empty folder, or one that is not there yet", c.Dir, f.Name())
		}
	}
	for _, f := range there {
		if strings.HasPrefix(f.Name(), demoLog) || cutOff(f.Name()) {
			if err := os.RemoveAll(filepath.Join(c.Dir, f.Name())); err != nil {
				return err
			}
		}
	}
	return nil
}

// calibrate saves a calibration as of a day.
func (c *demoCmd) calibrate(p *program, through string) error {
	cal := calibrateCmd{analysis: demoAnalysis()}
	if through != "" {
		day, err := time.Parse(time.DateOnly, through)
		if err != nil {
			return err
		}
		cal.Through.Time = day
	}
	return cal.Run(p)
}

// demoAnalysis has the options that the command line would have by default.
func demoAnalysis() analysis { return analysis{Units: "both", SetAside: "auto", Seed: 1} }

// report shows the before-and-after table and writes the page.
func (c *demoCmd) report(p *program, log string) (err error) {
	in := *p
	in.log = log
	a := demoAnalysis()
	w, err := a.open(&in, data.ReadOnly)
	if err != nil {
		return err
	}
	defer w.Close(&err)
	page, err := w.Page(p.ctx, p.style(a.Units))
	if err != nil {
		return err
	}
	page.Demo = true
	path := filepath.Join(c.Dir, demoReport)
	if err := writePage(path, page); err != nil {
		return err
	}
	if err := report.BeforeAfterTable(p.stdout, page.Proof, p.style(a.Units)); err != nil {
		return err
	}
	_, err = fmt.Fprintf(p.stdout, "\nOpen %s in a browser. Then try:\n"+
		"  trueplait factors --log %s\n"+
		"  trueplait plan --log %s --product \"6 ft bull, 12 plait\" -o sheet.html\n", path, log, log)
	return err
}
