package main

import (
	"errors"
	"fmt"
	"io"
	"os"

	"trueplait/cmd/workshop"
	"trueplait/ingest"
)

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

// watched counts what is read of a file.
type watched struct {
	io.Reader
	progress *progress
}

func (w watched) Read(p []byte) (int, error) {
	n, err := w.Reader.Read(p)
	w.progress.add(n)
	return n, err
}

// openFiles opens the files named, all or none. What is wrong with any is
// printed.
func (p *program) openFiles(paths []string, bar *progress) (inputs []workshop.Input, closeAll func(), err error) {
	var files []*os.File
	closeAll = func() {
		for _, f := range files {
			f.Close()
		}
	}
	for _, path := range paths {
		file, size, e := openFile(path)
		if e != nil {
			fmt.Fprintln(p.stderr, e)
			err = reportedError{exitData}
			continue
		}
		files = append(files, file)
		bar.expect(size)
		inputs = append(inputs, workshop.Input{Name: path, Reader: watched{file, bar}})
	}
	return inputs, closeAll, err
}

// openFile opens a file and says how large it is. What is no file is refused
// before it is opened: a pipe that nobody writes to would be waited for.
func openFile(path string) (*os.File, int64, error) {
	info, err := os.Stat(path)
	switch {
	case err != nil:
		return nil, 0, fileError(path, err)
	case info.IsDir():
		return nil, 0, fmt.Errorf("%s:1: is a folder: name the files in it", path)
	case !info.Mode().IsRegular():
		return nil, 0, fmt.Errorf("%s:1: is no file but a pipe or a device: save what it gives as a file first", path)
	}
	file, err := os.Open(path)
	if err != nil {
		return nil, 0, fileError(path, err)
	}
	return file, info.Size(), nil
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

// tell prints what is wrong with a file, and what is odd.
func (p *program) tell(f *workshop.Taken) {
	for _, e := range f.Problems {
		fmt.Fprintln(p.stderr, e)
	}
	if f.MoreProblems > 0 {
		fmt.Fprintf(p.stderr, "%s: and %d more problems\n", f.File, f.MoreProblems)
	}
	for _, w := range f.Warnings {
		fmt.Fprintln(p.stderr, "warning: "+w)
	}
}
