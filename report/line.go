package report

import (
	"fmt"
	"strings"

	"trueplait/calibrate"
	"trueplait/model"
)

// lineName names a line: "8 ft bull, weight against the plan".
func lineName(l *calibrate.Line) string { return label(l.Product) + ", " + scaleName(l) }

// scaleName says what a line is judged on.
func scaleName(l *calibrate.Line) string {
	if l.Scale == calibrate.RatioScale {
		return string(l.Quantity) + " against the plan"
	}
	return string(l.Quantity)
}

// lineValue prints a figure of a line: "98.3 %", "411 g (14 1/2 oz)".
func lineValue(l *calibrate.Line, x float64, u Units) string {
	if l.Scale == calibrate.RatioScale {
		if !model.Known(x) {
			return dash
		}
		return signed(x, 1) + " %"
	}
	return size(l.Quantity, x, u)
}

// lineBand prints two limits of a line in the first of the units shown.
func lineBand(l *calibrate.Line, low, high float64, u Units) string {
	if l.Scale == calibrate.MeasuredScale {
		return band(l.Quantity, low, high, u)
	}
	if !model.Known(low) || !model.Known(high) {
		return dash
	}
	return signed(low, 1) + "–" + signed(high, 1) + " %"
}

// standOut counts the builds at which a pattern is complete.
func standOut(l *calibrate.Line) int {
	n, last := 0, -1
	for _, s := range l.Signals {
		if s.At != last {
			n++
		}
		last = s.At
	}
	return n
}

// lineWords is the headline of a line.
func lineWords(l *calibrate.Line, u Units) string {
	n := len(l.Builds)
	average := lineValue(l, l.Mean, u)
	if l.Scale == calibrate.RatioScale {
		average += " of the plan"
	}
	out := capital(lineName(l)) + ": "
	switch {
	case n == 1:
		out += "one build so far, " + average + "."
	case !(l.SD > 0):
		out += fmt.Sprintf("%s, all alike at %s.", counted(n, model.Builds), average)
	case len(l.Signals) == 0:
		out += fmt.Sprintf("steady over %s, %s on average. The next one usually lies between %s and %s.",
			counted(n, model.Builds), average, lineValue(l, l.Lower, u), lineValue(l, l.Upper, u))
	default:
		first := l.Signals[0]
		out += fmt.Sprintf("not steady. %d of %s stand out, first %s (%s). It is %s on average; a steady line would stay between %s and %s.",
			standOut(l), counted(n, model.Builds), label(first.Build), first.Rule, average, lineValue(l, l.Lower, u), lineValue(l, l.Upper, u))
	}
	if words := capabilityWords(l, u); words != "" {
		out += " " + words
	}
	return out + toleranceWords(l, u)
}

// LineSentence says in one sentence how a line runs: "weight: 98.3 % of the
// plan on average, usually 94.1–102.5 %; 2 of 28 builds stand out".
func LineSentence(l *calibrate.Line, u Units) string {
	average := lineValue(l, l.Mean, u)
	if l.Scale == calibrate.RatioScale {
		average += " of the plan"
	}
	out := string(l.Quantity) + ": " + average
	switch n := len(l.Builds); {
	case n == 1:
		return out + ", from one build"
	case !(l.SD > 0):
		return out + fmt.Sprintf(", all %s alike", counted(n, model.Builds))
	case len(l.Signals) == 0:
		return out + fmt.Sprintf(" on average, usually %s; none of %s stands out", lineBand(l, l.Lower, l.Upper, u), counted(n, model.Builds))
	default:
		return out + fmt.Sprintf(" on average, usually %s; %d of %s stand out", lineBand(l, l.Lower, l.Upper, u), standOut(l), counted(n, model.Builds))
	}
}

// Thresholds of Ppk: 1 is where 3 standard deviations just fit, 4/3 leaves
// one more (common practice, no source).
const (
	justFits = 1.0
	fitsWell = 4.0 / 3
)

