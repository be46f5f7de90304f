package bench

import (
	"fmt"
	"net/http"
	"slices"
	"time"

	"trueplait/model"
	"trueplait/report"
)

// splittable are the effects that may change under their label.
var splittable = []model.Effect{model.Maker, model.CoreBatch, model.StrandBatch, model.ShotBatch}

// splitRow is a split in force.
type splitRow struct {
	model.Split
	Words string
}

func splitRows(splits []model.Split) []splitRow {
	var out []splitRow
	for _, s := range splits {
		out = append(out, splitRow{s, splitWords(s)})
	}
	return out
}

// splitWords names what was split: "core batch C14, from 2026-03-04 on".
func splitWords(s model.Split) string {
	return fmt.Sprintf("%s %s, from %s on", s.Effect.Word(), report.Label(s.Label), s.Since.Format(time.DateOnly))
}

// levels lists the levels that the rows of labels have, the newest first as the
// labels are.
func levels(labels []string, splits []model.Split, e model.Effect) []string {
	var out []string
	for _, label := range labels {
		of := slices.DeleteFunc(slices.Clone(splits), func(s model.Split) bool { return s.Effect != e || s.Label != label })
		slices.SortFunc(of, func(a, b model.Split) int { return b.Since.Compare(a.Since) })
		for _, s := range of {
			out = append(out, s.Level())
		}
		out = append(out, label)
	}
	return out
}

// splitPage asks whether to split.
type splitPage struct {
	model.Split
	What    string // "core batch C14"
	Since   string // as typed
	Problem string // what is wrong with it
}

// split asks before a maker or batch is split.
func (v *visit) split() error {
	page, err := v.splitAsked()
	if err != nil {
		return err
	}
	return v.show(http.StatusOK, "split", "Split "+page.What, page)
}

// splitNow splits, and goes on to the list of what is in force.
func (v *visit) splitNow() error {
	page, err := v.splitAsked()
	if err != nil {
		return err
	}
	if page.Problem != "" {
		return v.show(http.StatusUnprocessableEntity, "split", "Split "+page.What, page)
	}
	if err := v.shop.Split(v.r.Context(), page.Split); err != nil {
		return err
	}
	return v.redirect("/factors#splits")
}

// unsplitNow undoes a split.
func (v *visit) unsplitNow() error {
	i := slices.IndexFunc(v.now.Splits, func(s model.Split) bool {
		return string(s.Effect) == v.value("effect") && s.Label == v.r.FormValue("label") && s.Since.Format(time.DateOnly) == v.value("since")
	})
	if i < 0 {
		return notFound("That split is not in force, or no longer. The Factors page lists those that are.")
	}
	if err := v.shop.Unsplit(v.r.Context(), v.now.Splits[i]); err != nil {
		return err
	}
	return v.redirect("/factors#splits")
}

// splitAsked reads what is to be split, and from when. A label that the log does
// not have is an error, a date that does not fit is a problem of the page.
func (v *visit) splitAsked() (splitPage, error) {
	page := splitPage{Since: v.value("since")}
	page.Effect, page.Label = model.Effect(v.value("effect")), v.r.FormValue("label")
	if !slices.Contains(splittable, page.Effect) || !slices.Contains(v.now.Labels[page.Effect], page.Label) {
		return page, notFound("There is no such maker or batch to split.")
	}
	page.What = page.Effect.Word() + " " + report.Label(page.Label)
	since, err := time.Parse(time.DateOnly, page.Since)
	switch {
	case err != nil:
		page.Problem = "is not a date like 2026-03-31"
	case since.After(v.now.Today):
		page.Problem = "is after today"
	}
	page.Split.Since = since
	return page, nil
}
