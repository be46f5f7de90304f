package report

import (
	"encoding/json"
	"html/template"
	"math"
	"slices"

	"github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"
	"github.com/go-echarts/go-echarts/v2/types"

	"trueplait/model"
)

// chart is the ECharts option of one chart and what html/app.js must know to
// draw it. The option is data alone: colours are names of CSS variables
// ("--after") and functions are names that app.js looks up, so that one page
// serves light, dark and paper, and no text of the log is ever run.
type chart struct {
	ID     string
	Height int    // px
	Points int    // drawn; many are drawn on a canvas instead of as SVG
	Unit   string // of the horizontal figures, for the box at the pointer
	Key    []mark
	option map[string]any
}

// mark explains one series above the chart: its name, the drawing of
// html/page.html that looks like it, and its colour. The key is part of the
// page, not of the drawing, so that it wraps on a phone and needs no script.
type mark struct {
	Name, Shape, Ink string
}

// JSON marshals the option for a script element: encoding/json escapes <, >
// and & and the line separators, so no text can end the element.
// (go-echarts' own rendering does not, and runs functions marked in text.)
func (c chart) JSON() (template.JS, error) {
	b, err := json.Marshal(c.option)
	return template.JS(b), err
}

// Renderer is what draws the chart: SVG stays sharp on paper, but thousands
// of its elements are slow.
func (c chart) Renderer() string {
	if c.Points > 2000 {
		return "canvas"
	}
	return "svg"
}

// Names of the colours in html/page.css, after Okabe & Ito (2008).
const (
	inkBefore  = "--before"
	inkAfter   = "--after"
	inkMeasure = "--measure"
	inkQuiet   = "--quiet"
)

// newScatter begins a chart of points; tip names the function of app.js that
// words the box at the pointer.
func newScatter(x opts.XAxis, y opts.YAxis, tip string) *charts.Scatter {
	x.NameLocation, x.NameGap = "middle", 30
	c := charts.NewScatter()
	c.SetGlobalOptions(
		charts.WithAnimation(false),
		charts.WithXAxisOpts(x),
		charts.WithYAxisOpts(y),
		charts.WithLegendOpts(opts.Legend{Show: opts.Bool(false)}),
		charts.WithTooltipOpts(opts.Tooltip{Trigger: "item", Formatter: types.FuncStr(tip)}),
		charts.WithGridOpts(opts.Grid{Left: "12", Right: "24", Top: "34", Bottom: "40", ContainLabel: opts.Bool(true)}),
	)
	return c
}

// finished takes the option out of a chart.
func finished(id string, height, points int, unit string, key []mark, c *charts.Scatter) *chart {
	c.Validate()
	option := c.JSON()
	delete(option, "title")   // the page has it as a heading
	delete(option, "toolbox") // nothing leaves the page
	return &chart{ID: id, Height: height, Points: points, Unit: unit, Key: key, option: option}
}

// points styles a series of points.
func points(symbol string, size int, style opts.ItemStyle) charts.SeriesOpts {
	return charts.WithSeriesOpts(func(s *charts.SingleSeries) {
		s.Symbol, s.SymbolSize, s.ItemStyle = symbol, size, &style
	})
}

// filled and hollow are the insides of points. (The library's own hollow
// symbols are white inside, in the dark too.)
func filled(colour string, opacity float32) opts.ItemStyle {
	return opts.ItemStyle{Color: colour, Opacity: opts.Float(opacity)}
}

func hollow(colour string, opacity float32) opts.ItemStyle {
	return opts.ItemStyle{Color: "transparent", BorderColor: colour, BorderWidth: 1.5, Opacity: opts.Float(opacity)}
}

// columns takes the points of a series from two columns of the data set.
func columns(x, y string) charts.SeriesOpts {
	return charts.WithSeriesOpts(func(s *charts.SingleSeries) {
		s.Data = nil
		s.Encode = &opts.Encode{X: x, Y: y, ItemName: "build"}
	})
}

// stroke styles a line; dash is solid, dashed or dotted.
func stroke(colour, dash string, width float32) charts.SeriesOpts {
	return charts.WithSeriesOpts(func(s *charts.SingleSeries) {
		s.Symbol, s.ShowSymbol = "none", opts.Bool(false)
		s.ItemStyle = &opts.ItemStyle{Color: colour}
		s.LineStyle = &opts.LineStyle{Color: colour, Type: dash, Width: width}
	})
}

// rule is a line across a chart at a value of one axis, with its name.
type rule struct {
	Name  string `json:"name"`
	XAxis any    `json:"xAxis,omitempty"`
	YAxis any    `json:"yAxis,omitempty"`
}

// rules draws lines across the chart of a series; at is where their names
// stand.
func rules(colour, dash string, width float32, at string, lines []rule) charts.SeriesOpts {
	return charts.WithSeriesOpts(func(s *charts.SingleSeries) {
		if len(lines) == 0 {
			return
		}
		s.MarkLines = &opts.MarkLines{MarkLineStyle: opts.MarkLineStyle{
			Symbol:    []string{"none", "none"},
			Label:     &opts.Label{Show: opts.Bool(true), Formatter: "{b}", Position: at, Color: colour},
			LineStyle: &opts.LineStyle{Color: colour, Type: dash, Width: width},
		}}
		for _, l := range lines {
			s.MarkLines.Data = append(s.MarkLines.Data, l)
		}
	})
}

// addZero draws the line where a prediction is exactly right.
func addZero(c *charts.Scatter) {
	c.AddSeries("", nil, points("none", 0, filled(inkQuiet, 1)), rules(inkQuiet, "solid", 1.5, "insideEndTop", []rule{{YAxis: 0}}))
}

// rounded keeps JSON short: charts show no more digits than eyes can see.
func rounded(x float64, decimals int) float64 {
	p := math.Pow(10, float64(decimals))
	return math.Round(x*p) / p
}

// horizontal gives the unit of a quantity's axis and its size in g or mm.
func horizontal(q model.Quantity, u Units) (unit string, per float64) {
	switch {
	case q.Dimension() == model.LengthDimension && u == Imperial:
		return "in", model.MMPerInch
	case q.Dimension() == model.LengthDimension:
		return "mm", 1
	case u == Imperial:
		return "oz", model.GramsPerOunce
	}
	return "g", 1
}

// quantile is the p-quantile of sorted values, interpolated between their
// order statistics (type 7 of Hyndman & Fan 1996, Am Stat 50:361).
func quantile(sorted []float64, p float64) float64 {
	if len(sorted) == 0 {
		return model.Unknown
	}
	at := p * float64(len(sorted)-1)
	i := int(at)
	if i+1 >= len(sorted) {
		return sorted[len(sorted)-1]
	}
	return sorted[i] + (at-float64(i))*(sorted[i+1]-sorted[i])
}

// reach is a round per cent figure that all but the wildest errors stay
// within: a single slip must not flatten everything else.
func reach(errors ...[]float64) float64 {
	var sizes []float64
	for _, list := range errors {
		for _, e := range list {
			sizes = append(sizes, math.Abs(e))
		}
	}
	slices.Sort(sizes)
	need := 1.1 * quantile(sizes, 0.985)
	for _, limit := range []float64{2, 4, 5, 8, 10, 15, 20, 25, 30, 40, 50, 75, 100, 150, 200} {
		if need <= limit {
			return limit
		}
	}
	return 100 * math.Ceil(need/100)
}
