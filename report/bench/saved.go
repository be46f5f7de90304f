package bench

import (
	"net/http"
	"net/url"
	"sync"
	"time"

	"trueplait/model"
	"trueplait/report"
)

// mostSaved is how many results of saving are remembered: as many as a busy
// shop looks back at.
const mostSaved = 64

// savedList remembers what the last entries changed, by their keys.
type savedList struct {
	sync.Mutex
	keys []string // the oldest first
	of   map[string]*report.Saved
}

// keep remembers a result. That of the saving itself stays: a second of the same
// key changed nothing, though its answer may come first.
func (s *savedList) keep(key string, saved *report.Saved) {
	s.Lock()
	defer s.Unlock()
	if s.of == nil {
		s.of = map[string]*report.Saved{}
	}
	if known := s.of[key]; known != nil {
		if known.Again {
			s.of[key] = saved
		}
		return
	}
	if len(s.keys) == mostSaved {
		delete(s.of, s.keys[0])
		s.keys = s.keys[1:]
	}
	s.keys = append(s.keys, key)
	s.of[key] = saved
}

// get returns a result, nil where it is forgotten.
func (s *savedList) get(key string) *report.Saved {
	s.Lock()
	defer s.Unlock()
	return s.of[key]
}

// savedPage is what was saved, and what came of it.
type savedPage struct {
	Kind     model.Kind
	ID       string
	Headline string
	Fitted   string
	Changed  []string
	Warnings []string
	Next     []task
	Facts    []report.Fact
	Another  link
}

// KindName is the kind as it stands in an address.
func (p savedPage) KindName() string { return string(p.Kind) }

// showSaved says what an entry changed. Long after, it shows the row as it is.
func (v *visit) showSaved() error {
	kind, id := model.Kind(v.value("kind")), v.value("id")
	page := savedPage{Kind: kind, ID: id, Another: another(kind)}
	if saved := v.saved.get(v.value("entry")); saved != nil && saved.Row.Kind() == kind && saved.Row.Key() == id {
		page.Headline, page.Fitted, page.Changed = saved.Headline(), saved.Fitted(), saved.Changed(v.units)
		page.Warnings, page.Next = saved.Warnings, tasks(saved.Reminders, true)
		page.Facts = report.Facts(saved.Row, v.units)
		return v.show(http.StatusOK, "saved", "Saved", page)
	}
	record, err := v.record(kind, id)
	if err != nil {
		return err
	}
	page.Headline = "This is in the log."
	page.Facts = report.Facts(record.Full, v.units)
	return v.show(http.StatusOK, "saved", "Saved", page)
}

// record is a row with its history. A row that is not there is an error.
func (v *visit) record(kind model.Kind, id string) (*Record, error) {
	if kind.IDColumn() == "" {
		return nil, notFound("There are no rows of that kind.")
	}
	record, err := v.shop.Row(v.r.Context(), kind, id)
	if err == nil && record == nil {
		err = notFound("There is no " + kind.Noun(1) + " " + report.Label(id) + " in the log.")
	}
	return record, err
}

// another is where the next row of a kind is written down.
func another(kind model.Kind) link {
	switch kind {
	case model.Fills:
		return link{Href: "/fill", Text: "Another test fill"}
	case model.Checks:
		return link{Href: "/cord", Text: "Another cord check"}
	case model.Products:
		return link{Href: "/product", Text: "Another product"}
	}
	return link{Href: "/finish", Text: "Finish another build"}
}

// task is advice with the page on which it is done.
type task struct {
	report.Advice
	Link link // no Href: none
}

// tasks finds the page of each advice. learnt tells that there are factors to
// look at.
func tasks(list []report.Advice, learnt bool) []task {
	var out []task
	for _, a := range list {
		out = append(out, task{a, place(a, learnt)})
	}
	return out
}

func place(a report.Advice, learnt bool) link {
	with := func(path, column string) string {
		if a.Label == "" {
			return path
		}
		return path + "?" + url.Values{column: {a.Label}}.Encode()
	}
	switch {
	case a.Record == model.Builds && a.Label != "":
		return link{Href: "/edit?" + url.Values{"kind": {string(model.Builds)}, "id": {a.Label}}.Encode(), Text: "Add it to the build"}
	case a.Record == model.Builds:
		return link{Href: "/plan", Text: "Plan a build"}
	case a.Record == model.Fills:
		return link{Href: with("/fill", "core_batch"), Text: "Make a test fill"}
	case a.Record == model.Checks:
		return link{Href: with("/cord", "strand_batch"), Text: "Check the cord"}
	case a.Record == model.Parts:
		return link{Href: "/files", Text: "Bring a parts list"}
	case a.Split != nil:
		return link{Href: "/split?" + url.Values{"effect": {string(a.Split.Effect)}, "label": {a.Split.Label}, "since": {a.Split.Since.Format(time.DateOnly)}}.Encode(),
			Text: "It changed: split it"}
	case len(a.Rows) > 0: // each row is a link
		return link{}
	case learnt:
		return link{Href: "/factors", Text: "Look at the factors"}
	}
	return link{}
}
