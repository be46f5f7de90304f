package bench

import (
	"cmp"
	"net/http"
	"strings"
	"time"

	"trueplait/model"
	"trueplait/report"
)

// buildsPage is one page of a list of rows.
type buildsPage struct {
	Search string
	Kind   model.Kind
	Kinds  []choice
	Rows   []foundRow
	Pager  pager
}

// foundRow is one row of the list.
type foundRow struct {
	ID, Date, What string
	Aside          bool // by hand
	Figures        []compared
}

// listed are the kinds of rows that can be looked up.
var listed = []model.Kind{model.Builds, model.Fills, model.Checks}

// kindAsked is the kind of row in the address; builds where none is named.
func (v *visit) kindAsked() (model.Kind, error) {
	name := cmp.Or(v.value("kind"), string(model.Builds))
	for _, k := range listed {
		if string(k) == name {
			return k, nil
		}
	}
	return "", notFound("There are builds, fills and checks, but no rows of that kind.")
}

// builds lists rows of a kind that hold every word searched for, the newest
// first.
func (v *visit) builds() error {
	kind, err := v.kindAsked()
	if err != nil {
		return err
	}
	page := buildsPage{Search: v.value("q"), Kind: kind}
	for _, k := range listed {
		page.Kinds = append(page.Kinds, choice{string(k), capital(k.Noun(2))})
	}
	rows, n, err := v.shop.Search(v.r.Context(), kind, page.Search, pageRows, v.pageAt()*pageRows)
	if err != nil {
		return err
	}
	page.Pager = v.pages(n, kind.Noun(2), "")
	for _, r := range rows {
		page.Rows = append(page.Rows, newFoundRow(r, v.units))
	}
	return v.show(http.StatusOK, "builds", "Builds", page)
}

func newFoundRow(row model.Row, u report.Units) foundRow {
	switch r := row.(type) {
	case *model.Build:
		n := newestOf(r, u)
		return foundRow{n.ID, n.Date, named(n.Product, n.Maker), r.SetAside != "", n.Figures}
	case *model.Fill:
		return foundRow{ID: r.ID, Date: r.Date.Format(time.DateOnly), What: named(r.CoreBatch, r.Maker), Figures: []compared{
			{"shot", report.Mass(r.ShotMassG, u) + " in " + report.Length(r.FilledLengthMM, u), ifKnown(r.PredictedShotG, u)}}}
	case *model.Check:
		return foundRow{ID: r.ID, Date: r.Date.Format(time.DateOnly), What: report.Label(r.StrandBatch), Figures: []compared{
			{"cord", report.Mass(r.CheckedMassG, u) + " in " + report.Length(r.CheckedLengthMM, u), ifKnown(r.PredictedMassG, u)}}}
	}
	return foundRow{ID: row.Key()}
}

// ifKnown is a mass, "" where there is none.
func ifKnown(g float64, u report.Units) string {
	if !model.Known(g) {
		return ""
	}
	return report.Mass(g, u)
}

// named joins what and who made it.
func named(what, maker string) string {
	if maker == "" {
		return report.Label(what)
	}
	return report.Label(what) + ", by " + report.Label(maker)
}

// capital writes the first letter large.
func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
