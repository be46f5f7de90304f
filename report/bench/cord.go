package bench

import "trueplait/model"

// cord asks for a cord check.
func (v *visit) cord() error { return v.begin(v.cordForm()) }

// cordEntry goes on with a cord check that was sent.
func (v *visit) cordEntry() error { return v.take(v.cordForm()) }

func (v *visit) cordForm() *entry {
	e := &entry{Kind: model.Checks, Title: "Cord check",
		Intro: []string{"Weigh a measured length of strand cord. A long piece on a fine scale says most."}}
	e.form = form{
		Action: "/cord", Submit: "Check it", Keep: "cord",
		Groups: []group{
			{Fields: v.ask("strand_batch", "checked_length", "checked_mass")},
			{Name: "More: name, date, note", Fields: v.ask("check", "date", "predicted_mass", "note")},
		},
	}
	offer := map[string]string{"check": v.now.NextID[model.Checks], "date": v.today(), "strand_batch": v.now.Latest.StrandBatch}
	if batch := v.r.URL.Query().Get("strand_batch"); batch != "" {
		offer["strand_batch"] = batch
	}
	e.offer(offer)
	return e
}
