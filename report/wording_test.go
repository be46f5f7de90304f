package report

import (
	"math"
	"strings"
	"testing"

	"trueplait/calibrate"
	"trueplait/model"
)

func TestCompared(t *testing.T) {
	nan := math.NaN()
	tests := []struct {
		q    model.Quantity
		i    calibrate.Interval
		with against
		want string
	}{
		{model.Shot, calibrate.Interval{Median: 0.94, Low: 0.92, High: 0.96}, thePlan, "take 6 % less shot than planned (between 4 and 8 %)"},
		{model.Weight, calibrate.Interval{Median: 1.03, Low: 1.003, High: 1.06}, thePlan, "come out 3 % heavier than planned (between 0.3 and 6 %)"},
		{model.Length, calibrate.Interval{Median: 1.012, Low: 1.010, High: 1.014}, theMakers, "come out 1.2 % longer than the makers' average (between 1.0 and 1.4 %)"},
		{model.Strand, calibrate.Interval{Median: 1.01, Low: 0.98, High: 1.04}, thePlan, "show no clear difference from the plan (between 2 % less strand and 4 % more strand)"},
		{model.Body, calibrate.Interval{Median: 1, Low: nan, High: nan}, thePlan, "have no row to learn from yet"},
	}
	for _, c := range tests {
		if got := compared(c.q, c.i, c.with); got != c.want {
			t.Errorf("compared(%s, %v) = %q, want %q", c.q, c.i, got, c.want)
		}
	}
}

func TestLabelShowsWhatSteers(t *testing.T) {
	tests := []struct{ in, want string }{
		{"", "–"},
		{"Núria ½", "Núria ½"},
		{"麻 9", "麻 9"},
		{"\x1b[31mred", "<U+001B>[31mred"},
		{"a\u202eb", "a<U+202E>b"},
		{"a\nb", "a<U+000A>b"},
		{"a\xffb", "a<U+FFFD>b"},
	}
	for _, c := range tests {
		if got := label(c.in); got != c.want {
			t.Errorf("label(%q) = %q, want %q", c.in, got, c.want)
		}
	}
}

func TestSeries(t *testing.T) {
	words := strings.Fields("a b c d e")
	for n, want := range []string{"", "a", "a and b", "a, b and c", "a, b, c and d"} {
		if got := series(words[:n]); got != want {
			t.Errorf("series(%v) = %q, want %q", words[:n], got, want)
		}
	}
	if got, want := some(words, 2), "a, b and 3 more"; got != want {
		t.Errorf("some = %q, want %q", got, want)
	}
	if got, want := some(words, 4), "a, b, c, d and e"; got != want {
		t.Errorf("some = %q, want %q: one more is no longer than its name", got, want)
	}
}

func TestWhole(t *testing.T) {
	const in = "411 g (14 1/2 oz), 6 % less in 3 inches of 2 batches"
	const want = "411\u00a0g (14\u00a01/2\u00a0oz), 6\u00a0% less in 3 inches of 2 batches"
	if got := whole(in); got != want {
		t.Errorf("whole(%q) = %q, want %q", in, got, want)
	}
}
