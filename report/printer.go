package report

import (
	"fmt"
	"io"
	"strings"

	"github.com/jedib0t/go-pretty/v6/text"
)

// printer writes a result to a terminal. After the first error it writes
// nothing more and keeps the error.
type printer struct {
	w     io.Writer
	width int
	err   error
}

func newPrinter(w io.Writer, s Style) *printer { return &printer{w: w, width: s.columns()} }

// gap writes an empty line.
func (p *printer) gap() { p.write("\n") }

// paragraph writes s wrapped to the width.
func (p *printer) paragraph(s string) { p.wrapped("", s) }

// items writes sentences as a list. They may hold text from elsewhere.
func (p *printer) items(sentences []string) {
	for _, s := range sentences {
		p.wrapped("    ", "  - "+label(s))
	}
}

// grid writes a table.
func (p *printer) grid(g grid) {
	if p.err == nil {
		p.err = g.write(p.w, p.width)
	}
}

// wrapped writes s with all lines but the first indented. (A label has no
// nbsp of its own left.)
func (p *printer) wrapped(indent, s string) {
	lines := []string{""}
	for i, word := range strings.Split(whole(s), " ") {
		last := &lines[len(lines)-1]
		switch {
		case i == 0:
			*last = word
		case text.StringWidth(*last)+1+text.StringWidth(word) <= p.width:
			*last += " " + word
		default:
			lines = append(lines, indent+word)
		}
	}
	p.write(strings.ReplaceAll(strings.Join(lines, "\n"), nbsp, " ") + "\n")
}

func (p *printer) write(s string) {
	if p.err == nil {
		_, p.err = fmt.Fprint(p.w, s)
	}
}
