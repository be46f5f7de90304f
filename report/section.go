package report

import (
	_ "embed"
	"html/template"
	"slices"
	"strings"
)

// Section is a part of a page: a heading, what it says in words, a table, and
// charts, each with what reads it and the table behind it. The functions of
// this package make sections; [HTML] and [SectionsHTML] write them.
type Section struct {
	ID, Title string // ID is unique on a page
	Intro     string
	Table     grid
	Figures   []figure
	Notes     []string
}

// figure is a chart with all that must stand beside it.
type figure struct {
	ID      string
	Title   string
	Reading string // one or two sentences that read the chart for the maker
	Chart   *chart // nil: there is nothing to draw
	Caption string // n, and what the marks and limits mean
	Notes   []string
	Fold    string // what the table behind the fold holds
	Table   grid
}

//go:embed html/section.html
var sectionHTML string

var sectionTemplate = template.Must(template.New("sections").Funcs(template.FuncMap{"whole": whole}).Parse(sectionHTML))

// Charted reports whether any of the sections has a chart: a page that shows
// it loads [ChartScripts] at its end.
func Charted(sections []Section) bool {
	return slices.ContainsFunc(sections, func(s Section) bool {
		return slices.ContainsFunc(s.Figures, func(f figure) bool { return f.Chart != nil })
	})
}

// SectionsHTML writes sections as a piece of a page, for handlers that frame
// it themselves. A page holds one such piece, styles the classes of
// html/section.html, and defines the colours of html/page.css, which charts
// take theirs from. Without scripts the tables behind the folds serve.
func SectionsHTML(sections []Section) (template.HTML, error) {
	var b strings.Builder
	if Charted(sections) {
		if err := sectionTemplate.ExecuteTemplate(&b, "marks", nil); err != nil {
			return "", err
		}
	}
	for _, s := range sections {
		if err := sectionTemplate.ExecuteTemplate(&b, "section", s); err != nil {
			return "", err
		}
	}
	return template.HTML(b.String()), nil
}
