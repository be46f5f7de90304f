package model

import (
	"fmt"
	"strings"
)

// Entry is one row as someone typed it: the text of each column, by the name
// that the column has in a file. The rules of files hold for it.
type Entry struct {
	Kind  Kind
	Text  map[string]string
	Amend bool   // it corrects the row of the same id
	Key   string // names the act of saving: the same key saves once; "": none
}

// A Problem is what is wrong with one column of an entry.
type Problem struct {
	Column  string // "": the row as a whole
	Text    string // as typed
	Message string // what is wrong and what to do
}

// Refused is the error of an entry that cannot be taken as it is. Nothing of
// it was saved.
type Refused struct{ Problems []Problem }

// Error lists the problems, one a line.
func (r *Refused) Error() string {
	lines := make([]string, len(r.Problems))
	for i, p := range r.Problems {
		lines[i] = p.String()
	}
	return strings.Join(lines, "\n")
}

// String is COLUMN: "text" message.
func (p Problem) String() string {
	if p.Column == "" {
		return p.Message
	}
	return fmt.Sprintf("%s: %q %s", p.Column, p.Text, p.Message)
}

// About returns what is wrong with a column, "" for nothing.
func (r *Refused) About(column string) string {
	var out []string
	for _, p := range r.Problems {
		if p.Column == column {
			out = append(out, p.Message)
		}
	}
	return strings.Join(out, "; ")
}
