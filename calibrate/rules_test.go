package calibrate

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// TestRulesPublished compares every series and rule of testdata/control/rules.
func TestRulesPublished(t *testing.T) {
	data := table(t, "control", "rules", "series.csv")
	series := map[string][]float64{}
	for i, name := range data["series"] {
		series[name] = append(series[name], number(t, data["z"][i]))
	}
	want := table(t, "control", "rules", "expected.csv")
	checked := 0
	for i, rule := range want["rule"] {
		var k int
		if _, err := fmt.Sscanf(rule, "nelson_%d", &k); err != nil {
			continue
		}
		checked++
		var at []string
		for _, p := range patterns(series[want["series"][i]], 0, 1) {
			if p.rule == Rules[k-1] {
				at = append(at, fmt.Sprint(p.at+1))
			}
		}
		if got := strings.Join(at, ";"); got != want["signal_at"][i] {
			t.Errorf("%s, %s: signals at %q, want %q", want["series"][i], Rules[k-1], got, want["signal_at"][i])
		}
	}
	if checked != 8*len(series) {
		t.Errorf("%d rules checked, want 8 of each of %d series", checked, len(series))
	}
}

// TestPatternsBegin checks where a pattern is said to have begun.
func TestPatternsBegin(t *testing.T) {
	tests := []struct {
		rule     Rule
		x        []float64
		at, from int
	}{
		{BeyondLimit, []float64{0.1, -3.5}, 1, 1},
		{NineOneSide, []float64{-1, .1, .2, .1, .2, .1, .2, .1, .2, .1}, 9, 1},
		{SixTrending, []float64{1, 0, .1, .2, .3, .4, .5}, 6, 1},
		{FourteenAlternate, []float64{-.3, -.2, .1, -.1, .1, -.1, .1, -.1, .1, -.1, .1, -.1, .1, -.1, .1}, 14, 1},
		{TwoOfThree, []float64{0, 2.5, .1, 2.5}, 3, 1},
		{FourOfFive, []float64{0, 1.5, .1, 1.5, 1.5, 1.5}, 5, 1},
		{FifteenClose, []float64{2, .1, -.1, -.1, .1, .1, .2, .2, -.1, .1, -.1, -.1, .1, .1, .2, .2}, 15, 1},
		{EightOutside, []float64{0, 1.5, -1.5, -1.5, 1.5, 1.5, -1.5, 1.5, -1.5}, 8, 1},
	}
	for _, c := range tests {
		got := patterns(c.x, 0, 1)
		if i := slices.IndexFunc(got, func(p pattern) bool { return p.rule == c.rule }); i < 0 || got[i] != (pattern{c.rule, c.at, c.from}) {
			t.Errorf("%s: %v, want it at %d from %d", c.rule, got, c.at, c.from)
		}
	}
}

// TestPatternsAbsent checks points that lie exactly on a line.
func TestPatternsAbsent(t *testing.T) {
	tests := []struct {
		name string
		x    []float64
	}{
		{"fourteen on the mean", append(slices.Repeat([]float64{0}, 14), 1.5)},
		{"nine on one side but for one on the mean", []float64{.1, 1.2, .2, .4, 0, 1.2, .3, .2, 1.1, .1}},
		{"fifteen on one sigma", slices.Repeat([]float64{1, -1, -1}, 5)},
		{"eight on one sigma", slices.Repeat([]float64{1, 1, -1, -1}, 2)},
		{"five on one sigma", []float64{1, 1, 1, 1, 1}},
		{"three on two sigma", []float64{2, .5, 2}},
		{"six rising but for two alike", []float64{-.5, -.2, .1, .1, .4, .6, .8}},
	}
	for _, c := range tests {
		if got := patterns(c.x, 0, 1); len(got) > 0 {
			t.Errorf("%s: %v, want nothing", c.name, got)
		}
	}
}

// TestPatternsMirror checks that turning a series upside down changes nothing,
// and that a pattern holds its own points.
func TestPatternsMirror(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.SliceOfN(rapid.Float64Range(-4, 4), 1, 60).Draw(t, "x")
		turned := make([]float64, len(x))
		for i := range x {
			turned[i] = -x[i]
		}
		a, b := patterns(x, 0, 1), patterns(turned, 0, 1)
		if !slices.Equal(a, b) {
			t.Errorf("%v: %v, upside down %v", x, a, b)
		}
		for _, p := range a {
			if p.from < 0 || p.from > p.at {
				t.Errorf("%v begins at %d", p, p.from)
			}
		}
	})
}

// TestFalseAlarms checks how often a steady line signals beyond its limits:
// P(|z| > 3) = 0.0027.
func TestFalseAlarms(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 9))
	x := make([]float64, 100_000)
	for i := range x {
		x[i] = r.NormFloat64()
	}
	n := 0
	for _, p := range patterns(x, 0, 1) {
		if p.rule == BeyondLimit {
			n++
		}
	}
	if n < 220 || n > 320 { // 270 ± 3 √270
		t.Errorf("%d of 100000 beyond their limits, want about 270", n)
	}
}
