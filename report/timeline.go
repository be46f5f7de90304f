package report

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"time"

	"github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"

	"trueplait/calibrate"
	"trueplait/model"
)

// SavedMark is a saved calibration on the time axis.
type SavedMark struct {
	Number  int
	Through time.Time // the last row it knew
}

// mostMarks is how many saved calibrations a time axis has room for.
const mostMarks = 12

// timelineFigure shows how the errors went over time.
func timelineFigure(q *calibrate.QuantityProof, marks []SavedMark) figure {
	f := figure{ID: "time-" + string(q.Quantity), Title: spoken[q.Quantity].name + ": error over time"}
	var builds []calibrate.Scored
	for _, b := range scored(q) {
		if !b.Date.IsZero() {
			builds = append(builds, b)
		}
	}
	if len(builds) < 2 {
		f.Reading = "A line over time needs at least two builds that could be predicted."
		return f
	}
	before, after := errorsOf(builds, calibrate.Planner), errorsOf(builds, calibrate.Calibrated)
	f.Reading = timelineReading(builds, before, after)
	// a tenth of them, but not so few that the line shakes
	window := min(len(builds), max(7, len(builds)/10))
	f.Reading += lateWords(after[len(after)-window:])

	drawn, k := thinned(builds, mostBuilds)
	edge := reach(before, after)
	at := func(b calibrate.Scored) any { return date(b.Date) }
	rows, beyond := errorRows(drawn, "date", edge, at)
	c := newScatter(
		opts.XAxis{Type: "time", Name: "date finished"},
		opts.YAxis{Type: "value", Name: "predicted is too high (+) or too low (−), %", Min: -edge, Max: edge},
		"errorTip")
	c.AddDataset(opts.Dataset{Source: rows})
	addZero(c)
	c.AddSeries("plan alone", nil, columns("date", "before"), points("circle", 5, hollow(inkBefore, 0.5)))
	c.AddSeries("calibrated", nil, columns("date", "after"), points("triangle", 5, filled(inkAfter, 0.5)),
		rules(inkMeasure, "dotted", 2, "insideEndTop", markRules(marks)))

	lowest, highest := bandErrors(builds)
	lines := charts.NewLine()
	lines.AddSeries("plan alone, median", running(builds, before, window), stroke(inkBefore, "dashed", 2.5))
	lines.AddSeries("calibrated, median", running(builds, after, window), stroke(inkAfter, "solid", 2.5))
	lines.AddSeries("95 % band", running(builds, highest, window), stroke(inkAfter, "dotted", 2))
	lines.AddSeries("95 % band", running(builds, lowest, window), stroke(inkAfter, "dotted", 2))
	c.Overlap(lines)
	key := []mark{{"plan alone", "circle", "before"}, {"its median", "dashed", "before"}, {"calibrated", "triangle", "after"},
		{"its median", "solid", "after"}, {"its 95 % band", "dotted", "after"}}
	if len(beyond) > 0 {
		c.AddSeries(offChart, onEdge(beyond, edge, at), points("arrow", 10, filled(inkMeasure, 1)))
		key = append(key, mark{offChart, "arrow", "measure"})
	}
	if len(marks) > 0 {
		key = append(key, mark{"calibration saved", "upright", "measure"})
	}
	f.Chart = finished(f.ID, 320, 2*len(drawn), "", key, c)
	f.Caption = fmt.Sprintf("n = %d builds. Thick lines: the median of %d neighbouring builds. Dotted lines: the band that was given a chance of 95 %% beforehand, likewise.",
		len(builds), window) + markWords(marks) + beyondWords(beyond) + thinnedWords(len(builds), k)
	f.Fold, f.Table = quarterGrid(builds, before, after)
	return f
}

// bandErrors are the errors a prediction would have made had the build come
// out on a limit of its band.
func bandErrors(builds []calibrate.Scored) (low, high []float64) {
	for _, b := range builds {
		p := b.Predicted[calibrate.Calibrated]
		low = append(low, (p/b.High-1)*100)
		high = append(high, (p/b.Low-1)*100)
	}
	return low, high
}

