package report

import (
	"fmt"
	"slices"
	"strings"

	"trueplait/calibrate"
	"trueplait/model"
)

// Advice is one thing to do now: what, why or how, and the rows it is about.
type Advice struct {
	Do     string
	Why    string
	Rows   []AdviceRow
	Split  *model.Split // that it may come to; nil: to none
	Record model.Kind   // what to record next; "": nothing in particular
	Label  string       // of which batch, or of which build

	// Command does it at the prompt; "": there is none. The bench page has a
	// button for it instead.
	Command string
}

// AdviceRow is a row that advice is about.
type AdviceRow struct {
	Key  model.RowKey // the zero key: no row of its own
	Text string
}

// Advise turns the results into a list of what to do now, the most useful first.
func Advise(p Page) []Advice {
	p = p.complete()
	if nothingLearnt(p.Calibration) && p.Calibration.Builds+p.Calibration.Fills+p.Calibration.Checks == 0 {
		return firstRecords
	}
	list := usePlan(p)
	list = append(list, correctRows(p.Calibration)...)
	list = append(list, lookAtShifts(p.Calibration)...)
	list = append(list, lookAtDrifts(p.Calibration)...)
	list = append(list, MissingLinks(p.Calibration)...)
	list = append(list, fillBatches(p)...)
	list = append(list, predictRows(p.Calibration.Summary)...)
	return list
}

// firstRecords is what an empty log needs.
var firstRecords = []Advice{
	{Do: "Write down the next whip before you cut.", Why: "Planned weight, length and shot; maker; core, strand and shot batch. A label of your own for each purchase is enough.", Record: model.Builds},
	{Do: "When it is finished, add three numbers.", Why: "Weight, length and shot used. What is left of the longest strand makes a fourth, and saves cord later."},
	{Do: "Fill six inches of each core batch.", Why: "Weigh the shot it took and record it as a test fill: it takes minutes and tells more of a batch than a finished whip.", Record: model.Fills},
	{Do: "Come back after the first build.", Why: "One build already narrows down the next; from the sixth on this page shows whether predictions really get better."},
}

// usePlan says for which figures the calibrated plan has proved itself.
func usePlan(p Page) []Advice {
	var better, open []string
	var gains []string
	for i := range p.Proof.Quantities {
		q := &p.Proof.Quantities[i]
		if q.N == 0 {
			continue
		}
		if !q.Better {
			open = append(open, string(q.Quantity))
			continue
		}
		better = append(better, string(q.Quantity))
		before, after := scoreOf(q.Figures, calibrate.Planner), scoreOf(q.Figures, calibrate.Calibrated)
		gains = append(gains, fmt.Sprintf("%s from %s to %s", q.Quantity, size(q.Quantity, before.MAE, p.Style.Units), size(q.Quantity, after.MAE, p.Style.Units)))
	}
	var list []Advice
	if len(better) > 0 {
		list = append(list, Advice{
			Do:  fmt.Sprintf("Plan with the calibrated %s.", series(better)),
			Why: "Shown on builds it had not seen, the average miss fell: " + series(gains) + ".", Record: model.Builds,
		})
	}
	if len(open) > 0 {
		list = append(list, Advice{
			Do:  fmt.Sprintf("Treat the calibrated %s as a second opinion.", series(open)),
			Why: "It is not yet shown to beat the plan alone; more builds will decide.",
		})
	}
	return list
}

// correctRows lists unit slips to put right, then rows worth a second look.
func correctRows(c *calibrate.Calibration) []Advice {
	slips, doubts := map[model.RowKey][]string{}, map[model.RowKey][]string{}
	var slipped, doubted []model.RowKey // each once, in order
	for _, q := range c.Quantities {
		for _, a := range q.SetAside {
			into, names := slips, &slipped
			switch a.Reason {
			case model.UnitSlip:
			case model.FarOut, model.OnlyRow, model.NoBody:
				into, names = doubts, &doubted
			default: // by hand, or follows from another row of the list
				continue
			}
			if into[a.Key] == nil {
				*names = append(*names, a.Key)
			}
			into[a.Key] = append(into[a.Key], fmt.Sprintf("%s %s times the plan", spoken[q.Quantity].measured, ratio(a.Ratio))+guess(a))
		}
	}
	// a row that is a slip is listed as that alone
	doubted = slices.DeleteFunc(doubted, func(key model.RowKey) bool { return slips[key] != nil })
	var list []Advice
	const until = "Left out of the factors until then."
	if len(slipped) > 0 {
		list = append(list, Advice{Do: fmt.Sprintf("Correct %s written in a wrong unit, by the look of it.", count(len(slipped), "row")), Why: until, Rows: found(slipped, slips)})
	}
	if len(doubted) > 0 {
		list = append(list, Advice{Do: fmt.Sprintf("Check %s against the notebook.", count(len(doubted), "row")), Why: until, Rows: found(doubted, doubts)})
	}
	return list
}

