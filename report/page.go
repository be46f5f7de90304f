package report

import (
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"slices"
	"strings"

	"trueplait/calibrate"
	"trueplait/model"
)

// Page is what the HTML report shows.
type Page struct {
	Calibration  *calibrate.Calibration // nil: nothing learnt yet
	Proof        *calibrate.Proof       // nil: nothing predicted yet
	ProofNewest  int                    // the proof is of so many builds at most, the newest; 0: of all
	Calibrations []SavedMark            // by number
	Promises     []*calibrate.Promise   // one per product, shown in this order; nil: none shown
	Lines        []calibrate.Line       // how consistent each product is; nil: not shown
	Products     []*model.ProductLine   // what is promised today
	Fills        []*model.Fill          // shown as weighed, beside what is expected
	CoreBatches  []string               // the one used last first; nil: as proof and fills tell
	Title        string                 // "": "Workshop report"
	Demo         bool                   // everything is invented, and the page says so
	Version      string                 // of the program
	Style
}

// The page's own files, besides those of its sections.
var (
	//go:embed html/page.html
	pageHTML string
	//go:embed html/page.css
	pageCSS string
)

var pageTemplate = template.Must(template.Must(sectionTemplate.Clone()).New("page").Parse(pageHTML))

// HTML writes the report as one file that needs no other: scripts, styles and
// data are inside, and its content security policy lets nothing else run and
// nothing be fetched. The same page gives the same bytes; it is dated by the
// last row of the log.
func HTML(w io.Writer, p Page) error {
	p = p.complete()
	return pageTemplate.Execute(w, map[string]any{
		"Page":     p,
		"Headline": pageHeadline(p),
		"Advice":   Advise(p),
		"Sections": sections(p),
		"Policy":   PagePolicy(),
		"CSS":      template.CSS(pageCSS),
		"Library":  template.JS(echartsJS),
		"App":      template.JS(appJS),
	})
}

// complete puts in what an empty log leaves out.
func (p Page) complete() Page {
	if p.Calibration == nil {
		p.Calibration = &calibrate.Calibration{Summary: model.Summary{BaseLoadGMM: model.Unknown}}
	}
	if p.Proof == nil {
		p.Proof = &calibrate.Proof{}
	}
	if p.Title == "" {
		p.Title = "Workshop report"
	}
	return p
}

// PagePolicy is the content security policy that the page of [HTML] states of
// itself, for servers that send one with it: the two scripts inside may run,
// and nothing may be fetched.
func PagePolicy() string {
	return "default-src 'none'; script-src " + source(echartsJS) + " " + source(appJS) + "; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'"
}

func pageHeadline(p Page) string {
	c := p.Calibration
	if c.Through.IsZero() {
		return "The log is empty"
	}
	out := fmt.Sprintf("%s, %s and %s up to %s", counted(c.Builds, model.Builds), counted(c.Fills, model.Fills), counted(c.Checks, model.Checks), date(c.Through))
	if c.Number > 0 {
		out += fmt.Sprintf(" · calibration %d", c.Number)
	}
	return out
}

// sections lists the parts of the page between what to do and how it was
// computed, in order. An empty log has none.
func sections(p Page) []Section {
	if p.Calibration.Through.IsZero() {
		return nil
	}
	return slices.DeleteFunc([]Section{
		promiseSection(p),
		predictedSection(p),
		timelineSection(p),
		LoadSection(p, mostTabled),
		MakersSection(p),
		linesSection(p),
		scatterSection(p),
		asideSection(p),
	}, func(s Section) bool { return s.Title == "" })
}

func predictedSection(p Page) Section {
	s := Section{
		ID: "predicted", Title: "Predicted against measured",
		Intro: "Before: the planner's figure as it is. After: the same figure times the factors known on the morning of that build, learnt from earlier rows only. " +
			"No build helps to predict itself." + newestWords(p) + " In the table, error left is the calibrated plan's average miss as a share of the plan's own, and band held counts the builds inside their 95 % band; brackets hold 95 % limits.",
		Table: beforeAfterGrid(p.Proof, p.Style.Units),
	}
	for i := range p.Proof.Quantities {
		q := &p.Proof.Quantities[i]
		s.Notes = append(s.Notes, proofWords(q, p.Style.Units))
		if q.N > 0 {
			s.Figures = append(s.Figures, predictedFigure(q, p.Style.Units))
		}
	}
	return s
}

