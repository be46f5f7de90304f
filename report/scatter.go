package report

import (
	"fmt"

	"trueplait/calibrate"
	"trueplait/model"
)

// scatterSection shows, per product and in grams, where finished weights get
// their spread from. Without spreads to tell apart it is not shown.
func scatterSection(p Page) Section {
	order := []model.Effect{model.Maker, model.CoreBatch, model.StrandBatch, model.ShotBatch, model.Product, ""}
	head := []string{"product"}
	for _, e := range order {
		head = append(head, sourceName(e))
	}
	s := Section{ID: "scatter", Title: "Where the scatter comes from", Table: grid{Head: head, Figures: 1}}
	var widest *calibrate.Promise
	split := 0
	for _, x := range p.Promises {
		if x.Sources == nil {
			continue
		}
		row := []string{label(x.Labels.Product)}
		for _, e := range order {
			cell := dash
			for _, source := range x.Sources {
				if source.Effect == e && source.Share > 0 {
					cell = "± " + grams(source.SDG, p.Style.Units)
				}
			}
			row = append(row, cell)
		}
		if split++; split <= mostOffered {
			s.Table.add(row...)
		}
		if widest == nil || x.Weight.Median > widest.Weight.Median {
			widest = x
		}
	}
	if widest == nil {
		return Section{}
	}
	s.Notes = offeredNotes(split)
	s.Intro = fmt.Sprintf("How far each source alone would move finished weights, one standard deviation either way. For %s %s. "+
		"What comes from batches and hands can be measured away; what is from whip to whip stays.",
		label(widest.Labels.Product), sourcesReading(widest.Sources, p.Style.Units))
	return s
}
