package ingest

import (
	"errors"
	"strings"
	"testing"

	"golang.org/x/text/unicode/norm"
	"pgregory.net/rapid"
)

func TestCleanText(t *testing.T) {
	for _, c := range []struct {
		text  string
		lines bool
		want  string
	}{
		{"dita", false, "dita"},
		{"  dita ", false, "dita"},
		{"\u00a0dita\u3000", false, "dita"},
		{"e\u0301va", false, "éva"},
		{"8 ft bull, 12 plait", false, "8 ft bull, 12 plait"},
		{"革紐 №3 🪢", false, "革紐 №3 🪢"},
		{"می\u200cخواهم", false, "می\u200cخواهم"}, // a joiner is part of the word
		{"👩\u200d🔧", false, "👩\u200d🔧"},
		{"New", false, "New"},
		{"one\r\ntwo\rthree\tfour", true, "one\ntwo\nthree\tfour"},
		{"'=1+1", false, "=1+1"},
		{"'+1", false, "+1"},
		{"'-1", false, "-1"},
		{"'@x", false, "@x"},
		{"''=x", false, "'=x"},
		{"''", false, "'"},
		{"'", false, "'"},
		{"'tis", false, "'tis"},
		{"=1+1", false, "=1+1"},
		{"'\tx", true, "x"},
		{"'＝1＋1", false, "＝1＋1"},
		{"'＠x", false, "＠x"},
		{"'é", false, "'é"},
	} {
		got, err := cleanText(c.text, c.lines)
		if err != nil || got != c.want {
			t.Errorf("cleanText(%q) = %q, %v, want %q", c.text, got, err, c.want)
		}
	}
}

func TestRefusedText(t *testing.T) {
	for _, c := range []struct {
		text  string
		lines bool
		want  string
	}{
		{"a\x00b", true, "holds the invisible character U+0000: delete it"},
		{"a\x1bb", true, "holds the invisible character U+001B: delete it"},
		{"a\x7fb", true, "holds the invisible character U+007F: delete it"},
		{"a\u202eb", true, "holds the invisible character U+202E: delete it"},
		{"a\u2066b", false, "holds the invisible character U+2066: delete it"},
		{"a\u200bb", false, "holds the invisible character U+200B: delete it"},
		{"a\ufeffb", false, "holds the invisible character U+FEFF: delete it"},
		{"a\u2028b", true, "holds the invisible character U+2028: delete it"},
		{"a\nb", false, "holds a line break or tab: keep it on one line"},
		{"a\tb", false, "holds a line break or tab: keep it on one line"},
		{"a\rb", false, "holds the invisible character U+000D: delete it"},
		{"a\xe9b", true, `is not UTF-8: save the file as "CSV UTF-8"`},
	} {
		got, err := cleanText(c.text, c.lines)
		if err == nil || err.Error() != c.want || !errors.Is(err, ErrText) {
			t.Errorf("cleanText(%q) = %q, %v, want %v", c.text, got, err, c.want)
		}
	}
}

// hostile draws text that spreadsheets, CSV readers and terminals trip over.
func hostile() *rapid.Generator[string] {
	piece := rapid.OneOf(
		rapid.SampledFrom([]string{"=", "+", "-", "@", "\t", "'", "''", `"`, ",", ";", "\n", "\r\n", "\r", " ", "\u00a0", "e\u0301",
			"\u0338", "\u202e", "\u200d", "＝", "＋1", "－", "＠", "\u3164", "\u2066", "❤\ufe0f", "त\u0301", "new", "<script>", "{{", "__f__", "NaN", "0x1F", "\x00", "\\", "`", "%"}),
		rapid.String(),
	)
	return rapid.Custom(func(t *rapid.T) string {
		return strings.Join(rapid.SliceOfN(piece, 0, 5).Draw(t, "pieces"), "")
	})
}

// TestEscapeRoundTrip: text that is clean is read back as it was written, and
// never starts a formula in the file.
func TestEscapeRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text, err := cleanText(hostile().Draw(t, "text"), true)
		if err != nil {
			t.Skip()
		}
		written := escape(text)
		if strings.ContainsAny(firstRune(written), "=+-@\t\r\n＝＋－＠") {
			t.Fatalf("escape(%q) = %q, which a spreadsheet may run", text, written)
		}
		if got, err := cleanText(written, true); err != nil || got != text {
			t.Fatalf("cleanText(escape(%q)) = %q, %v", text, got, err)
		}
		if !norm.NFC.IsNormalString(text) || strings.TrimSpace(text) != text {
			t.Fatalf("cleanText gave %q, which is not clean", text)
		}
	})
}

func firstRune(text string) string {
	for _, r := range text {
		return string(r)
	}
	return ""
}

func TestQuote(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"", `""`},
		{"12 g", `"12 g"`},
		{`6' 2"`, `"6' 2""`},
		{"a\u202eb\x1b[31m\n", `"a\u202eb\x1b[31m\n"`},
		{"\xff", `"\xff"`},
		{`a\"b`, `"a\\"b"`},
		{strings.Repeat("é", 60), `"` + strings.Repeat("é", 40) + `…"`},
		{strings.Repeat("a", 79) + "é and so on", `"` + strings.Repeat("a", 79) + `…"`},
	} {
		if got := quote(c.text); got != c.want {
			t.Errorf("quote(%q) = %s, want %s", c.text, got, c.want)
		}
	}
}
