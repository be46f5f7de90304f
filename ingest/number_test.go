package ingest

import (
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// What is read the short way is what strconv makes of it, to the last bit, and
// the short way is open to all usual numbers and to them only.
func TestShortDecimal(t *testing.T) {
	for text, short := range map[string]bool{
		"412": true, "14.5": true, "0": true, "007.50": true, "5.": true, "123456789012345": true, "12345678901234.5": true,
		"": false, ".": false, ".5": false, "1.2.3": false, "1,5": false, "-1": false, "+1": false, "1e3": false, "1 ": false, "8½": false,
		"1234567890123456": false, "123456789012345.6": false, "0x1": false, "1_0": false, "NaN": false,
	} {
		if _, ok := shortDecimal(text); ok != short {
			t.Errorf("shortDecimal(%q): %t, want %t", text, ok, short)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`[0-9]{1,15}`).Draw(t, "digits")
		if at := rapid.IntRange(0, len(text)).Draw(t, "point"); at > 0 {
			text = text[:at] + "." + text[at:]
		}
		got, ok := shortDecimal(text)
		want, err := strconv.ParseFloat(text, 64)
		if err != nil || !ok || got != want {
			t.Fatalf("shortDecimal(%q) = %v, %t, want %v, %v", text, got, ok, want, err)
		}
		long := strings.Repeat("9", 16) + text
		if _, ok := shortDecimal(long); ok {
			t.Fatalf("shortDecimal(%q) is not exact", long)
		}
	})
}
