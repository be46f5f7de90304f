package report

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/go-echarts/go-echarts/v2/opts"

	"trueplait/calibrate"
	"trueplait/model"
)

const (
	mostRows  = 24 // that a chart of intervals has room for
	mostFills = 20 // drawn beside one of them
)

// loadScale is how the load of a core is shown.
type loadScale struct {
	axis string
	unit string
	per  float64 // what a factor is multiplied by; NaN: shown in per cent instead
}

// newLoadScale works out grams per inch, or grams per 100 mm for those who
// think in metric only, from the planner's load in g/mm. Without one, factors
// are shown as per cent of the plan.
func newLoadScale(baseGMM float64, u Units) loadScale {
	switch {
	case !model.Known(baseGMM):
		return loadScale{"load, % of the plan", "% of the plan", 100}
	case u == Metric:
		return loadScale{"load, grams of shot per 100 mm of core", "g per 100 mm", baseGMM * 100}
	}
	return loadScale{"load, grams of shot per inch of core", "g per inch", baseGMM * model.MMPerInch}
}

// loadRow is one combination of maker and batches.
type loadRow struct {
	calibrate.Factor
	whisker       // in the units of the scale
	newest  int64 // when the batch was used last: the higher, the later
	fills   []measuredFill
}

// measuredFill is a test fill in the units of the scale.
type measuredFill struct {
	name string
	load float64
}

// LoadSection shows what each core batch takes per inch. The table behind the
// chart has at most the newest most rows; 0: all.
func LoadSection(p Page, most int) Section {
	return Section{ID: "load-per-inch", Title: "What each core batch takes", Figures: []figure{loadFigure(p.complete(), most)}}
}

// loadFigure draws the load per inch by core batch, in whose hands.
func loadFigure(p Page, most int) figure {
	f := figure{ID: "load", Title: "Load per inch by core batch"}
	q := p.Calibration.Quantity(model.Shot)
	if q == nil || q.Rows == 0 {
		f.Reading = "Nothing is known of the load yet. Record the shot used of each build, or fill a measured length of core and weigh the shot: a test fill takes minutes."
		return f
	}
	if !slices.Contains(q.Effects, model.CoreBatch) {
		f.Reading = "No row names its core batch, so batches cannot be compared. Give each purchase of core cord a label and write it down with every build."
		return f
	}
	scale := newLoadScale(p.Calibration.Summary.BaseLoadGMM, p.Style.Units)
	if !model.Known(p.Calibration.Summary.BaseLoadGMM) {
		f.Title = "Load by core batch"
	}
	rows := loadRows(p, q, scale)
	f.Reading = loadReading(rows, scale)

	drawn := rows[max(0, len(rows)-mostRows):]
	whiskers := []whisker{}
	fills := []opts.ScatterData{}
	for i, r := range drawn {
		whiskers = append(whiskers, r.whisker)
		for _, fill := range r.fills[max(0, len(r.fills)-mostFills):] {
			fills = append(fills, opts.ScatterData{Name: fill.name, Value: []any{rounded(fill.load, 3), i}})
		}
	}
	if len(drawn) > 0 {
		c := newIntervals(scale.axis, "expected load", whiskers, "the plan", scale.per)
		key := []mark{{"expected load", "dot", "after"}, {"95 % limits", "bar", "after"}}
		if len(fills) > 0 {
			c.AddSeries("test fill as weighed", fills, points("diamond", 11, hollow(inkMeasure, 1)))
			key = append(key, mark{"test fill as weighed", "diamond", "measure"})
		}
		f.Chart = finished(f.ID, intervalsHeight(len(drawn)), len(drawn)+len(fills), scale.unit, key, c)
	}
	f.Caption = fmt.Sprintf("n = %s of builds and test fills. Dot: what the next core of that batch will take in those hands; bar: the 95 %% limits of that figure (not of a single whip). "+
		"The upright line is the planner's load. Batches used last stand at the bottom.", count(q.Rows, "row"))
	if len(drawn) < len(rows) {
		f.Caption += fmt.Sprintf(" Drawn are the newest %d of %d combinations", len(drawn), len(rows))
		if most == 0 || len(rows) <= most {
			f.Caption += "; the table has them all."
		} else {
			f.Caption += fmt.Sprintf(", the table has %d; trueplait factors lists them all.", most)
		}
	}
	if slices.ContainsFunc(drawn, func(r loadRow) bool { return len(r.fills) > mostFills }) {
		f.Caption += fmt.Sprintf(" Of more than %d test fills of one, the newest are drawn.", mostFills)
	}
	f.Fold, f.Table = loadGrid(q, rows, scale, p.Calibration.Summary.BaseLoadGMM, most)
	return f
}

