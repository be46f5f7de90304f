// Package xlsx reads the cells of a workbook (.xlsx, Office Open XML) row by
// row, each with its type and with what its number format makes of it.
//
// A workbook comes from anywhere, so it is never unpacked as a whole: a sheet
// is read as a stream, only its strings and formats are held, and every part
// has a limit that is checked before the part is unpacked.
//
// The general readers of this format either give text alone, where a number
// cannot be told from text that looks like one nor a date from a number, or
// they build the whole sheet with all its blank cells: a file of 11 kB with
// 1,000 rows of one far cell then takes 3 GB. Tests use one of them to write
// workbooks and as a second opinion on what they hold.
//
// Format: ECMA-376 Part 1 (SpreadsheetML) and Part 2 (packages); section
// numbers in this package are those of Part 1, 5th edition (2016).
package xlsx

import (
	"archive/zip"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"path"
	"strings"
)

// Limits on what is unpacked, in bytes.
const (
	// MaxUnpacked is for all parts that are read, together. A workbook of
	// 32 MB unpacks to about that; a bomb of that size to 33 GB.
	MaxUnpacked = 256 << 20
	// MaxStrings is for the part with the strings, which are held in memory.
	MaxStrings = 32 << 20
	// MaxList is for any other part that is held: the list of sheets, the
	// formats, what a part refers to. Held, it may be ten times as large.
	MaxList = 8 << 20
)

// maxStrings is how many strings a workbook may have: as many as MaxStrings
// holds of those that are not blank.
const maxStrings = MaxStrings / len("<si><t>x</t></si>")

// maxSheets is how many sheets a workbook may have. Each may be read at the same
// time as the others, which takes 50 kB however small it is.
const maxSheets = 1000

// Why a file cannot be read.
var (
	ErrNoWorkbook   = errors.New("no workbook in it")    // not a package, or one of something else
	ErrOpenDocument = errors.New("an OpenDocument file") // .ods
	ErrDamaged      = errors.New("damaged")              // what else it says about itself is not so
)

// SizeError is a part over a limit.
type SizeError struct {
	Part  string
	Limit int64 // bytes
}

func (e *SizeError) Error() string {
	return fmt.Sprintf("%s unpacks to over %d MB", e.Part, e.Limit>>20)
}

// File is an open workbook.
type File struct {
	// Sheets are the worksheets in the order of their tabs.
	Sheets []Sheet

	parts    map[string]*zip.File // by name in lower case: names differ in more than case
	left     int64                // of MaxUnpacked
	strings  []string             // what cells refer to by number
	formats  []format             // by number of the cell's style
	date1904 bool                 // days count from 1904
}

// Sheet is one worksheet.
type Sheet struct {
	Name   string
	Hidden bool
	part   string
}

// Open reads the list of sheets and what all of them share. r must stay
// readable while rows are read.
//
// Errors are ErrNoWorkbook, ErrOpenDocument, a [SizeError] or else ErrDamaged.
func Open(r io.ReaderAt, size int64) (*File, error) {
	archive, err := zip.NewReader(r, size)
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrDamaged, err)
	}
	f := &File{parts: map[string]*zip.File{}, left: MaxUnpacked}
	for _, part := range archive.File {
		f.parts[partKey(part.Name)] = part
	}
	book, err := f.book()
	if err != nil {
		return nil, err
	}
	related, err := f.relations(book)
	if err != nil {
		return nil, err
	}
	if err := f.readBook(book, related); err != nil {
		return nil, err
	}
	for _, rel := range related {
		switch rel.kind() {
		case "sharedStrings":
			err = f.readStrings(rel.part)
		case "styles":
			err = f.readFormats(rel.part)
		}
		if err != nil {
			return nil, err
		}
	}
	return f, nil
}

// book finds the part that lists the sheets.
func (f *File) book() (string, error) {
	related, err := f.relations("")
	if err != nil {
		return "", err
	}
	for _, rel := range related {
		if rel.kind() == "officeDocument" && strings.HasSuffix(partKey(rel.part), ".xml") {
			return rel.part, nil
		}
	}
	if f.parts["content.xml"] != nil {
		return "", ErrOpenDocument
	}
	return "", ErrNoWorkbook
}

