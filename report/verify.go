package report

import (
	"fmt"
	"io"
	"strconv"
)

// Verification is what was checked of a log, and what is wrong with it.
type Verification struct {
	Log    string // its path
	Checks []Checked
	Notes  []string // not wrong, but to be known
}

// Checked is something that holds in a sound log, and how far it does in this one.
type Checked struct {
	Holds  string // in words: "every row is what its line of the kept file states"
	Of     string // what was checked, in the plural: "rows"
	Count  int    // how many of them
	Wrong  int    // how often it does not hold
	Faults []Fault
	More   int // faults beyond those listed
}

// Fault is one thing that is wrong with a log.
type Fault struct {
	Where  string // such as `build "W017" (builds.csv:18)`
	What   string // is wrong
	Remedy string
}

// String is one line: where, what is wrong, and the remedy.
func (f Fault) String() string { return fmt.Sprintf("%s: %s: %s", f.Where, f.What, f.Remedy) }

// Sound reports whether nothing is wrong.
func (v *Verification) Sound() bool {
	for _, c := range v.Checks {
		if c.Wrong > 0 {
			return false
		}
	}
	return true
}

// VerificationJSON writes what was checked, with everything that is wrong.
func VerificationJSON(w io.Writer, v *Verification) error {
	checks, problems := []object{}, []object{}
	for _, c := range v.Checks {
		checks = append(checks, object{{"check", c.Holds}, {"of", c.Of}, {"count", c.Count}, {"wrong", c.Wrong}})
		for _, f := range c.Faults {
			problems = append(problems, object{{"check", c.Holds}, {"where", f.Where}, {"problem", f.What}, {"remedy", f.Remedy}})
		}
	}
	return writeJSON(w, object{
		{"log", v.Log}, {"sound", v.Sound()}, {"checks", checks}, {"problems", problems}, {"notes", listed(v.Notes)},
	})
}

// VerificationTable writes one line per check. What is wrong is told as
// problems, not here again.
func VerificationTable(w io.Writer, v *Verification, s Style) error {
	g := grid{Head: []string{"wrong", "of", "", "what holds in a sound log"}, Words: 2}
	wrong := 0
	for _, c := range v.Checks {
		g.add(strconv.Itoa(c.Wrong), strconv.Itoa(c.Count), c.Of, c.Holds)
		wrong += c.Wrong
	}
	p := newPrinter(w, s)
	p.grid(g)
	p.gap()
	const remedy = " wrong. Keep the log as it is and go on with a sound backup; what came in since then is still here, for trueplait export."
	switch wrong {
	case 0:
		p.paragraph("The log is sound: it agrees with everything it was made from.")
	case 1:
		p.paragraph("The log is damaged: 1 of these is" + remedy)
	default:
		p.paragraph(fmt.Sprintf("The log is damaged: %d of these are%s", wrong, remedy))
	}
	p.items(v.Notes)
	return p.err
}