// newestWords says which builds a proof of the newest is about; "" for a proof
// of all.
func newestWords(p Page) string {
	var widest *calibrate.QuantityProof
	for i := range p.Proof.Quantities {
		if q := &p.Proof.Quantities[i]; widest == nil || q.Builds > widest.Builds {
			widest = q
		}
	}
	if p.ProofNewest == 0 || widest == nil || len(widest.Scored) == 0 || widest.Builds+widest.LeftOut <= p.ProofNewest {
		return ""
	}
	return fmt.Sprintf(" Scored are the newest %d of %d builds, since %s; trueplait proof scores them all.",
		widest.Builds, widest.Builds+widest.LeftOut, date(widest.Scored[0].Date))
}

func timelineSection(p Page) Section {
	s := Section{ID: "time", Title: "Are predictions getting better?", Intro: strings.TrimSpace(newestWords(p))}
	for i := range p.Proof.Quantities {
		if q := &p.Proof.Quantities[i]; q.N > 0 {
			s.Figures = append(s.Figures, timelineFigure(q, p.Calibrations))
		}
	}
	if len(s.Figures) == 0 {
		return Section{}
	}
	return s
}

// MakersSection compares the makers in each quantity. Without anything known of
// them it has no figures.
func MakersSection(p Page) Section {
	p = p.complete()
	s := Section{ID: "makers", Title: "How the makers differ",
		Intro: "Hands pull differently, and steadily so. Each factor is what is left of a maker once the batches are allowed for."}
	for i := range p.Calibration.Quantities {
		if q := &p.Calibration.Quantities[i]; q.Rows > 0 {
			s.Figures = append(s.Figures, makersFigure(q))
		}
	}
	if len(s.Figures) == 0 {
		return Section{}
	}
	return s
}

// asideSection lists what was left out and what changed.
func asideSection(p Page) Section {
	s := Section{ID: "aside", Title: "Set aside, and what changed",
		Intro: "Rows that would pull the factors away from what is normal stay in the log but out of the fit. Correct them there and they come back by themselves."}
	left := 0
	s.Table = grid{Head: []string{"row", "date", "quantity", "measured/plan", "why"}, Figures: 3, Words: 4}
	for i := range p.Calibration.Quantities {
		q := &p.Calibration.Quantities[i]
		left += max(0, len(q.SetAside)-mostAside)
		for _, a := range q.SetAside[max(0, len(q.SetAside)-mostAside):] {
			s.Table.add(rowName(a.Key), date(a.Date), string(q.Quantity), ratio(a.Ratio), label(reason(a)))
		}
		for _, words := range notes(shiftsWords(q)) {
			s.Notes = append(s.Notes, spoken[q.Quantity].name+". "+words)
		}
		for _, words := range driftNotes(q) {
			s.Notes = append(s.Notes, spoken[q.Quantity].name+". "+words)
		}
	}
	if left > 0 {
		s.Intro += fmt.Sprintf(" Listed are the newest %d of each quantity; trueplait calibrate lists %d more.", mostAside, left)
	}
	if len(s.Table.Rows) == 0 {
		s.Intro = "No row was set aside."
	}
	if len(s.Notes) == 0 {
		s.Notes = []string{"No lasting change was found in any maker or batch."}
	}
	return s
}

// shiftsWords reports each run of rows that changed together.
func shiftsWords(q *calibrate.QuantityFit) []string {
	var out []string
	for _, s := range q.Shifts {
		word := spoken[q.Quantity].more
		if s.Ratio < 1 {
			word = spoken[q.Quantity].less
		}
		out = append(out, fmt.Sprintf("%s %s: %s in a row, from %s (%s) to %s, %s about %s %% %s than the rest of the log says. "+
			"They are kept, for this looks like a change and not a slip; if another purchase was opened then, give it a label of its own.",
			capital(s.Effect.Word()), label(s.Level), count(s.Rows, "row"), rowName(s.First), date(s.Date), rowName(s.Last),
			spoken[q.Quantity].verb, off(s.Ratio, 0), word))
	}
	return out
}

// cell is one cell of a table with what its column is.
type cell struct {
	Text   string
	Number bool
}

// Cells pairs the cells of a row with their columns, for the template.
func (g grid) Cells(row []string) []cell {
	out := make([]cell, len(row))
	for i, text := range row {
		out[i] = cell{text, g.Number(i)}
	}
	return out
}