// readBook reads the list of sheets (18.2.27).
func (f *File) readBook(part string, related map[string]relation) error {
	var book struct {
		Properties struct {
			Date1904 string `xml:"date1904,attr"`
		} `xml:"workbookPr"`
		Sheets []struct {
			Name  string `xml:"name,attr"`
			State string `xml:"state,attr"`
			ID    string `xml:"id,attr"`
		} `xml:"sheets>sheet"`
	}
	switch root, err := f.decode(part, &book); {
	case err != nil:
		return err
	case root != "workbook":
		return ErrNoWorkbook
	}
	if n := len(book.Sheets); n > maxSheets {
		return damaged(part, fmt.Errorf("%d sheets of at most %d", n, maxSheets))
	}
	f.date1904 = isTrue(book.Properties.Date1904)
	names := map[string]bool{"": true}
	for _, s := range book.Sheets {
		if names[s.Name] {
			return damaged(part, fmt.Errorf("a sheet named %q, which is no name of its own", s.Name))
		}
		names[s.Name] = true
		if rel := related[s.ID]; rel.kind() == "worksheet" { // not a chart alone on a sheet
			f.Sheets = append(f.Sheets, Sheet{s.Name, s.State != "" && s.State != "visible", rel.part})
		}
	}
	return nil
}

// relation is what one part says of another.
type relation struct {
	typ  string
	part string
}

// kind is the last word of the type, which is all that its editions share.
func (r relation) kind() string { return path.Base(r.typ) }

// relations returns what a part, or the package where part is "", refers to,
// by the name it uses (Part 2, 9.3). A part that refers to nothing has none.
func (f *File) relations(part string) (map[string]relation, error) {
	folder, name := path.Split(part)
	list := folder + "_rels/" + name + ".rels"
	if f.parts[partKey(list)] == nil {
		return nil, nil
	}
	var doc struct {
		Relations []struct {
			ID     string `xml:"Id,attr"`
			Type   string `xml:"Type,attr"`
			Target string `xml:"Target,attr"`
		} `xml:"Relationship"`
	}
	if _, err := f.decode(list, &doc); err != nil {
		return nil, err
	}
	related := map[string]relation{}
	for _, r := range doc.Relations {
		target := r.Target
		if !strings.HasPrefix(target, "/") {
			target = path.Join(folder, target)
		}
		related[r.ID] = relation{r.Type, target}
	}
	return related, nil
}

// decode reads a part into doc and returns the name of its root element.
func (f *File) decode(part string, doc any) (root string, err error) {
	text, err := f.open(part, MaxList)
	if err != nil {
		return "", err
	}
	in := newDecoder(text)
	for {
		token, err := in.Token()
		if err != nil {
			return "", damaged(part, err)
		}
		if start, ok := token.(xml.StartElement); ok {
			if err := in.DecodeElement(doc, &start); err != nil {
				return "", damaged(part, err)
			}
			if err := drain(text); err != nil {
				return "", damaged(part, err)
			}
			return start.Name.Local, nil
		}
	}
}

// open starts to unpack a part. The size that the package states for it is
// held to by archive/zip.
func (f *File) open(part string, limit int64) (io.Reader, error) {
	entry := f.parts[partKey(part)]
	if entry == nil {
		return nil, damaged(part, errors.New("it is missing"))
	}
	if entry.UncompressedSize64 > uint64(limit) {
		return nil, &SizeError{part, limit}
	}
	if f.left -= int64(entry.UncompressedSize64); f.left < 0 {
		return nil, &SizeError{"the workbook", MaxUnpacked}
	}
	text, err := entry.Open()
	if err != nil {
		return nil, damaged(part, err)
	}
	return text, nil
}

// drain reads a part to its end, where its checksum is.
func drain(text io.Reader) error {
	_, err := io.Copy(io.Discard, text)
	return err
}

// damaged says which part is at fault.
func damaged(part string, err error) error {
	return fmt.Errorf("%w: %s: %w", ErrDamaged, strings.TrimPrefix(part, "/"), err)
}

// partKey is a name of a part as names are compared (Part 2, 6.2.2.3). Some
// writers put backslashes.
func partKey(name string) string {
	return strings.ToLower(strings.TrimPrefix(strings.ReplaceAll(name, `\`, "/"), "/"))
}

// isTrue reads a truth value (22.9.2.1 and XML Schema).
func isTrue(text string) bool { return text == "1" || text == "true" || text == "on" }
