package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"

	"trueplait/calibrate"
	"trueplait/model"
)

// makersFigure shows how far each maker is off the average of the makers in
// one quantity.
func makersFigure(q *calibrate.QuantityFit) figure {
	f := figure{
		ID:      "makers-" + string(q.Quantity),
		Title:   spoken[q.Quantity].name + ": the makers compared",
		Reading: overallWords(q),
		Notes:   notes(q.Warnings),
	}
	var unlinked []string
	for _, u := range q.Unlinked {
		unlinked = append(unlinked, u.Makers...)
	}
	makers := slices.Clone(q.Makers)
	if len(makers) < 2 {
		f.Caption = "Hands can be compared once two makers have used a batch in common." + unlinkedWords(unlinked)
		return f
	}
	f.Reading += " " + makersReading(q.Quantity, makers)

	slices.SortStableFunc(makers, func(a, b calibrate.MakerFactor) int { return cmp.Compare(b.Rows, a.Rows) })
	drawn := makers[:min(len(makers), mostRows)]
	var whiskers []whisker
	for _, m := range drawn {
		whiskers = append(whiskers, whisker{m.Maker, calibrate.Interval{Median: percent(m.Median), Low: percent(m.Low), High: percent(m.High)}})
	}
	c := newIntervals("off the makers' average, %", "maker", whiskers, "their average", 0)
	f.Chart = finished(f.ID, intervalsHeight(len(drawn)), len(drawn), "%",
		[]mark{{"maker", "dot", "after"}, {"95 % limits", "bar", "after"}}, c)
	f.Caption = fmt.Sprintf("n = %s of %s. Dot: how far that maker is off the makers' average, batches allowed for; bar: its 95 %% limits. A bar across 0 means no difference can be told.",
		count(q.Rows, "row"), count(len(makers), "maker"))
	if len(drawn) < len(makers) {
		f.Caption += fmt.Sprintf(" Drawn are the %d with most rows; the table has %s.", len(drawn), tabledMakers(len(makers)))
	}
	f.Caption += unlinkedWords(unlinked)
	f.Fold, f.Table = makersGrid(q, makers)
	return f
}

func percent(f float64) float64 { return (f - 1) * 100 }

// unlinkedWords says why makers have no factor of their own.
func unlinkedWords(makers []string) string {
	if len(makers) == 0 {
		return ""
	}
	return fmt.Sprintf(" Not shown: %s. Without a batch in common with the others, hands cannot be told from cord there.", some(labels(makers), mostNames))
}

// makersReading names the makers who clearly differ, the furthest first.
func makersReading(q model.Quantity, makers []calibrate.MakerFactor) string {
	clear := slices.DeleteFunc(slices.Clone(makers), func(m calibrate.MakerFactor) bool { return !(m.Low > 1 || m.High < 1) })
	if len(clear) == 0 {
		return "Beyond that, no maker clearly differs from the others."
	}
	slices.SortStableFunc(clear, func(a, b calibrate.MakerFactor) int {
		return cmp.Compare(math.Abs(math.Log(b.Median)), math.Abs(math.Log(a.Median)))
	})
	var out []string
	for _, m := range clear[:min(len(clear), 3)] {
		out = append(out, fmt.Sprintf("%s's whips %s", label(m.Maker), compared(q, m.Interval, theMakers)))
	}
	return capital(series(out)) + "."
}

func makersGrid(q *calibrate.QuantityFit, makers []calibrate.MakerFactor) (string, grid) {
	g := grid{Head: []string{"maker", "rows", "times the average", "in words"}, Figures: 1, Words: 3}
	for _, m := range makers[:min(len(makers), mostTabled)] {
		g.add(label(m.Maker), strconv.Itoa(m.Rows), interval(m.Interval), compared(q.Quantity, m.Interval, theMakers))
	}
	if len(g.Rows) < len(makers) {
		return fmt.Sprintf("Table: the %d of %d makers with most rows", len(g.Rows), len(makers)), g
	}
	return "Table: all " + count(len(makers), "maker"), g
}

// tabledMakers says how many of so many makers the table has, and what has the
// others.
func tabledMakers(n int) string {
	if n <= mostTabled {
		return "them all"
	}
	return fmt.Sprintf("%d, trueplait calibrate --json the effect of each", mostTabled)
}
