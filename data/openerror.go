package data

import (
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"
	"syscall"

	"github.com/duckdb/duckdb-go/v2"
)

// What can be wrong with a log that is opened. The errors returned wrap these
// and say which file and what to do.
var (
	ErrNoLog  = errors.New("no log")
	ErrInUse  = errors.New("in use by another program")
	ErrNotLog = errors.New("not a log")
	ErrNewer  = errors.New("written by a newer program")
	ErrOlder  = errors.New("written by an older program")

	ErrDamaged = errors.New("damaged")
)

// openError puts what DuckDB says about a file it cannot open or read into the
// words of someone who has never heard of it. DuckDB has one error type for all
// of these, so its text decides.
func openError(path string, err error) error {
	var d *duckdb.Error
	text := err.Error()
	if errors.As(err, &d) {
		text = d.Msg
	}
	says := func(words ...string) bool {
		return slices.ContainsFunc(words, func(w string) bool { return strings.Contains(text, w) })
	}
	switch {
	case says("Could not set lock"):
		return fmt.Errorf("log %s: %w: close it there (an import, the bench page or a database viewer may be open) and try again",
			path, ErrInUse)
	case says("newer version of DuckDB", "trying to read a database file with version number"):
		return fmt.Errorf("log %s: %w: its DuckDB format is not known here; use the newer program", path, ErrNewer)
	case says("WAL file"):
		return fmt.Errorf("log %s: %w in %s.wal, where the last changes are: put a backup in the place of both files; "+
			"or move that one away, which gives the last changes up: %w", path, ErrDamaged, path, err)
	case says("Corrupt database file", "Could not read enough bytes", "Could not read all bytes"):
		return fmt.Errorf("log %s: %w or cut short: move it away and put a backup in its place: %w", path, ErrDamaged, err)
	case says("Permission denied", "Read-only file system", "Operation not permitted"), errors.Is(err, os.ErrPermission):
		return fmt.Errorf("log %s: the file and its folder must be yours to read and write: change their permissions, or copy the log to a folder of yours: %w",
			path, err)
	}
	return fmt.Errorf("log %s: %w", path, diskError(err))
}

// diskError says what to do where an error comes of a full disk.
func diskError(err error) error {
	if !strings.Contains(err.Error(), "No space left") && !errors.Is(err, syscall.ENOSPC) {
		return err
	}
	return fmt.Errorf("the disk is full: make room and do it again, what was saved before is safe: %w", err)
}
