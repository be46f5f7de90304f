package bench

import "trueplait/model"

// fill asks for a test fill.
func (v *visit) fill() error { return v.begin(v.fillForm()) }

// fillEntry goes on with a test fill that was sent.
func (v *visit) fillEntry() error { return v.take(v.fillForm()) }

func (v *visit) fillForm() *entry {
	e := &entry{Kind: model.Fills, Title: "Test fill",
		Intro: []string{"Fill a measured length of core cord and weigh the shot it took: minutes now, a surer weight later."}}
	e.form = form{
		Action: "/fill", Submit: "Check it", Keep: "fill",
		Groups: []group{
			{Fields: v.ask("core_batch", "filled_length", "shot_mass")},
			{Name: "Or weigh the tub of shot, before and after", Fields: v.ask("shot_before", "shot_after")},
			{Fields: v.ask("maker", "shot_batch")},
			{Name: "More: name, date, note", Fields: v.ask("fill", "date", "predicted_shot", "note")},
		},
	}
	offer := labelText(v.now.Latest)
	offer["fill"], offer["date"] = v.now.NextID[model.Fills], v.today()
	if v.maker != "" {
		offer["maker"] = v.maker
	}
	if batch := v.r.URL.Query().Get("core_batch"); batch != "" {
		offer["core_batch"] = batch
	}
	e.offer(offer)
	return e
}
