package report

import (
	"io"
	"strconv"
)

// ServerPart is a part of the builds of all workshops, which one server keeps.
type ServerPart struct {
	Number int
	Server string // its address, without password
	Builds int
}

// ServerPartsJSON writes which part is where.
func ServerPartsJSON(w io.Writer, parts []ServerPart) error {
	out := []object{}
	for _, p := range parts {
		out = append(out, object{{"part", p.Number}, {"server", p.Server}, {"builds", p.Builds}})
	}
	return writeJSON(w, object{{"parts", out}})
}

// ServerPartsTable writes one line per part.
func ServerPartsTable(w io.Writer, parts []ServerPart, s Style) error {
	g := grid{Head: []string{"part", "builds", "server"}, Words: 2}
	for _, p := range parts {
		g.add(strconv.Itoa(p.Number), strconv.Itoa(p.Builds), label(p.Server))
	}
	p := newPrinter(w, s)
	p.grid(g)
	return p.err
}
