package report

import (
	"io"
	"strconv"

	"trueplait/calibrate"
	"trueplait/model"
)

// ConsistencyJSON writes product lines for programs: % on the ratio scale, g
// or mm as measured, shares as fractions, full precision. The limits of the
// weighted mean are those at the last build.
func ConsistencyJSON(w io.Writer, lines []calibrate.Line) error {
	out := []object{}
	for i := range lines {
		out = append(out, lineJSON(&lines[i]))
	}
	return writeJSON(w, object{{"lines", out}})
}

func lineJSON(l *calibrate.Line) object {
	signals := []object{}
	for _, s := range l.Signals {
		signals = append(signals, object{{"build", s.Build}, {"rule", s.Rule}, {"changed", textOrNull(s.Changed)}})
	}
	c := l.Capability
	if c == nil {
		none := model.Unknown
		c = &calibrate.Capability{Cp: none, Cpk: none, Pp: none, Ppk: none, PpLow: none, PpHigh: none, PpkLow: none, PpkHigh: none, OutsideShare: none}
	}
	return object{{"product", l.Product}, {"quantity", l.Quantity}, {"scale", l.Scale}, {"n", len(l.Builds)},
		{"mean", number(l.Mean)}, {"mr_bar", number(l.MRBar)}, {"upper", number(l.Upper)}, {"lower", number(l.Lower)}, {"mr_upper", number(l.MRUpper)},
		{"signals", signals},
		{"ewma", object{{"upper", number(l.EWMAUpper)}, {"lower", number(l.EWMALower)}, {"signals", listed(l.EWMASignals)}}},
		{"sd_moving_range", number(l.SDMovingRange)}, {"sd_all", number(l.SD)},
		{"cp", number(c.Cp)}, {"cpk", number(c.Cpk)}, {"pp", number(c.Pp)}, {"ppk", number(c.Ppk)},
		{"pp_low", number(c.PpLow)}, {"pp_high", number(c.PpHigh)}, {"ppk_low", number(c.PpkLow)}, {"ppk_high", number(c.PpkHigh)},
		{"outside_share", number(c.OutsideShare)},
		{"tolerance", object{{"coverage", number(l.Tolerance.Coverage)}, {"confidence", number(l.Tolerance.Confidence)},
			{"k", number(l.Tolerance.K)}, {"low", number(l.Tolerance.Low)}, {"high", number(l.Tolerance.High)}}},
		{"normality", object{{"a2", number(l.Normality.A2)}, {"p", number(l.Normality.P)}}},
		{"n_eff", number(l.NEff)}, {"warnings", listed(l.Warnings)}}
}

// textOrNull is a text in JSON, null where it is empty.
func textOrNull(s string) any {
	if s == "" {
		return nil
	}
	return s
}

// ConsistencyTable writes product lines for people: a table of all, then per
// line a sentence, a chart with what stands out marked and worded, and the
// caveats.
func ConsistencyTable(w io.Writer, lines []calibrate.Line, s Style) error {
	p := newPrinter(w, s)
	if len(lines) == 0 {
		p.paragraph("No builds to judge yet. A line shows its scatter from the second finished build on that states planned and measured figures.")
		return p.err
	}
	p.paragraph("Is each product made alike? Builds in order of date; usual is where 3 standard deviations lie from one build to the next.")
	p.grid(linesGrid(lines, one(s.Units)))
	for i := range lines {
		l := &lines[i]
		p.gap()
		p.paragraph(lineWords(l, s.Units))
		p.write(newLineChart(l, s).String())
		const few = 8
		p.items(signalWords(l, few))
		p.items(l.Warnings)
	}
	capable := capabilityGrid(lines)
	if len(capable.Rows) > 0 {
		p.gap()
		p.paragraph("Capability: 1 means that 3 standard deviations just fit between the average and the limit; limits in brackets")
		p.grid(capable)
	}
	return p.err
}

// linesGrid lists every line.
func linesGrid(lines []calibrate.Line, u Units) grid {
	g := grid{Head: []string{"product", "quantity", "builds", "average", "usual", "stand out"}, Figures: 2}
	for i := range lines {
		l := &lines[i]
		g.add(label(l.Product), scaleName(l), strconv.Itoa(len(l.Builds)), lineValue(l, l.Mean, u), lineBand(l, l.Lower, l.Upper, u),
			strconv.Itoa(standOut(l)))
	}
	return g
}

// capabilityGrid lists the capability of every line that has limits.
func capabilityGrid(lines []calibrate.Line) grid {
	g := grid{Head: []string{"product", "quantity", "outside", "Cp", "Cpk", "Pp", "Ppk"}, Figures: 2}
	for i := range lines {
		l := &lines[i]
		c := l.Capability
		if c == nil {
			continue
		}
		g.add(label(l.Product), string(l.Quantity), strconv.Itoa(c.Outside)+" of "+strconv.Itoa(len(l.Builds)),
			decimal(c.Cp, 2), decimal(c.Cpk, 2), bracketed(c.Pp, c.PpLow, c.PpHigh), bracketed(c.Ppk, c.PpkLow, c.PpkHigh))
	}
	return g
}

// bracketed prints a figure with its limits: "1.21 (0.94–1.48)".
func bracketed(x, low, high float64) string {
	if !model.Known(low) || !model.Known(high) {
		return decimal(x, 2)
	}
	return decimal(x, 2) + " (" + decimal(low, 2) + "–" + decimal(high, 2) + ")"
}
