package report

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"trueplait/calibrate"
	"trueplait/model"
)

// CalibrationTable writes a calibration for people: per quantity a headline in
// words with its warnings (shifts among them), then the factors, then the rows
// set aside. Of many factors it lists the [mostFactors] with most rows.
func CalibrationTable(w io.Writer, c *calibrate.Calibration, s Style) error {
	p := newPrinter(w, s)
	p.paragraph(headline(c))
	if nothingLearnt(c) {
		p.paragraph(firstSteps)
		return p.err
	}
	if c.Pool != nil {
		p.gap()
		p.paragraph(poolWords(c.Pool))
	}
	for i := range c.Quantities {
		p.gap()
		p.paragraph(overallWords(&c.Quantities[i]))
		if c.Pool != nil {
			if words := borrowedWords(c.Pool, &c.Quantities[i]); words != "" {
				p.items([]string{words})
			}
		}
		p.items(c.Quantities[i].Warnings)
		p.items(driftNotes(&c.Quantities[i]))
	}
	p.factors(c, mostFactors)
	for i := range c.Quantities {
		q := &c.Quantities[i]
		if len(q.SetAside) > 0 {
			p.gap()
			p.paragraph(fmt.Sprintf("%s: %s set aside, kept in the log", spoken[q.Quantity].name, count(len(q.SetAside), "row")))
			p.grid(asideGrid(q))
		}
	}
	return p.err
}

// FactorsTable writes what to multiply the planner's figures by, per maker and
// batch, with the uncertainty in words.
func FactorsTable(w io.Writer, c *calibrate.Calibration, s Style) error {
	p := newPrinter(w, s)
	p.paragraph(headline(c))
	if nothingLearnt(c) {
		p.paragraph(firstSteps)
		return p.err
	}
	p.factors(c, math.MaxInt)
	return p.err
}

// firstSteps is said where there is nothing to learn from.
const firstSteps = "Nothing to learn from yet, so every factor is 1. Record one finished whip with its planned and measured weight, " +
	"length and shot, its maker and its batches: the first build already narrows down the next."

// mostFactors is how many factors of a quantity are read without scrolling.
const mostFactors = 16

func nothingLearnt(c *calibrate.Calibration) bool {
	return !slices.ContainsFunc(c.Quantities, func(q calibrate.QuantityFit) bool { return q.Rows > 0 })
}

// headline says what a calibration was made from.
func headline(c *calibrate.Calibration) string {
	name := "Calibration, not saved"
	if c.Number > 0 {
		name = fmt.Sprintf("Calibration %d", c.Number)
	}
	if c.Through.IsZero() {
		return name + ": no rows yet."
	}
	return fmt.Sprintf("%s: %s, %s and %s up to %s.", name, counted(c.Builds, model.Builds), counted(c.Fills, model.Fills),
		counted(c.Checks, model.Checks), date(c.Through))
}

// overallWords is the headline of one quantity.
func overallWords(q *calibrate.QuantityFit) string {
	s := spoken[q.Quantity]
	if q.Rows == 0 {
		return s.name + ": no row states both the plan and the " + s.measured + ", so planned figures stay as they are."
	}
	out := fmt.Sprintf("%s: whips %s, from %s.", s.name, compared(q.Quantity, q.Overall, thePlan), count(q.Rows, "row"))
	if q.REML != nil && model.Known(q.REML.Residual) {
		out += fmt.Sprintf(" With the same hands and batches, one whip still differs from the next by about %s %%.",
			off(math.Exp(q.REML.Residual), 1))
	}
	return out
}

// factors writes the factor table of each quantity that has rows.
func (p *printer) factors(c *calibrate.Calibration, most int) {
	for i := range c.Quantities {
		q := &c.Quantities[i]
		if q.Rows == 0 || len(q.Factors) == 0 {
			continue
		}
		p.gap()
		p.paragraph(fmt.Sprintf("%s: multiply the plan by the %s factor (95 %% limits in brackets)", spoken[q.Quantity].name,
			q.Quantity.FactorName()))
		g, left := factorGrid(q, most)
		p.grid(g)
		if left > 0 {
			p.paragraph(fmt.Sprintf("(%d more with fewer rows: `trueplait factors` lists them all)", left))
		}
	}
}

// factorGrid lists the factors of a quantity, or those with most rows, and how
// many were left out. The last one is always there: what was asked for comes
// last.
func factorGrid(q *calibrate.QuantityFit, most int) (g grid, left int) {
	for _, e := range q.Effects {
		g.Head = append(g.Head, e.Word())
	}
	g.Head = append(g.Head, "rows", "factor", "in words")
	g.Figures, g.Words = len(q.Effects), len(q.Effects)+2

	atLeast := 0
	if len(q.Factors) > most {
		rows := []int{}
		for _, f := range q.Factors {
			rows = append(rows, f.Rows)
		}
		slices.Sort(rows)
		atLeast = rows[len(rows)-most]
	}
	for i, f := range q.Factors {
		if i < len(q.Factors)-1 && (f.Rows < atLeast || len(g.Rows) >= most) {
			left++
			continue
		}
		cells := []string{}
		for _, e := range q.Effects {
			cells = append(cells, label(f.Labels.Get(e)))
		}
		g.add(append(cells, strconv.Itoa(f.Rows), interval(f.Interval), factorWords(q.Quantity, f.Interval))...)
	}
	return g, left
}

// FactorSection lists the factors of a quantity whose labels hold every word
// of search, whatever the case: at most limit of them from offset on. It also
// says how many there are.
func FactorSection(q *calibrate.QuantityFit, search string, offset, limit int) (Section, int) {
	words := strings.Fields(strings.ToLower(search))
	found := *q
	found.Factors = slices.DeleteFunc(slices.Clone(q.Factors), func(f calibrate.Factor) bool {
		var text strings.Builder
		for _, e := range q.Effects {
			text.WriteString(strings.ToLower(f.Labels.Get(e)) + "\n")
		}
		return slices.ContainsFunc(words, func(w string) bool { return !strings.Contains(text.String(), w) })
	})
	n := len(found.Factors)
	offset = min(max(offset, 0), n)
	found.Factors = found.Factors[offset:min(n, offset+limit)]
	g, _ := factorGrid(&found, limit)
	return Section{ID: "factors-" + string(q.Quantity), Title: spoken[q.Quantity].name, Intro: overallWords(q) +
		fmt.Sprintf(" Multiply the planner's figure by the %s factor; 95 %% limits in brackets.", q.Quantity.FactorName()), Table: g}, n
}

// factorWords says a factor shortly: "8 % less, ± 2 %".
func factorWords(q model.Quantity, i calibrate.Interval) string {
	if !model.Known(i.Low) || !model.Known(i.High) {
		return "not known yet"
	}
	size, way := off(i.Median, 0), spoken[q].up
	switch {
	case size == "0.0":
		return "as planned, " + giveOrTake(i)
	case i.Median < 1:
		way = spoken[q].down
	}
	return fmt.Sprintf("%s %% %s, %s", size, way, giveOrTake(i))
}

// asideGrid lists the rows a fit left out.
func asideGrid(q *calibrate.QuantityFit) grid {
	g := grid{Head: []string{"row", "date", "measured/plan", "why"}, Figures: 2, Words: 3}
	for _, a := range q.SetAside {
		g.add(rowName(a.Key), date(a.Date), ratio(a.Ratio), label(reason(a)))
	}
	return g
}
