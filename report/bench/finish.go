package bench

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"time"

	"trueplait/model"
	"trueplait/report"
)

// finish asks which build is finished, and then for its three numbers.
func (v *visit) finish() error {
	id, without := v.value("plan"), v.value("without") != ""
	switch {
	case id != "":
		open := v.openBuild(id)
		if open == nil {
			return notFound("There is no open plan " + report.Label(id) + ". It may be finished already: look for it among the builds.")
		}
		return v.begin(v.finishOf(open))
	case without || len(v.now.Open) == 0:
		return v.begin(v.finishWithoutPlan())
	}
	return v.show(http.StatusOK, "finish", "Finish a build", v.openPlans())
}

// finishEntry goes on with a build that was sent.
func (v *visit) finishEntry() error {
	if open := v.openBuild(v.value("plan")); open != nil {
		return v.take(v.finishOf(open))
	}
	return v.take(v.finishWithoutPlan())
}

// openBuild is the open plan of an id, nil where there is none.
func (v *visit) openBuild(id string) *model.OpenBuild {
	i := slices.IndexFunc(v.now.Open, func(o model.OpenBuild) bool { return o.ID == id })
	if i < 0 {
		return nil
	}
	return &v.now.Open[i]
}

// measured are the fields that every finished build is asked for, and what
// stands behind folds.
func (v *visit) measured(more ...string) []group {
	return []group{
		{Fields: v.ask("weight", "length", "shot_used")},
		{Name: "Or weigh the tub of shot, before and after", Fields: v.ask("shot_before", "shot_after")},
		{Name: "More: strand left, load, date, note", Fields: v.ask(append([]string{"strand_cut", "strand_left", "load_length", "date"}, more...)...)},
	}
}

// finishOf asks for what a planned build turned out to be.
func (v *visit) finishOf(open *model.OpenBuild) *entry {
	e := &entry{Kind: model.Builds, Title: "Finish " + report.Label(open.ID), Intro: []string{openWords(open) + ". " + plannedWords(open, v.units)}}
	e.form = form{
		Action: "/finish?" + url.Values{"plan": {open.ID}}.Encode(), Submit: "Check it", Keep: "finish " + open.ID,
		Groups: v.measured("maker", "core_batch", "strand_batch", "shot_batch", "humidity", "started", "note"),
	}
	e.hide("build", open.ID)
	e.hide("product", open.Product)
	offer := labelText(open.Labels)
	offer["date"] = v.today()
	if offer["maker"] == "" {
		offer["maker"] = v.maker
	}
	if !open.Started.IsZero() {
		offer["started"] = open.Started.Format(time.DateOnly)
	}
	e.offer(offer)
	return e
}

// finishWithoutPlan asks for a build that nobody opened.
func (v *visit) finishWithoutPlan() *entry {
	e := &entry{Kind: model.Builds, Title: "Finish a build without a plan"}
	groups := v.measured("started", "humidity", "note")
	e.form = form{
		Action: "/finish", Submit: "Check it", Keep: "finish",
		Groups: slices.Concat(
			[]group{{Fields: v.ask("build", "product", "maker", "core_batch", "strand_batch", "shot_batch")}},
			groups,
			[]group{{Name: "What was planned, if it is not in the parts list", Fields: v.ask("predicted_weight", "predicted_length", "predicted_shot")}}),
	}
	latest := v.now.Latest
	if v.maker != "" {
		latest.Maker = v.maker
	}
	offer := labelText(latest)
	offer["build"], offer["date"] = v.now.NextID[model.Builds], v.today()
	e.offer(offer)
	return e
}

// today is the date that forms offer.
func (v *visit) today() string { return v.now.Today.Format(time.DateOnly) }

// labelText is a row's labels by column.
func labelText(l model.Labels) map[string]string {
	out := map[string]string{}
	for _, e := range model.Effects {
		out[string(e)] = l.Get(e)
	}
	return out
}

// openWords says whose plan it is: "8 ft bull, by dita, with core batch C12".
func openWords(o *model.OpenBuild) string {
	out := report.Label(o.Product)
	if o.Maker != "" {
		out += ", by " + report.Label(o.Maker)
	}
	for _, e := range []model.Effect{model.CoreBatch, model.StrandBatch, model.ShotBatch} {
		if name := o.Labels.Get(e); name != "" {
			out += ", " + e.Word() + " " + report.Label(name)
		}
	}
	return out
}

// plannedWords says what was planned.
func plannedWords(o *model.OpenBuild, u report.Units) string {
	out := "Planned: " + report.Mass(o.PredictedWeightG, u)
	if model.Known(o.PredictedShotG) {
		out += " with " + report.Mass(o.PredictedShotG, u) + " of shot"
	}
	return out + ", " + report.Length(o.PredictedLengthMM, u) + " long."
}

// openPlan is an open plan as a card.
type openPlan struct {
	ID, Product, Maker string
	Days               string // how long it is open
	Planned            string
}

// openPlans are the plans that wait, the oldest first.
func (v *visit) openPlans() []openPlan {
	var out []openPlan
	for i := range v.now.Open {
		o := &v.now.Open[i]
		out = append(out, openPlan{o.ID, o.Product, o.Maker, daysOpen(o.Started, v.now.Today), plannedWords(o, v.units)})
	}
	return out
}

// daysOpen says how long ago a plan was fixed.
func daysOpen(since, today time.Time) string {
	if since.IsZero() {
		return "open"
	}
	day := func(t time.Time) time.Time { return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, time.UTC) }
	switch days := int(day(today).Sub(day(since)).Hours() / 24); {
	case days <= 0:
		return "since today"
	case days == 1:
		return "since yesterday"
	default:
		return fmt.Sprintf("open for %d days", days)
	}
}
