package bench

import (
	"net/url"

	"trueplait/model"
	"trueplait/report"
)

// edit asks what a row ought to say: the form is filled with what it states,
// to the last digit.
func (v *visit) edit() error {
	e, err := v.editForm()
	if err != nil {
		return err
	}
	return v.begin(e)
}

// editEntry goes on with a correction that was sent.
func (v *visit) editEntry() error {
	e, err := v.editForm()
	if err != nil {
		return err
	}
	return v.take(e)
}

// editGroups are all columns of each kind but the one that identifies the row.
var editGroups = map[model.Kind][]struct {
	name    string
	columns []string
}{
	model.Builds: {
		{"", []string{"weight", "length", "shot_used"}},
		{"", []string{"date", "maker", "product", "core_batch", "strand_batch", "shot_batch"}},
		{"", []string{"strand_cut", "strand_left", "load_length", "humidity", "started", "set_aside", "note"}},
		{"What the plan said", []string{"predicted_weight", "predicted_length", "predicted_shot", "predicted_strand",
			"calibration", "shot_factor", "body_factor", "length_factor"}},
	},
	model.Fills: {
		{"", []string{"core_batch", "filled_length", "shot_mass"}},
		{"", []string{"maker", "shot_batch", "date", "predicted_shot", "note"}},
	},
	model.Checks: {
		{"", []string{"strand_batch", "checked_length", "checked_mass"}},
		{"", []string{"date", "predicted_mass", "note"}},
	},
	model.Products: {
		{"", []string{"description", "weight_low", "weight_high", "length_low", "length_high"}},
	},
}

func (v *visit) editForm() (*entry, error) {
	kind, id := model.Kind(v.value("kind")), v.value("id")
	record, err := v.record(kind, id)
	if err != nil {
		return nil, err
	}
	e := &entry{Kind: kind, Title: "Correct " + kind.Noun(1) + " " + report.Label(id), Amend: true,
		Intro: []string{"Figures stand here as they were written down, to the last digit. What the row says now is kept in its history."}}
	e.form = form{
		Action: "/edit?" + url.Values{"kind": {string(kind)}, "id": {id}}.Encode(),
		Submit: "Check it", Keep: "edit " + string(kind) + " " + id,
	}
	e.hide(kind.IDColumn(), id)
	for _, g := range editGroups[kind] {
		e.Groups = append(e.Groups, group{g.name, v.ask(g.columns...)})
	}
	stated := map[string]string{}
	for _, f := range report.Facts(record.Stated, v.units) {
		stated[f.Column] = f.Exact
	}
	e.offer(stated)
	return e, nil
}