// loadRows lists the combinations seen, batches used last at the end.
func loadRows(p Page, q *calibrate.QuantityFit, scale loadScale) []loadRow {
	newest := lastUse(p)
	var rows []loadRow
	for _, f := range q.Factors {
		if f.Labels.CoreBatch == "" || f.Labels.CoreBatch == model.NewLevel {
			continue
		}
		i := calibrate.Interval{Median: f.Median * scale.per, Low: f.Low * scale.per, High: f.High * scale.per}
		rows = append(rows, loadRow{Factor: f, whisker: whisker{combination(q, f.Labels), i}, newest: newest[f.Labels.CoreBatch]})
	}
	slices.SortStableFunc(rows, func(a, b loadRow) int {
		return cmp.Or(cmp.Compare(a.newest, b.newest), cmp.Compare(a.Labels.CoreBatch, b.Labels.CoreBatch))
	})
	for _, fill := range p.Fills {
		load := fill.ShotMassG / fill.FilledLengthMM
		if model.Known(p.Calibration.Summary.BaseLoadGMM) {
			load *= scale.per / p.Calibration.Summary.BaseLoadGMM
		} else {
			load = fill.ShotMassG / fill.PredictedShotG * scale.per
		}
		if !(load > 0) {
			continue
		}
		// a fill that does not say whose or which shot belongs to the
		// last row it fits
		for i := len(rows) - 1; i >= 0; i-- {
			if fits(fill.Labels, rows[i].Labels) {
				rows[i].fills = append(rows[i].fills, measuredFill{"test fill " + label(fill.ID), load})
				break
			}
		}
	}
	return rows
}

func fits(fill, row model.Labels) bool {
	same := func(a, b string) bool { return a == "" || b == "" || a == b }
	return fill.CoreBatch == row.CoreBatch && same(fill.Maker, row.Maker) && same(fill.ShotBatch, row.ShotBatch)
}

// lastUse is when each core batch was last used, as far as the page knows: the
// higher, the later.
func lastUse(p Page) map[string]int64 {
	last := map[string]int64{}
	for i, batch := range p.CoreBatches {
		last[batch] = int64(len(p.CoreBatches) - i)
	}
	if p.CoreBatches != nil {
		return last
	}
	note := func(batch string, t time.Time) { last[batch] = max(last[batch], t.Unix()) }
	for _, q := range p.Proof.Quantities {
		for _, s := range q.Scored {
			note(s.Labels.CoreBatch, s.Date)
		}
	}
	for _, f := range p.Fills {
		note(f.CoreBatch, f.Date)
	}
	return last
}

// combination names a row by its batch first: "C07 · dita · shot S2".
func combination(q *calibrate.QuantityFit, l model.Labels) string {
	words := []string{label(l.CoreBatch)}
	if l.Maker != "" {
		words = append(words, label(l.Maker))
	}
	if l.ShotBatch != "" && slices.Contains(q.Effects, model.ShotBatch) {
		words = append(words, "shot "+label(l.ShotBatch))
	}
	return strings.Join(words, " · ")
}

// loadReading compares the batches that take most and least.
func loadReading(rows []loadRow, scale loadScale) string {
	var known []loadRow
	for _, r := range rows {
		if r.known() && r.Rows > 0 {
			known = append(known, r)
		}
	}
	if len(known) == 0 {
		return "No batch has a measured row yet, so the plan's load stands for all of them."
	}
	byLoad := func(a, b loadRow) int { return cmp.Compare(a.whisker.Median, b.whisker.Median) }
	least, most := slices.MinFunc(known, byLoad), slices.MaxFunc(known, byLoad)
	newest := known[len(known)-1]
	out := fmt.Sprintf("%s, of the batch in use last, takes %s %s where the plan says %s (%s).", newest.name,
		decimal(newest.whisker.Median, 2), scale.unit, decimal(scale.per, 2), factorWords(model.Shot, newest.Factor.Interval))
	if least.name != most.name {
		out += fmt.Sprintf(" Of all, %s takes most (%s) and %s least (%s): a core filled by the plan alone would be off by as much.",
			most.name, decimal(most.whisker.Median, 2), least.name, decimal(least.whisker.Median, 2))
	}
	return out
}

// loadGrid lists the combinations in both measures of load: the newest most of
// them, or all where that is 0.
func loadGrid(q *calibrate.QuantityFit, rows []loadRow, scale loadScale, baseGMM float64, most int) (string, grid) {
	g := grid{Figures: len(q.Effects)}
	for _, e := range q.Effects {
		g.Head = append(g.Head, e.Word())
	}
	g.Head = append(g.Head, "rows", scale.unit, "95 % limits")
	perMM := model.Known(baseGMM)
	if perMM {
		g.Head = append(g.Head, "g per mm")
	}
	g.Head = append(g.Head, "factor")
	shown := rows
	if most > 0 {
		shown = rows[max(0, len(rows)-most):]
	}
	for _, r := range shown {
		cells := []string{}
		for _, e := range q.Effects {
			cells = append(cells, label(r.Labels.Get(e)))
		}
		cells = append(cells, strconv.Itoa(r.Rows), decimal(r.whisker.Median, 2), decimal(r.whisker.Low, 2)+" to "+decimal(r.whisker.High, 2))
		if perMM {
			cells = append(cells, decimal(r.Factor.Median*baseGMM, 4))
		}
		g.add(append(cells, decimal(r.Factor.Median, 3))...)
	}
	if len(shown) == len(rows) {
		return "Table: all " + count(len(rows), "combination"), g
	}
	return fmt.Sprintf("Table: the newest %d of %s", len(g.Rows), count(len(rows), "combination")), g
}