// capabilityWords says how a line fits today's promise; "" without one.
func capabilityWords(l *calibrate.Line, u Units) string {
	c := l.Capability
	if c == nil {
		return ""
	}
	out := "All are inside " + promisedWords(l, u) + "."
	switch n := len(l.Builds); {
	case c.Outside == n && n > 1:
		out = "None is inside " + promisedWords(l, u) + "."
	case c.Outside == 1:
		out = "One is outside " + promisedWords(l, u) + "."
	case c.Outside > 0:
		out = fmt.Sprintf("%d (%s) are outside %s.", c.Outside, share(c.OutsideShare), promisedWords(l, u))
	case n == 1:
		out = "It is inside " + promisedWords(l, u) + "."
	}
	if !model.Known(c.Ppk) {
		return out
	}
	figure := fmt.Sprintf("(Ppk %s, with limits of %s to %s)", decimal(c.Ppk, 2), decimal(c.PpkLow, 2), decimal(c.PpkHigh, 2))
	expected := shareWords(c.ExpectedShare)
	switch {
	case c.Ppk < justFits:
		out += fmt.Sprintf(" The scatter does not fit %s: expect %s outside.", figure, expected)
	case c.Ppk < fitsWell:
		out += fmt.Sprintf(" The scatter just fits %s: expect %s outside.", figure, expected)
	default:
		out += fmt.Sprintf(" The scatter fits with room to spare %s.", figure)
	}
	if c.Ppk >= justFits && c.PpkLow < justFits {
		out += " So few builds leave that open."
	}
	return out
}

// shareWords prints an expected share, without digits that mean nothing.
func shareWords(x float64) string {
	if x < 0.001 {
		return "fewer than 1 in 1000"
	}
	return "about " + share(x)
}

// promisedWords names the limits of a line.
func promisedWords(l *calibrate.Line, u Units) string {
	c := l.Capability
	switch {
	case !model.Known(c.High):
		return "today's promise of at least " + size(l.Quantity, c.Low, u)
	case !model.Known(c.Low):
		return "today's promise of at most " + size(l.Quantity, c.High, u)
	}
	return "today's promise of " + size(l.Quantity, c.Low, u) + " to " + size(l.Quantity, c.High, u)
}

// toleranceWords says what could safely be promised of the line as measured.
func toleranceWords(l *calibrate.Line, u Units) string {
	t := l.Tolerance
	if l.Scale != calibrate.MeasuredScale || !model.Known(t.Low) {
		return ""
	}
	verb := "weigh"
	if l.Quantity.Dimension() == model.LengthDimension {
		verb = "measure"
	}
	whips := share(t.Coverage) + " of such whips"
	if l.Quantity == model.Shot {
		whips, verb = "the shot of "+whips, "weighs"
	}
	what := lineBoundWords(l, u)
	if what == "" {
		what = size(l.Quantity, t.Low, u) + " to " + size(l.Quantity, t.High, u)
	}
	return fmt.Sprintf(" With %s confidence, %s %s %s.", share(t.Confidence), whips, verb, what)
}

// lineBoundWords is the one-sided tolerance limit of a line with one limit; ""
// for any other.
func lineBoundWords(l *calibrate.Line, u Units) string {
	c := l.Capability
	switch {
	case c == nil || !model.Known(c.Bound):
		return ""
	case model.Known(c.Low):
		return "at least " + size(l.Quantity, c.Bound, u)
	}
	return "at most " + size(l.Quantity, c.Bound, u)
}

// episode is one pattern, from the build that completes it to the last at
// which it still goes on.
type episode struct {
	first, last calibrate.Signal
}

// episodes joins the signals of patterns that go on, in order of their first
// build.
func episodes(l *calibrate.Line) []episode {
	var out []episode
	open := map[calibrate.Rule]int{}
	for _, s := range l.Signals {
		i, ok := open[s.Rule]
		goesOn := ok && out[i].last.At == s.At-1
		if s.Rule == calibrate.BeyondLimit && s.Changed != "" {
			goesOn = false // each is a pattern of its own, and has its own cause
		}
		if goesOn {
			out[i].last = s
			continue
		}
		open[s.Rule] = len(out)
		out = append(out, episode{s, s})
	}
	return out
}

// String is the episode in words: "B-020 to B-023: nine on one side; new core
// batch C2 from B-012 on".
func (e episode) String() string {
	out := label(e.first.Build)
	if e.last.At > e.first.At {
		out += " to " + label(e.last.Build)
	}
	out += ": " + string(e.first.Rule)
	if e.first.Changed != "" {
		out += "; " + label(e.first.Changed)
	}
	return out
}

// signalWords words what stands out in a line, at most few patterns one by
// one.
func signalWords(l *calibrate.Line, few int) []string {
	all := episodes(l)
	var out []string
	for _, e := range all[:min(len(all), few)] {
		out = append(out, e.String())
	}
	if len(all) > few {
		out = append(out, "and "+count(len(all)-few, "pattern")+" more")
	}
	if n := len(l.EWMASignals); n > 0 {
		out = append(out, "the weighted mean of the newest builds has moved too far at "+some(labels(l.EWMASignals), 4))
	}
	return out
}

// rulesAt joins the rules that are complete at one build.
func rulesAt(l *calibrate.Line, at int) string {
	var words []string
	for _, s := range l.Signals {
		if s.At == at {
			words = append(words, string(s.Rule))
		}
	}
	return strings.Join(words, ", ")
}
