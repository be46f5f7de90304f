package report

import (
	"fmt"
	"io"
	"strings"

	"trueplait/calibrate"
	"trueplait/model"
)

// ReadingTable writes what an entry was understood to say, for people who are
// about to save it: its figures, how far they are from today's prediction, and
// what to look at again.
func ReadingTable(w io.Writer, r *Reading, s Style) error {
	p := newPrinter(w, s)
	g := grid{Head: []string{"", "understood as"}, Figures: 2}
	for _, f := range r.Facts(s.Units) {
		g.add(f.Name, f.Text)
	}
	p.grid(g)
	if words := r.Comparisons(s.Units); len(words) > 0 {
		p.gap()
		p.paragraph("Against today's prediction")
		p.items(words)
	}
	if words := r.Doubts(s.Units); len(words) > 0 {
		p.gap()
		p.paragraph("Look again before saving")
		p.items(words)
	}
	return p.err
}

// SavedTable writes what an entry that was saved has changed, and what to
// measure next.
func SavedTable(w io.Writer, saved *Saved, s Style) error {
	p := newPrinter(w, s)
	p.paragraph(saved.Headline())
	if words := saved.Changed(s.Units); len(words) > 0 {
		p.gap()
		p.paragraph(saved.Fitted())
		p.items(words)
	}
	if len(saved.Warnings) > 0 {
		p.gap()
		p.paragraph("Mind")
		p.items(saved.Warnings)
	}
	if len(saved.Reminders) > 0 {
		p.gap()
		p.paragraph("Next")
		for _, a := range saved.Reminders {
			p.items([]string{a.Do + " " + a.Why})
		}
	}
	return p.err
}

// Facts lists what the entry says. Shot worked out from the tub says so.
func (r *Reading) Facts(u Units) []Fact {
	list := Facts(r.Row, u)
	for i := range list {
		if list[i].Column == "shot_used" && r.ShotFrom != "" {
			list[i].Text += ", from " + label(r.ShotFrom)
		}
	}
	return list
}

// Comparisons says of each measured figure how far it is from today's
// prediction: "Weight 390 g (13 3/4 oz): 12 g (3/8 oz) lighter than today's
// 95 % band, 402 to 431 g (14 1/8 to 15 1/4 oz)."
func (r *Reading) Comparisons(u Units) []string {
	var out []string
	for _, e := range r.Today {
		out = append(out, Comparison(r.Row.Kind(), e, u))
	}
	return out
}

// Comparison says how far one measured figure of a row of that kind is from
// today's prediction.
func Comparison(k model.Kind, e calibrate.Expected, u Units) string {
	q := e.Quantity
	out := fmt.Sprintf("%s %s: ", measuredName(k, q), size(q, e.Measured, u))
	switch {
	case !model.Known(e.Today.Low) || !model.Known(e.Today.High):
		return out + fmt.Sprintf("the plan alone says %s; nothing is known yet of how far off it is.", size(q, e.Planned, u))
	case e.Inside():
		return out + "inside today's 95 % band, " + span(q, e.Today, u) + "."
	}
	beyond, way := e.Measured-e.Today.High, spoken[q].up
	if e.Measured < e.Today.Low {
		beyond, way = e.Today.Low-e.Measured, spoken[q].down
	}
	return out + fmt.Sprintf("%s %s than today's 95 %% band, %s.", size(q, beyond, u), way, span(q, e.Today, u))
}

// measuredName is what was measured, at the start of a sentence.
func measuredName(k model.Kind, q model.Quantity) string {
	switch {
	case k == model.Fills:
		return "Shot"
	case k == model.Checks:
		return "Cord"
	}
	return capital(spoken[q].measured)
}

// Doubts lists what looks wrong with the entry: a slip of units, a whole foot
// or pound too many. It can be saved all the same.
func (r *Reading) Doubts(u Units) []string {
	var out []string
	for _, w := range r.Warnings {
		out = append(out, capital(label(w)))
	}
	for _, e := range r.Today {
		// the body is worked out: what is wrong with it is wrong with a
		// figure that was read
		if e.Slip == nil || e.Quantity == model.Body && r.Row.Kind() == model.Builds {
			continue
		}
		out = append(out, slipWords(r.Row.Kind(), e, u))
	}
	return out
}

// slipWords asks about a whole unit that would make a figure fit.
func slipWords(k model.Kind, e calibrate.Expected, u Units) string {
	number, way := max(e.Slip.Off, -e.Slip.Off), "too many"
	if e.Slip.Off < 0 {
		way = "too few"
	}
	unit := e.Slip.Unit
	if number > 1 {
		unit = map[string]string{"foot": "feet", "inch": "inches", "pound": "pounds", "ounce": "ounces"}[unit]
	}
	tool := "scale"
	if e.Quantity.Dimension() == model.LengthDimension {
		tool = "tape"
	}
	return fmt.Sprintf("%s %s looks like %d %s %s: %s would fit. Look at the %s again.", measuredName(k, e.Quantity),
		size(e.Quantity, e.Measured, u), number, unit, way, size(e.Quantity, e.Slip.Fits, u), tool)
}

