package data

import (
	"errors"
	"fmt"
	"strings"

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
)

// openError puts what DuckDB says about a file it cannot open into the words
// of someone who has never heard of it. DuckDB has one error type for all of
// these, so its text decides.
func openError(path string, err error) error {
	var d *duckdb.Error
	text := err.Error()
	if errors.As(err, &d) {
		text = d.Msg
	}
	switch {
	case strings.Contains(text, "Could not set lock"):
		return fmt.Errorf("log %s: %w: close it there (an import, the bench page or a database viewer may be open) and try again",
			path, ErrInUse)
	case strings.Contains(text, "newer version of DuckDB") || strings.Contains(text, "trying to read a database file with version number"):
		return fmt.Errorf("log %s: %w: its DuckDB format is not known here; use the newer program", path, ErrNewer)
	}
	return fmt.Errorf("log %s: %w", path, err)
}
