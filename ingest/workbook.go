package ingest

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"trueplait/ingest/xlsx"
	"trueplait/model"
)

// maxWorkbook is the largest workbook read, in bytes, since it is held in
// memory: its table of contents is at its end. It is enough for some hundred
// thousand builds; CSV has no limit.
const maxWorkbook = 32 << 20

// How the file of a workbook begins: a zip archive, and the container of the
// workbooks before it and of encrypted ones.
const (
	zipMagic = "PK\x03\x04"
	oleMagic = "\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
)

// Open reads the header of a CSV file or those of a workbook, whichever the
// file is by its first bytes: see [NewReader] and [NewWorkbook].
func Open(r io.Reader, name string, opt Options) ([]*Reader, error) {
	file := bufio.NewReaderSize(r, sniffed)
	start, err := file.Peek(len(oleMagic))
	extension := strings.ToLower(filepath.Ext(name))
	switch {
	case err != nil && err != io.EOF:
		return nil, fileError(name, err)
	case bytes.HasPrefix(start, []byte(zipMagic)), bytes.HasPrefix(start, []byte(oleMagic)):
		return NewWorkbook(file, name, opt)
	case extension == ".xlsx" || extension == ".xlsm":
		return nil, fileError(name, troublef(ErrFile,
			"the file is named %s but is no workbook: save it as one, or name it .csv if it is text", extension))
	}
	reader, err := NewReader(file, name, opt)
	if err != nil {
		return nil, err
	}
	return []*Reader{reader}, nil
}

// NewWorkbook reads the headers of a workbook (.xlsx) and returns a reader for
// each sheet with rows for the log, in the order of [model.Kinds] and then of
// the sheets. name stands for the file in messages.
//
// The first row of a sheet that is not blank is its header. Sheets whose header
// is of no kind are passed over, and so are hidden ones: what the maker does not
// see should not get into the log. (Hidden rows and columns are read: a filter
// hides rows that are meant.) Sheets of one kind are read one by one, as
// files of that kind would be; whoever puts their rows together finds those
// that are there twice.
//
// Cells are read as those of CSV, with these differences. A number has all its
// digits, whatever the sheet shows of them, and no decimal mark that options
// could be about; shown in per cent, it is so read. A date is one by the cell's
// number format. Of a formula the stored result counts. A cell under no header
// is a problem unless [Options.IgnoreUnknown].
//
// An error is [Problems], of the whole file or all that is wrong with the
// headers, or comes from r.
func NewWorkbook(r io.Reader, name string, opt Options) ([]*Reader, error) {
	book, err := openWorkbook(r)
	if err != nil {
		return nil, fileError(name, err)
	}
	var readers []*Reader
	var problems Problems
	var others []string
	for _, tab := range book.Sheets {
		if tab.Hidden {
			continue
		}
		reader, err := openSheet(book, tab, name, opt)
		switch wrong := (Problems)(nil); {
		case err == nil:
			readers = append(readers, reader)
		case err == io.EOF || errors.Is(err, errNoKind):
			others = append(others, quote(tab.Name))
		case errors.As(err, &wrong):
			if problems = append(problems, wrong...); len(problems) > maxProblems {
				return nil, problems
			}
		default:
			return nil, err
		}
	}
	switch {
	case len(problems) > 0:
		return nil, problems
	case len(readers) == 0:
		return nil, fileError(name, noSheet(others, len(book.Sheets)))
	}
	slices.SortStableFunc(readers, func(a, b *Reader) int {
		return slices.Index(model.Kinds, a.Kind()) - slices.Index(model.Kinds, b.Kind())
	})
	return readers, nil
}

// openSheet reads the header of a sheet. It returns io.EOF for a blank sheet
// and otherwise the errors of NewReader.
func openSheet(book *xlsx.File, tab xlsx.Sheet, name string, opt Options) (*Reader, error) {
	in, err := newSheet(book, tab, opt.IgnoreUnknown)
	if about := (*trouble)(nil); errors.As(err, &about) {
		return nil, Problems{{File: name, Sheet: tab.Name, Cell: "A1", Line: 1, Start: 1, Err: about}}
	}
	if err != nil {
		return nil, err
	}
	reader := &Reader{name: name, opt: opt, in: in}
	if err := reader.open(); err != nil {
		return nil, err
	}
	return reader, nil
}

// maxListed is how many sheets a message names.
const maxListed = 12

// noSheet is the trouble with a workbook of so many sheets, of which these can
// be seen and are not for the log.
func noSheet(others []string, all int) error {
	switch {
	case all == 0:
		return troublef(ErrKind, "the workbook has no sheet with cells: %s", kindsByHeader)
	case len(others) == 0:
		return troublef(ErrKind, "all sheets are hidden, and hidden sheets are not read: unhide those for the log")
	}
	names := strings.Join(others[:min(len(others), maxListed)], ", ")
	if more := len(others) - maxListed; more > 0 {
		names += fmt.Sprintf(" and %d more", more)
	}
	return troublef(ErrKind, "no sheet's first row tells what its rows are, of %s: %s", names, kindsByHeader)
}

// openWorkbook reads a workbook's list of sheets. Errors are troubles or come
// from r.
func openWorkbook(r io.Reader) (*xlsx.File, error) {
	file, err := io.ReadAll(io.LimitReader(r, maxWorkbook+1))
	switch {
	case err != nil:
		return nil, err
	case len(file) > maxWorkbook:
		return nil, troublef(ErrFile, `the workbook is over %d MB: save its sheets as "CSV UTF-8", which may be larger`, maxWorkbook>>20)
	case bytes.HasPrefix(file, []byte(oleMagic)) && bytes.Contains(file, utf16LE("EncryptedPackage")): // [MS-OFFCRYPTO] 1.3.3
		return nil, troublef(ErrFile, "the workbook is locked with a password: open it and save it without one")
	case bytes.HasPrefix(file, []byte(oleMagic)):
		return nil, troublef(ErrFile, `the file is in the format before .xlsx (.xls): save it as .xlsx or the sheet as "CSV UTF-8"`)
	}
	book, err := xlsx.Open(bytes.NewReader(file), int64(len(file)))
	if err != nil {
		return nil, workbookTrouble(err)
	}
	return book, nil
}

// maxError is how many bytes of an error of package xlsx a message repeats: it
// quotes names out of the file.
const maxError = 300

// workbookTrouble says what to do about an error of package xlsx.
func workbookTrouble(err error) error {
	var size *xlsx.SizeError
	what := visible(clipTo(err.Error(), maxError))
	switch {
	case errors.As(err, &size):
		return troublef(ErrFile, `%s: save the sheet as "CSV UTF-8", which may be larger`, what)
	case errors.Is(err, xlsx.ErrOpenDocument):
		return troublef(ErrFile, `the file is an OpenDocument spreadsheet (.ods): save it as .xlsx or the sheet as "CSV UTF-8"`)
	case errors.Is(err, xlsx.ErrNoWorkbook):
		return troublef(ErrFile, `the file is no workbook (.xlsx): save it as one or the sheet as "CSV UTF-8"`)
	}
	return troublef(ErrFile, "the workbook is %s: open it in a spreadsheet program and save it again", what)
}

// utf16LE is the bytes of ASCII text in that encoding.
func utf16LE(text string) []byte {
	var b []byte
	for i := range len(text) {
		b = append(b, text[i], 0)
	}
	return b
}
