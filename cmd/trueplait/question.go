package main

import (
	"slices"
	"strings"

	"trueplait/ingest"
	"trueplait/model"
)

// question is one column of a row, as it is asked for at the prompt.
type question struct {
	column string
	hint   string       // what goes without saying in a file
	effect model.Effect // whose label it is; "": none's
	amount bool         // it takes a mass or a length
	needed bool         // it may not be blank
	asked  bool         // it is asked for unless given; else only at the maker's wish
}

// The columns that are treated in a way of their own. The tub of shot, weighed
// before and after, stands for the shot used.
const (
	shotUsed   = "shot_used"
	shotBefore = "shot_before"
	shotAfter  = "shot_after"
	strandCut  = "strand_cut"
	strandLeft = "strand_left"
)

// measured are the columns that a maker is asked for beside those that a row
// needs.
var measured = []string{"weight", "length", shotUsed, strandCut, strandLeft}

var hints = map[string]string{
	shotUsed:   `or "tub": weighed before and after`,
	strandCut:  "longest strand of the overlay",
	strandLeft: "of the same strand",
}

// questions lists the columns of a kind as they are asked for, the row's id
// first.
func questions(kind model.Kind) []question {
	var out []question
	for _, c := range ingest.Columns(kind) {
		q := question{column: c.Name, hint: hints[c.Name], amount: c.Of != model.NoDimension, needed: c.Required}
		if slices.Contains(model.Effects, model.Effect(c.Name)) {
			q.effect = model.Effect(c.Name)
		}
		q.asked = q.needed || q.effect != "" || slices.Contains(measured, c.Name)
		out = append(out, q)
		if c.Name == shotUsed {
			out = append(out,
				question{column: shotBefore, hint: "the tub", amount: true, needed: true},
				question{column: shotAfter, hint: "the same tub", amount: true, needed: true})
		}
	}
	return out
}

// idQuestion asks for the id of a row.
func idQuestion(kind model.Kind) question { return questions(kind)[0] }

// optionName is the option that answers a column.
func optionName(column string) string { return "--" + strings.ReplaceAll(column, "_", "-") }
