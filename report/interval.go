package report

import (
	"github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"
	"github.com/go-echarts/go-echarts/v2/types"

	"trueplait/calibrate"
)

// whisker is one row of a chart of intervals.
type whisker struct {
	name string
	calibrate.Interval
}

// known reports whether there is an interval to draw.
func (w whisker) known() bool { return w.Low <= w.Median && w.Median <= w.High }

// newIntervals begins a chart with one row per whisker, top to bottom: the
// median as a dot, the limits as a bar with ends. compare names the upright line
// at the value at.
func newIntervals(axis, series string, rows []whisker, compare string, at float64) *charts.Scatter {
	names := []string{}
	dots, bars := []opts.ScatterData{}, []opts.CustomData{}
	for i, r := range rows {
		names = append(names, label(r.name))
		dots = append(dots, opts.ScatterData{Name: label(r.name),
			Value: []any{rounded(r.Median, 3), i, rounded(r.Low, 3), rounded(r.High, 3)}})
		bars = append(bars, opts.CustomData{Value: []any{rounded(r.Low, 3), i, rounded(r.High, 3)}})
	}
	c := newScatter(
		opts.XAxis{Type: "value", Name: axis, Scale: opts.Bool(true)},
		opts.YAxis{Type: "category", Data: names, Inverse: opts.Bool(true),
			AxisLabel: &opts.AxisLabel{Width: 190, Overflow: "truncate"},
			SplitLine: &opts.SplitLine{Show: opts.Bool(false)}},
		"intervalTip")
	whiskers := charts.NewCustom()
	whiskers.AddSeries("95 % limits", bars, charts.WithCustomChartOpts(opts.CustomChart{RenderItem: types.FuncStr("whisker")}),
		charts.WithEncodeOpts(opts.Encode{X: []int{0, 2}, Y: 1}), charts.WithItemStyleOpts(opts.ItemStyle{Color: inkAfter}))
	c.Overlap(whiskers)
	// rows run downwards, so a line across them starts at the top
	c.AddSeries(series, dots, points("circle", 9, filled(inkAfter, 1)),
		rules(inkQuiet, "solid", 1.5, "start", []rule{{Name: compare, XAxis: rounded(at, 3)}}))
	return c
}

// intervalsHeight is the height of a chart of n rows, in px.
func intervalsHeight(n int) int { return 92 + 26*n }
