package bench

import (
	"crypto/rand"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"

	"trueplait/model"
	"trueplait/report"
)

// entry is one row being written down. It goes three steps: the form, the
// review of what was understood, and saved.
type entry struct {
	form
	Kind  model.Kind
	Title string
	Intro []string
	Amend bool
}

// review is an entry as it was understood.
type review struct {
	*entry
	Facts       []report.Fact
	Comparisons []string
	Doubts      []string
	New         []string // labels that the log does not have
}

// begin shows an entry's form for the first time.
func (v *visit) begin(e *entry) error {
	e.Key = rand.Text()
	return v.showForm(http.StatusOK, e)
}

func (v *visit) showForm(status int, e *entry) error {
	v.echoes(&e.form)
	return v.show(status, "entry", e.Title, e)
}

// take goes on with an entry that was sent: back to the form, on to the review,
// or saved. Whatever goes wrong, the form comes back with all that was typed.
func (v *visit) take(e *entry) error {
	e.read(v.r)
	e.Key = keyFrom(v.value("key"))
	switch {
	case e.Wrong() > 0:
		return v.showForm(http.StatusUnprocessableEntity, e)
	case v.value("change") != "":
		return v.showForm(http.StatusOK, e)
	case v.value("confirm") != "":
		return v.save(e)
	}
	reading, err := v.shop.Read(v.r.Context(), e.row())
	if err != nil {
		return v.refuse(e, err)
	}
	return v.show(http.StatusOK, "review", "Right? "+e.Title, review{
		entry: e, Facts: e.asked(reading.Facts(v.units)), Comparisons: reading.Comparisons(v.units),
		Doubts: reading.Doubts(v.units), New: v.newLabels(reading.Row),
	})
}

// asked are the facts that were typed or follow from what was; what an open
// plan adds is known.
func (e *entry) asked(facts []report.Fact) []report.Fact {
	typed := e.text()
	return slices.DeleteFunc(facts, func(f report.Fact) bool {
		return typed[f.Column] == "" && f.Column != "shot_used" && f.Column != "shot_mass"
	})
}

// save puts an entry into the log and goes on to what it changed.
func (v *visit) save(e *entry) error {
	saved, err := v.shop.Save(v.r.Context(), e.row())
	if err != nil {
		return v.refuse(e, err)
	}
	v.saved.keep(e.Key, saved)
	return v.redirect("/saved?" + url.Values{"kind": {string(e.Kind)}, "id": {saved.Row.Key()}, "entry": {e.Key}}.Encode())
}

// refuse shows the form again with what is wrong. Where that is on our side,
// the same key lets it be tried again without saving twice.
func (v *visit) refuse(e *entry, err error) error {
	var refused *model.Refused
	if errors.As(err, &refused) {
		e.form.refuse(refused.Problems)
		return v.showForm(http.StatusUnprocessableEntity, e)
	}
	if v.r.Context().Err() != nil { // the browser is gone
		return err
	}
	v.log(err)
	e.Whole = append(e.Whole, "Something went wrong on our side. What you typed is still here: try again. If it goes on, the window in which the page was started says more.")
	return v.showForm(http.StatusInternalServerError, e)
}

// row is what was typed, for the shop.
func (e *entry) row() model.Entry {
	return model.Entry{Kind: e.Kind, Text: e.text(), Amend: e.Amend, Key: e.Key}
}

// keyFrom is the key that a form came with, or another where it is none of
// ours.
func keyFrom(key string) string {
	if len(key) != len(rand.Text()) {
		return rand.Text()
	}
	return key
}

// newLabels names what would come into the log for the first time.
func (v *visit) newLabels(row model.Row) []string {
	var l model.Labels
	switch r := row.(type) {
	case *model.Build:
		l = r.Labels
	case *model.Fill:
		l = r.Labels
	case *model.Check:
		l = r.Labels
	}
	var out []string
	for _, e := range model.Effects {
		if name := l.Get(e); name != "" && !slices.Contains(v.now.Labels[e], name) {
			out = append(out, fmt.Sprintf("The %s %s is new: it will be added.", e.Word(), report.Label(name)))
		}
	}
	return out
}
