package report

import (
	"fmt"
	"io"
	"slices"

	"github.com/jedib0t/go-pretty/v6/table"
	"github.com/jedib0t/go-pretty/v6/text"
)

// grid is a table in any form: text on a terminal, or HTML.
type grid struct {
	Head    []string
	Rows    [][]string
	Figures int // the columns from this one on (from 0) are figures, up to Words
	Words   int // the columns from this one on are text again; 0: none
}

// Number reports whether column i holds figures.
func (g grid) Number(i int) bool {
	return i >= g.Figures && (g.Words == 0 || i < g.Words)
}

func (g *grid) add(cells ...string) { g.Rows = append(g.Rows, cells) }

// write prints the grid in at most width columns, if its cells can be wrapped
// to that; an empty one prints nothing.
func (g grid) write(w io.Writer, width int) error {
	if len(g.Rows) == 0 {
		return nil
	}
	t := table.NewWriter()
	t.SetStyle(table.StyleLight)
	t.Style().Options = table.Options{SeparateHeader: true}
	t.Style().Box.PaddingLeft, t.Style().Box.PaddingRight = "", "  "
	t.Style().Format.Header = text.FormatDefault
	t.SuppressTrailingSpaces()

	widest := g.shrunk(width)
	var columns []table.ColumnConfig
	for i := range g.Head {
		c := table.ColumnConfig{Number: i + 1, WidthMax: widest[i], WidthMaxEnforcer: text.WrapSoft}
		if g.Number(i) {
			c.Align, c.AlignHeader = text.AlignRight, text.AlignRight
		}
		columns = append(columns, c)
	}
	t.SetColumnConfigs(columns)
	t.AppendHeader(cells(g.Head))
	for _, r := range g.Rows {
		t.AppendRow(cells(r))
	}
	_, err := fmt.Fprintln(w, t.Render())
	return err
}

func cells(s []string) table.Row {
	row := make(table.Row, len(s))
	for i := range s {
		row[i] = s[i]
	}
	return row
}

// shrunk returns the width of each column so that the whole fits in width:
// the widest column of text gives way first, figures only when text is down to
// leastText; nothing goes below leastAny, and so the table may stay wider.
func (g grid) shrunk(width int) []int {
	const gap, leastText, leastAny = 2, 16, 8
	widths := make([]int, len(g.Head))
	total := 0
	for i, h := range g.Head {
		widths[i] = text.StringWidth(h)
		for _, r := range g.Rows {
			widths[i] = max(widths[i], text.StringWidth(r[i]))
		}
		total += widths[i] + gap
	}
	for ; total > width; total-- {
		widest := -1
		for i := range widths {
			if !g.Number(i) && widths[i] > leastText && (widest < 0 || widths[i] > widths[widest]) {
				widest = i
			}
		}
		for i := range widths {
			if widest < 0 && widths[i] > leastAny && widths[i] == slices.Max(widths) {
				widest = i
			}
		}
		if widest < 0 {
			break
		}
		widths[widest]--
	}
	return widths
}