// guess is what a slip looks like: ", looks like ounces entered as grams".
func guess(a calibrate.SetAside) string {
	if a.Reason == model.UnitSlip && a.Text != "" && a.Text != string(model.UnitSlip) {
		return ", " + label(a.Text)
	}
	return ""
}

// found lists the first rows with what is odd about each.
func found(keys []model.RowKey, what map[model.RowKey][]string) []AdviceRow {
	const few = 6
	var out []AdviceRow
	for _, k := range keys[:min(len(keys), few)] {
		out = append(out, AdviceRow{k, capital(rowName(k)) + ": " + strings.Join(what[k], ", ")})
	}
	if len(keys) > few {
		out = append(out, AdviceRow{Text: fmt.Sprintf("and %d more in the list of what was set aside", len(keys)-few)})
	}
	return out
}

// lookAtShifts asks what changed where rows moved together.
func lookAtShifts(c *calibrate.Calibration) []Advice {
	var list []Advice
	seen := map[string]bool{}
	for i := range c.Quantities {
		q := &c.Quantities[i]
		for _, s := range q.Shifts {
			// weight moves with shot and body: say it once per change
			key := string(s.Effect) + "\x00" + s.Level + "\x00" + s.First.ID
			if seen[key] {
				continue
			}
			seen[key] = true
			if len(list) == mostNotes {
				continue
			}
			word := spoken[q.Quantity].more
			if s.Ratio < 1 {
				word = spoken[q.Quantity].less
			}
			list = append(list, Advice{
				Do: fmt.Sprintf("Find out what changed in %s %s on %s.", s.Effect.Word(), label(s.Level), date(s.Date)),
				Why: fmt.Sprintf("From %s on, %s %s %s %% %s. A new purchase under the old label looks like this.",
					rowName(s.First), count(s.Rows, "row"), spoken[q.Quantity].verb, off(s.Ratio, 0), word),
			})
		}
	}
	if more := len(seen) - len(list); more > 0 {
		list = append(list, Advice{Do: fmt.Sprintf("Look at %s more.", count(more, "change")), Why: "trueplait calibrate lists them."})
	}
	return list
}

// MissingLinks asks for a shared batch where hands cannot be told from cord.
func MissingLinks(c *calibrate.Calibration) []Advice {
	var list []Advice
	seen := map[string]bool{}
	for _, q := range c.Quantities {
		for _, u := range q.Unlinked {
			who := series(labels(u.Makers))
			if seen[who] {
				continue
			}
			seen[who] = true
			if len(list) == mostNotes {
				continue
			}
			list = append(list, Advice{
				Do:  fmt.Sprintf("Let %s use a batch that the others use.", some(labels(u.Makers), mostNames)),
				Why: "Until one is shared, only the product of hands and cord is known there. For shot a test fill of a core batch is enough; for cord and length it takes a whip from a strand batch.",
			})
		}
	}
	if more := len(seen) - len(list); more > 0 {
		list = append(list, Advice{Do: fmt.Sprintf("Let %s of makers more share a batch with the others.", count(more, "group")), Why: "trueplait calibrate names them."})
	}
	return list
}

// fillBatches names the batches in use whose load is least known.
func fillBatches(p Page) []Advice {
	q := p.Calibration.Quantity(model.Shot)
	if q == nil || !slices.Contains(q.Effects, model.CoreBatch) {
		return nil
	}
	const inUse, few, wide = 3, 3, 0.02 // batches; rows; half a 95 % interval
	rows := loadRows(p, q, newLoadScale(model.Unknown, p.Style.Units))
	var out []string
	var batches []string
	for i := len(rows) - 1; i >= 0; i-- {
		r := rows[i]
		if !slices.Contains(batches, r.Labels.CoreBatch) {
			if len(batches) == inUse {
				break
			}
			batches = append(batches, r.Labels.CoreBatch)
		}
		if r.known() && r.Factor.Rows <= few && r.Factor.Width()/2/r.Factor.Median > wide {
			out = append(out, fmt.Sprintf("%s, %s from %s", r.name, giveOrTake(r.Factor.Interval), count(r.Factor.Rows, "row")))
		}
	}
	if len(out) == 0 {
		return nil
	}
	return []Advice{{
		Do:  "Make a test fill or two of the batches in use.",
		Why: "Their load is known from few rows: " + some(out, 4) + ". Fill a measured length, weigh the shot: minutes now, a surer weight later.", Record: model.Fills,
	}}
}

// predictRows points out rows that teach nothing because they lack a plan.
func predictRows(s model.Summary) []Advice {
	var what []string
	for _, u := range []struct {
		n int
		k model.Kind
	}{{s.UnpredictedBuilds, model.Builds}, {s.UnpredictedFills, model.Fills}, {s.UnpredictedChecks, model.Checks}} {
		if u.n > 0 {
			what = append(what, counted(u.n, u.k))
		}
	}
	if len(what) == 0 {
		return nil
	}
	return []Advice{{
		Do:  fmt.Sprintf("Add the planned figures of %s.", series(what)),
		Why: "They are kept, but without a prediction there is nothing to compare them with. A parts list of the product fills the gap for later rows.", Record: model.Parts,
	}}
}
