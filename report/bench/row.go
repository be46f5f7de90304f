package bench

import (
	"crypto/rand"
	"fmt"
	"net/http"
	"path/filepath"
	"unicode/utf8"

	"trueplait/calibrate"
	"trueplait/model"
	"trueplait/report"
)

// rowPage is everything about one row.
type rowPage struct {
	Kind    model.Kind
	ID      string
	Facts   []rowFact
	Against []string // today's prediction
	Came    string
	Past    []amendment // the newest first
	Aside   string      // why it is kept out of fits by hand; "": it is not
	Left    []string    // why the fits leave it out by themselves
	Problem string      // what is wrong with the reason typed
	Typed   string      // that reason
}

// rowFact is what a row says in one column.
type rowFact struct {
	report.Fact
	WorkedOut bool // when the row came in: nobody stated it
}

// rowAsked finds the row in the address or the form.
func (v *visit) rowAsked() (model.Kind, *Record, error) {
	kind, err := v.kindAsked()
	if err != nil {
		return "", nil, err
	}
	found, err := v.record(kind, v.r.FormValue("id"))
	return kind, found, err
}

// row shows everything about one row.
func (v *visit) row() error {
	kind, found, err := v.rowAsked()
	if err != nil {
		return err
	}
	page := v.newRowPage(kind, found)
	return v.show(http.StatusOK, "build", page.Name(), page)
}

// Name is what the row is called.
func (p rowPage) Name() string { return capital(p.Kind.Noun(1)) + " " + report.Label(p.ID) }

func (v *visit) newRowPage(kind model.Kind, r *Record) rowPage {
	page := rowPage{Kind: kind, ID: r.Full.Key(), Came: cameFrom(r), Past: amendments(r)}
	if build, ok := r.Full.(*model.Build); ok {
		page.Aside = build.SetAside
	}
	for _, f := range report.Facts(r.Full, report.Both) {
		page.Facts = append(page.Facts, rowFact{f, workedOut(r, f.Column)})
	}
	if page.Aside == "" {
		page.Left = leftOut(v.now.Calibration, model.RowKey{Kind: kind, ID: page.ID})
	}
	for _, e := range r.Today {
		page.Against = append(page.Against, report.Comparison(kind, e, report.Both))
	}
	return page
}

// leftOut says why the fits leave a row out, quantity by quantity.
func leftOut(c *calibrate.Calibration, key model.RowKey) []string {
	var out []string
	for _, q := range c.Quantities {
		for _, a := range q.SetAside {
			if a.Key == key {
				out = append(out, report.AsideWords(q.Quantity, a))
			}
		}
	}
	return out
}

// cameFrom says how the row, as it is now, came into the log.
func cameFrom(r *Record) string {
	out := report.Label(r.By)
	if from := r.Full.From(); filepath.Ext(r.By) != "" && from.Line > 0 { // else it was typed
		out += fmt.Sprintf(", line %d", from.Line)
	}
	return out + ", " + r.When.Format(moment)
}

// moment is how a time is shown that matters to the minute.
const moment = "2006-01-02 15:04"

// setAside keeps a build out of fits by hand, or lets it in again.
func (v *visit) setAside() error {
	kind, found, err := v.rowAsked()
	if err != nil {
		return err
	}
	if kind != model.Builds {
		return notFound("Only builds are set aside by hand. Correct a test fill or a cord check instead.")
	}
	reason := ""
	if v.value("do") != "let in" {
		reason = v.value("reason")
		page := v.newRowPage(kind, found)
		page.Typed = reason
		switch n := utf8.RuneCountInString(reason); {
		case n == 0:
			page.Problem = "Say why in a few words: whoever looks at the log later will ask."
		case n > maxTyped:
			page.Problem = fmt.Sprintf("The reason has %d characters: shorten it to %d.", n, maxTyped)
		}
		if page.Problem != "" {
			return v.show(http.StatusUnprocessableEntity, "build", page.Name(), page)
		}
	}
	saved, err := v.shop.SetAside(v.r.Context(), found.Full.Key(), reason)
	if err != nil {
		return err
	}
	key := rand.Text()
	v.saved.keep(key, saved)
	return v.redirect("/saved?" + string(query("kind", string(kind), "id", found.Full.Key(), "entry", key)))
}
