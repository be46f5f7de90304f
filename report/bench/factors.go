package bench

import (
	"cmp"
	"fmt"
	"html/template"
	"net/http"
	"slices"
	"time"

	"trueplait/calibrate"
	"trueplait/model"
	"trueplait/report"
)

// factorsPage shows what was learnt of hands and cord.
type factorsPage struct {
	From     string // what it was learnt from
	Changed  []changed
	Splits   []splitRow
	Links    []report.Advice // between makers, that are missing
	Aside    []asideRow
	AsideAll int
	Charts   sections

	// The list of factors: of one quantity, those found by a search.
	Quantities []quantityTab
	Quantity   model.Quantity
	Search     string
	List       template.HTML
	Pager      pager
}

// changed is a maker or batch that changed, by the look of it.
type changed struct {
	Words string
	Act   bool // clearly; else it is only to be watched
	Split model.Split
}

// asideRow is a row that the fits leave out.
type asideRow struct {
	Key  model.RowKey
	Date time.Time
	Why  []string // of each quantity
}

// quantityTab links to the factors of one quantity.
type quantityTab struct {
	Quantity model.Quantity
	Name     string // of its factor
	Href     template.URL
	Here     bool
}

// mostAside is how many rows set aside are listed.
const mostAside = 25

// mostFills is how many test fills, the newest, the chart of loads may show.
const mostFills = 500

// factors shows the factors, how they differ, and what drifts.
func (v *visit) factors() error {
	c := v.now.Calibration
	if c == nil {
		c = &calibrate.Calibration{}
	}
	page := factorsPage{From: learntFrom(c), Changed: changes(c, v.now.Splits), Splits: splitRows(v.now.Splits), Links: report.MissingLinks(c)}
	page.Aside = asideRows(c)
	page.AsideAll = len(page.Aside)
	page.Aside = page.Aside[:min(mostAside, len(page.Aside))]
	var err error
	if page.Charts, err = v.factorCharts(c); err != nil {
		return err
	}
	if err := page.find(v, c); err != nil {
		return err
	}
	return v.showCharts(http.StatusOK, "factors", "Factors", page)
}

// learntFrom says what a calibration was made from.
func learntFrom(c *calibrate.Calibration) string {
	if c.Through.IsZero() {
		return ""
	}
	rows := fmt.Sprintf("%d %s, %d %s and %d %s up to %s", c.Builds, model.Builds.Noun(c.Builds), c.Fills, model.Fills.Noun(c.Fills),
		c.Checks, model.Checks.Noun(c.Checks), c.Through.Format(time.DateOnly))
	if c.Number == 0 {
		return "Learnt from " + rows + "."
	}
	return fmt.Sprintf("Calibration %d, learnt from %s.", c.Number, rows)
}

// changes lists what drifts, what calls for acting first.
func changes(c *calibrate.Calibration, splits []model.Split) []changed {
	var out []changed
	for i := range c.Quantities {
		q := &c.Quantities[i]
		for _, d := range report.Drifts(q) {
			out = append(out, changed{
				Words: capital(report.DriftWords(q.Quantity, d)), Act: d.Grade == "act",
				Split: model.Split{Effect: d.Effect, Label: model.Unsplit(d.Level, d.Effect, splits), Since: d.SinceDate},
			})
		}
	}
	slices.SortStableFunc(out, func(a, b changed) int {
		switch {
		case a.Act == b.Act:
			return 0
		case a.Act:
			return -1
		}
		return 1
	})
	return out
}

// asideRows lists the rows that any fit leaves out, the newest first.
func asideRows(c *calibrate.Calibration) []asideRow {
	at := map[model.RowKey]int{}
	var out []asideRow
	for _, q := range c.Quantities {
		for _, a := range q.SetAside {
			i, ok := at[a.Key]
			if !ok {
				i = len(out)
				at[a.Key] = i
				out = append(out, asideRow{Key: a.Key, Date: a.Date})
			}
			out[i].Why = append(out[i].Why, report.AsideWords(q.Quantity, a))
		}
	}
	slices.SortStableFunc(out, func(a, b asideRow) int { return cmp.Or(b.Date.Compare(a.Date), cmp.Compare(a.Key.ID, b.Key.ID)) })
	return out
}

// factorCharts draws the load of each core batch and the makers.
func (v *visit) factorCharts(c *calibrate.Calibration) (sections, error) {
	return cached(&v.worked, v.now.Version, "factors "+string(v.units), func() (sections, error) {
		rows, _, err := v.shop.Search(v.r.Context(), model.Fills, "", mostFills, 0)
		if err != nil {
			return sections{}, err
		}
		p := report.Page{Calibration: c, CoreBatches: levels(v.now.Labels[model.CoreBatch], v.now.Splits, model.CoreBatch), Style: report.Style{Units: v.units}}
		for _, row := range rows {
			if fill, ok := row.(*model.Fill); ok {
				p.Fills = append(p.Fills, fill)
			}
		}
		list := []report.Section{report.LoadSection(p, pageRows)}
		if makers := report.MakersSection(p); makers.Title != "" {
			list = append(list, makers)
		}
		return v.set(list)
	})
}

// find fills the list of factors: those of the quantity asked for whose labels
// hold every word.
func (page *factorsPage) find(v *visit, c *calibrate.Calibration) error {
	page.Search = v.value("q")
	var shown *calibrate.QuantityFit
	for i := range c.Quantities {
		q := &c.Quantities[i]
		if q.Rows == 0 {
			continue
		}
		if shown == nil || v.value("quantity") == string(q.Quantity) {
			shown = q
		}
		page.Quantities = append(page.Quantities, quantityTab{q.Quantity, q.Quantity.FactorName(),
			query("quantity", string(q.Quantity), "q", page.Search), false})
	}
	if shown == nil {
		return nil
	}
	page.Quantity = shown.Quantity
	for i := range page.Quantities {
		page.Quantities[i].Here = page.Quantities[i].Quantity == shown.Quantity
	}
	section, n := report.FactorSection(shown, page.Search, v.pageAt()*pageRows, pageRows)
	page.Pager = v.pages(n, "combinations", "#list")
	var err error
	page.List, err = report.SectionsHTML([]report.Section{section})
	return err
}
