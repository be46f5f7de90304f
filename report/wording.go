package report

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"time"
	"unicode"

	"trueplait/calibrate"
	"trueplait/model"
)

// speech is how a quantity is spoken of: "whips take 6 % less shot".
type speech struct {
	name       string // as a heading
	measured   string // what was weighed or measured
	verb       string // of "whips"
	more, less string
	up, down   string // the same in a table, where the quantity is plain
}

var spoken = map[model.Quantity]speech{
	model.Shot:   {"Shot", "shot used", "take", "more shot", "less shot", "more", "less"},
	model.Body:   {"Body (weight less shot)", "weight less shot", "come out", "heavier without their shot", "lighter without their shot", "heavier", "lighter"},
	model.Weight: {"Weight", "finished weight", "come out", "heavier", "lighter", "heavier", "lighter"},
	model.Length: {"Length", "finished length", "come out", "longer", "shorter", "longer", "shorter"},
	model.Strand: {"Strand", "strand used up", "use up", "more strand", "less strand", "more", "less"},
}

// against is what a factor compares with.
type against struct {
	than, from string
}

var (
	thePlan   = against{"than planned", "from the plan"}
	theMakers = against{"than the makers' average", "from the makers' average"}
)

// compared completes a sentence about whips: "take 6 % less shot than planned
// (between 4 and 8 %)". Where the limits lie on both sides of 1 it takes no
// side.
func compared(q model.Quantity, i calibrate.Interval, with against) string {
	s := spoken[q]
	if !model.Known(i.Low) || !model.Known(i.High) {
		return "have no row to learn from yet"
	}
	decimals := 0
	if i.Width() < 0.012 {
		decimals = 1
	}
	median, low, high := off(i.Median, decimals), off(i.Low, decimals), off(i.High, decimals)
	switch {
	case i.Low >= 1:
		return fmt.Sprintf("%s %s %% %s %s (between %s and %s %%)", s.verb, median, s.more, with.than, low, high)
	case i.High <= 1:
		return fmt.Sprintf("%s %s %% %s %s (between %s and %s %%)", s.verb, median, s.less, with.than, high, low)
	}
	return fmt.Sprintf("show no clear difference %s (between %s %% %s and %s %% %s)", with.from, low, s.less, high, s.more)
}

// off is how far factor f is from 1, in per cent without a sign.
func off(f float64, decimals int) string {
	p := math.Abs(f-1) * 100
	if p < 0.95 {
		decimals = 1
	}
	return strconv.FormatFloat(p, 'f', decimals, 64)
}

// giveOrTake is half the width of an interval in per cent of its median:
// "± 2 %".
func giveOrTake(i calibrate.Interval) string {
	if !model.Known(i.Low) || !model.Known(i.High) {
		return dash + " (no rows)"
	}
	return "± " + off(1+i.Width()/2/i.Median, 0) + " %"
}

// interval prints a factor with its limits: "0.942 (0.918–0.966)".
func interval(i calibrate.Interval) string {
	if !model.Known(i.Low) || !model.Known(i.High) {
		return decimal(i.Median, 3) + " (no limits yet)"
	}
	return fmt.Sprintf("%s (%s–%s)", decimal(i.Median, 3), decimal(i.Low, 3), decimal(i.High, 3))
}

// decimal prints x with a fixed number of decimals, NaN as an en dash.
func decimal(x float64, decimals int) string {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return dash
	}
	return signed(x, decimals)
}

// ratio prints measured/planned as a maker would say it: "0.94", "28".
func ratio(r float64) string {
	switch {
	case math.IsNaN(r) || math.IsInf(r, 0):
		return dash
	case r <= 0: // less than nothing: a weight below its own shot
		return signed(r, 2)
	case r >= 9.95:
		return strconv.FormatFloat(r, 'f', 0, 64)
	case r < 0.1:
		return strconv.FormatFloat(r, 'g', 2, 64)
	}
	return strconv.FormatFloat(r, 'f', 2, 64)
}

// share prints a fraction in per cent: "94 %", "0.4 %".
func share(x float64) string {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return dash
	}
	decimals := 0
	if p := math.Abs(x) * 100; p > 0 && p < 9.95 {
		decimals = 1
	}
	return signed(x*100, decimals) + " %"
}

// counted prints a number of rows of a kind: "40 test fills".
func counted(n int, k model.Kind) string { return fmt.Sprintf("%d %s", n, k.Noun(n)) }

// date prints a day, an en dash where there is none.
func date(t time.Time) string {
	if t.IsZero() {
		return dash
	}
	return t.Format(time.DateOnly)
}

// count prints a number with its noun, which takes an s.
func count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return strconv.Itoa(n) + " " + noun + "s"
}

// series joins words as in a sentence: "a, b and c".
func series(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}

// some joins the first few words and counts the rest: "a, b and 7 more".
func some(words []string, few int) string {
	if len(words) > few+1 {
		words = append(words[:few:few], strconv.Itoa(len(words)-few)+" more")
	}
	return series(words)
}

// label makes a maker's text safe to stand in a line of ours: characters that
// steer a terminal or turn the direction of writing are shown as their code
// (U+202E), and so is what is not valid UTF-8. Blank is an en dash.
func label(s string) string {
	if s == "" {
		return dash
	}
	var b strings.Builder
	for _, r := range s {
		if r == unicode.ReplacementChar || !unicode.IsPrint(r) {
			fmt.Fprintf(&b, "<%U>", r)
			continue
		}
		b.WriteRune(r)
	}
	return b.String()
}

func labels(s []string) []string {
	out := make([]string, len(s))
	for i := range s {
		out[i] = label(s[i])
	}
	return out
}

// rowName names a row: "build D-014", "test fill F003".
func rowName(k model.RowKey) string { return k.Kind.Noun(1) + " " + label(k.ID) }

// capital writes the first letter of a sentence large.
func capital(s string) string {
	for i, r := range s {
		return string(unicode.ToUpper(r)) + s[i+len(string(r)):]
	}
	return s
}

var (
	beforeUnit     = regexp.MustCompile(`(\d) (%|(?:g|mm|oz|in|lb)\b)`)
	beforeFraction = regexp.MustCompile(`(\d) (\d/\d)`)
)

// nbsp is the space that no line is broken at.
const nbsp = "\u00a0"

// whole keeps figures with their fractions and units on one line.
func whole(s string) string {
	s = beforeUnit.ReplaceAllString(s, "${1}"+nbsp+"${2}")
	return beforeFraction.ReplaceAllString(s, "${1}"+nbsp+"${2}")
}

// Label makes text from elsewhere safe to stand in a line of ours: what cannot
// be seen, or would turn the direction of writing, is shown as its code
// (<U+202E>). Blank is an en dash.
func Label(s string) string { return label(s) }

// Whole keeps the figures of a sentence on one line with their units.
func Whole(s string) string { return whole(s) }
