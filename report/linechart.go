package report

import (
	"fmt"
	"math"
	"strings"

	"github.com/jedib0t/go-pretty/v6/text"

	"trueplait/calibrate"
	"trueplait/model"
)

// lineChart is a line's builds in plain characters, one column a build.
type lineChart struct {
	rows   [][]rune
	labels []string // of rows; "" for most
	key    string
	shown  int // builds; the newest
	all    int
}

// chartRows is the height of a chart in lines of text.
const chartRows = 11

// newLineChart draws a line. It is empty for fewer than two builds or no
// scatter.
func newLineChart(l *calibrate.Line, s Style) lineChart {
	c := lineChart{all: len(l.Builds)}
	if c.all < 2 || !(l.SD > 0) {
		return c
	}
	const marginColumns = 16
	c.shown = min(c.all, max(s.columns()-marginColumns, 10))
	builds := l.Builds[c.all-c.shown:]
	levels := []chartLevel{{l.Mean, '.'}, {l.Upper, '-'}, {l.Lower, '-'}}
	c.key = "o build   @ stands out   - usual limits   . average"
	if l.Capability != nil {
		levels = append(levels, chartLevel{l.Capability.Low, '='}, chartLevel{l.Capability.High, '='})
		c.key += "   = promise"
	}
	bottom, top := math.Inf(1), math.Inf(-1)
	reach := func(x float64) {
		if model.Known(x) {
			bottom, top = math.Min(bottom, x), math.Max(top, x)
		}
	}
	for _, v := range levels {
		reach(v.at)
	}
	for _, b := range builds {
		reach(b.X)
	}
	row := func(x float64) int { return int(math.Round((top - x) / (top - bottom) * (chartRows - 1))) }
	c.rows, c.labels = make([][]rune, chartRows), make([]string, chartRows)
	for i := range c.rows {
		c.rows[i] = []rune(strings.Repeat(" ", c.shown))
	}
	for _, v := range levels { // later ones win a row that two share
		if !model.Known(v.at) {
			continue
		}
		i := row(v.at)
		c.rows[i] = []rune(strings.Repeat(string(v.ink), c.shown))
		c.labels[i] = lineValue(l, v.at, one(s.Units))
	}
	for i, b := range builds {
		c.rows[row(b.X)][i] = 'o'
	}
	for _, signal := range l.Signals {
		if i := signal.At - (c.all - c.shown); i >= 0 {
			c.rows[row(builds[i].X)][i] = '@'
		}
	}
	return c
}

// chartLevel is a line across a chart.
type chartLevel struct {
	at  float64
	ink rune
}

// String is the chart with its key, empty where there is nothing to draw.
func (c lineChart) String() string {
	var b strings.Builder
	if len(c.rows) == 0 {
		return ""
	}
	width := 0
	for _, l := range c.labels {
		width = max(width, text.StringWidth(l))
	}
	for i, row := range c.rows {
		line := fmt.Sprintf("  %s%s |%s", strings.Repeat(" ", width-text.StringWidth(c.labels[i])), c.labels[i], string(row))
		b.WriteString(strings.TrimRight(line, " ") + "\n")
	}
	fmt.Fprintf(&b, "  %s  %s\n", strings.Repeat(" ", width), c.key)
	if c.shown < c.all {
		fmt.Fprintf(&b, "  %s  the newest %d of %d builds\n", strings.Repeat(" ", width), c.shown, c.all)
	}
	return b.String()
}