// running is the median of each window of neighbouring values, at the middle
// build's date; at most 80 of them, evenly along the log.
func running(builds []calibrate.Scored, values []float64, window int) []opts.LineData {
	var out []opts.LineData
	last := len(values) - window
	step := max(1, (last+79)/80)
	for i := last % step; i <= last; i += step {
		near := slices.DeleteFunc(slices.Clone(values[i:i+window]), math.IsNaN)
		if len(near) == 0 {
			continue
		}
		slices.Sort(near)
		out = append(out, opts.LineData{Value: []any{date(builds[i+window/2].Date), rounded(quantile(near, 0.5), 2)}})
	}
	return out
}

func markRules(marks []SavedMark) []rule {
	var out []rule
	for _, m := range marks[max(0, len(marks)-mostMarks):] {
		if !m.Through.IsZero() {
			out = append(out, rule{Name: "no. " + strconv.Itoa(m.Number), XAxis: date(m.Through)})
		}
	}
	return out
}

func markWords(marks []SavedMark) string {
	switch {
	case len(marks) == 0:
		return " No calibration has been saved yet; a saved one would be marked."
	case len(marks) > mostMarks:
		return fmt.Sprintf(" Upright lines: the newest %d of %d saved calibrations, at the last row each knew.", mostMarks, len(marks))
	}
	return " Upright lines: saved calibrations, at the last row each knew."
}

// timelineReading compares the first and the last third of the builds.
func timelineReading(builds []calibrate.Scored, before, after []float64) string {
	n := max(1, len(builds)/3)
	first, last := mean(after[:n]), mean(after[len(after)-n:])
	out := fmt.Sprintf("In the newest third of these builds (since %s) the plan alone was off by %s on average and the calibrated plan by %s.",
		date(builds[len(builds)-n].Date), share(mean(before[len(before)-n:])/100), share(last/100))
	switch {
	case last < 0.85*first:
		out += fmt.Sprintf(" In the oldest third the calibrated plan was still off by %s: it has learnt.", share(first/100))
	case last > 1.15*first:
		out += fmt.Sprintf(" In the oldest third the calibrated plan was off by only %s: something may have changed since.", share(first/100))
	}
	return out
}

// lateWords points out that the newest errors lean to one side by more than
// chance does: over three standard deviations of a fair coin, n/2 + 3 √n/2.
func lateWords(newest []float64) string {
	high := 0
	for _, e := range newest {
		if e > 0 {
			high++
		}
	}
	n := float64(len(newest))
	chance := n/2 + 1.5*math.Sqrt(n)
	low := len(newest) - high
	switch {
	case float64(high) > chance:
		return fmt.Sprintf(" Of the newest %d builds %d were predicted too high: something may have changed lately.", len(newest), high)
	case float64(low) > chance:
		return fmt.Sprintf(" Of the newest %d builds %d were predicted too low: something may have changed lately.", len(newest), low)
	}
	return ""
}

// mean is the mean size of errors, without their sign.
func mean(errors []float64) float64 {
	sum := 0.0
	for _, e := range errors {
		sum += math.Abs(e)
	}
	return sum / float64(len(errors))
}

// quarterGrid sums up errors per quarter of a year.
func quarterGrid(builds []calibrate.Scored, before, after []float64) (string, grid) {
	g := grid{Head: []string{"quarter", "builds", "plan alone, average miss", "calibrated, average miss", "inside the 95 % band"}, Figures: 1}
	for i := 0; i < len(builds); {
		quarter := quarterOf(builds[i].Date)
		j, inside, banded := i, 0, 0
		for ; j < len(builds) && quarterOf(builds[j].Date) == quarter; j++ {
			if b := builds[j]; model.Known(b.Low) && model.Known(b.High) {
				banded++
				if b.Low <= b.Measured && b.Measured <= b.High {
					inside++
				}
			}
		}
		held := dash
		if banded > 0 {
			held = fmt.Sprintf("%d of %d", inside, banded)
		}
		g.add(quarter, strconv.Itoa(j-i), share(mean(before[i:j])/100), share(mean(after[i:j])/100), held)
		i = j
	}
	if n := len(g.Rows); n > mostQuarter {
		g.Rows = g.Rows[n-mostQuarter:]
		return fmt.Sprintf("Table: the newest %d of %d quarters", mostQuarter, n), g
	}
	return "Table: quarter by quarter", g
}

func quarterOf(t time.Time) string {
	return fmt.Sprintf("%d, %s", t.Year(), [4]string{"Jan–Mar", "Apr–Jun", "Jul–Sep", "Oct–Dec"}[(int(t.Month())-1)/3])
}