// Headline says what became of the entry.
func (s *Saved) Headline() string {
	name := rowName(model.RowKey{Kind: s.Row.Kind(), ID: s.Row.Key()})
	switch {
	case s.Again:
		return capital(name) + " was in the log already. Nothing was saved twice."
	case s.Amended:
		return capital(name) + " is corrected. What it said before is kept in its history."
	}
	return capital(name) + " is saved."
}

// Fitted says which calibration has the entry in it.
func (s *Saved) Fitted() string {
	if s.Calibration == 0 {
		return "What it changed"
	}
	return fmt.Sprintf("What it changed (calibration %d)", s.Calibration)
}

// Changed says which factors moved, in what is measured at the bench: "Core
// batch C14: 2.19 to 2.06 g per inch (± 3 %), from 3 builds or test fills."
// Factors that moved by less than is shown are left out; where none moved by
// more, it says so.
func (s *Saved) Changed(u Units) []string {
	var out []string
	for _, c := range s.Changes {
		scale := newChangeScale(c.Quantity, s.BaseLoadGMM, u)
		before, after := scale.figure(c.Before), scale.figure(c.After)
		sure, surer := giveOrTake(c.Before), giveOrTake(c.After)
		switch {
		case !model.Known(c.Before.Low):
			before = after
		case before == after && sure == surer:
			continue
		case before == after:
			surer += ", before " + sure
			before = "still " + after
		case before == asPlanned || after == asPlanned:
			before += " before, now " + after
		default:
			before = strings.TrimSuffix(before, scale.shared(c)) + " to " + after
		}
		out = append(out, fmt.Sprintf("%s: %s (%s), from %s.", changeSubject(c), before, surer, changeRows(c)))
	}
	if out == nil && s.Changes != nil {
		return []string{"No factor moved by as much as is shown."}
	}
	return out
}

// changeScale is how a factor of a quantity is spoken of at the bench.
type changeScale struct {
	quantity model.Quantity
	unit     string
	perUnit  float64 // what a factor is multiplied by; NaN: shown in per cent off the plan
}

// newChangeScale speaks of shot as the load of a core where the planner's own
// load is known.
func newChangeScale(q model.Quantity, baseGMM float64, u Units) changeScale {
	if q != model.Shot || !model.Known(baseGMM) {
		return changeScale{q, "", model.Unknown}
	}
	scale := newLoadScale(baseGMM, u)
	return changeScale{q, " " + scale.unit, scale.per}
}

func (s changeScale) figure(i calibrate.Interval) string {
	switch {
	case model.Known(s.perUnit):
		return decimal(i.Median*s.perUnit, 2) + s.unit
	case off(i.Median, 1) == "0.0":
		return asPlanned
	}
	return off(i.Median, 1) + " %" + s.way(i) + thanPlanned
}

const (
	asPlanned   = "as planned"
	thanPlanned = " than planned"
)

// way is the side of the plan that a factor is on.
func (s changeScale) way(i calibrate.Interval) string {
	if i.Median < 1 {
		return " " + spoken[s.quantity].down
	}
	return " " + spoken[s.quantity].up
}

// shared is the end that the figures before and after have in common, to be
// said once.
func (s changeScale) shared(c calibrate.Change) string {
	switch {
	case model.Known(s.perUnit):
		return s.unit
	case s.way(c.Before) == s.way(c.After):
		return " %" + s.way(c.After) + thanPlanned
	}
	return thanPlanned
}

// changeSubject names what was measured with the batch that a factor is about,
// else the hands. The load of a core goes without saying.
func changeSubject(c calibrate.Change) string {
	batch, what := model.StrandBatch, capital(spoken[c.Quantity].measured)
	if c.Quantity == model.Shot {
		batch = model.CoreBatch
	}
	switch name := c.Labels.Get(batch); {
	case c.Quantity == model.Shot && name != "":
		return capital(batch.Word()) + " " + label(name)
	case c.Quantity != model.Weight && name != "":
		return what + " with " + batch.Word() + " " + label(name)
	case c.Labels.Maker != "":
		return what + " by " + label(c.Labels.Maker)
	}
	return what
}

// changeRows says what a factor was learnt from.
func changeRows(c calibrate.Change) string {
	kinds, and := c.Kinds, " and "
	if kinds == nil {
		and = " or "
		kinds = []model.Kind{model.Builds}
		if also, ok := map[model.Quantity]model.Kind{model.Shot: model.Fills, model.Body: model.Checks}[c.Quantity]; ok {
			kinds = append(kinds, also)
		}
	}
	out := counted(c.Rows, kinds[0])
	for _, k := range kinds[1:] {
		out += and + k.Noun(c.Rows)
	}
	return out
}
