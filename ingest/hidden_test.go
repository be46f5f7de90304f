package ingest

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// TestHidden: a character that cannot be seen is refused in a label and in a
// note, spelled out in the message, and no part of a column's name.
func TestHidden(t *testing.T) {
	for _, c := range []struct {
		text string
		want rune
	}{
		{"di\u202ata", 0x202a}, {"di\u202bta", 0x202b}, {"di\u202cta", 0x202c}, {"di\u202dta", 0x202d}, {"di\u202eta", 0x202e}, // directions
		{"di\u2066ta", 0x2066}, {"di\u2067ta", 0x2067}, {"di\u2068ta", 0x2068}, {"di\u2069ta", 0x2069},
		{"di\u200eta", 0x200e}, {"di\u200fta", 0x200f}, {"di\u061cta", 0x061c},
		{"di\u200bta", 0x200b}, {"di\u2060ta", 0x2060}, {"di\ufeffta", 0xfeff}, {"di\u00adta", 0xad}, // of no width
		{"di\u200cta", 0x200c}, {"di\u200dta", 0x200d}, {"\u200ddita", 0x200d}, {"dita \u200d", 0x200d}, {"di=\u200dta", 0x200d}, {"די\u200d", 0x200d}, {"革\u200d紐", 0x200d}, {"di\u0331\u200dta", 0x200d}, // joiners that join nothing
		{"می\u200c\u200cخواهم", 0x200c}, {"❤\ufe0f\ufe0f", 0xfe0f},
		{"dita\ufe0f", 0xfe0f}, {"д\ufe0f", 0xfe0f}, {"1\ufe0e", 0xfe0e}, {"dita\U000e0100", 0xe0100},
		{"dita\u034f", 0x34f}, {"dita\u115f", 0x115f}, {"dita\u1160", 0x1160}, {"dita\u3164", 0x3164}, {"dita\uffa0", 0xffa0}, {"dita\u17b5", 0x17b5}, // letters and marks drawn as nothing
		{"dita\u2800", 0x2800},
		{"dita\U000e0041", 0xe0041}, {"di\U0001d173ta", 0x1d173}, {"di\ufff9ta", 0xfff9}, {"di\ue000ta", 0xe000},
		{"di\x00ta", 0}, {"di\x07ta", 7}, {"di\x1b[31mta", 0x1b}, {"di\u0085ta", 0x85}, {"di\u2028ta", 0x2028}, {"di\u2029ta", 0x2029},
	} {
		for _, column := range []string{"maker", "note"} {
			want := fmt.Sprintf("holds the invisible character %U: delete it", c.want)
			got := lines(t, "build,date,product,weight_g,"+otherColumn(column)+","+column+"\nB1,2024-03-31,bull,412,x,"+quoted(c.text)+"\n", Options{})
			if len(got) != 1 || !strings.HasPrefix(got[0], "x.csv:2: "+column+": ") || !strings.HasSuffix(got[0], want) {
				t.Errorf("%s %q: got %q, want %q", column, c.text, got, want)
			}
			for _, line := range got {
				mustBeVisible(t, errors.New(line))
			}
		}
		header := strings.Replace(c.text, "di", "weight", 1)
		for _, ignore := range []bool{false, true} {
			_, err := NewReader(strings.NewReader("build,date,maker,product,weight_g,"+quoted(header)+"\n"), "x.csv", Options{IgnoreUnknown: ignore})
			if ignore != (err == nil) {
				t.Errorf("the header %q, ignored %t: got %v", header, ignore, err)
			}
			if err != nil {
				mustBeVisible(t, err)
			}
		}
	}
}

func otherColumn(column string) string {
	if column == "maker" {
		return "note"
	}
	return "maker"
}

// TestJoined: characters that only change how others are drawn are kept where
// they do.
func TestJoined(t *testing.T) {
	for _, text := range []string{
		"می\u200cخواهم", "क्\u200dष", "ශ්\u200dරී", // joiners in Persian, Hindi, Sinhala
		"👩\u200d🔧", "❤\ufe0f\u200d🔥", "👩🏽\u200d🔧", "✂\ufe0f dita", "™\ufe0e",
		"葛\U000e0100", "ᠠ\u180b",
		"dita\u00a0kay", "革\u3000紐", // spaces, if not the usual one
		"Việt", "שָׁלוֹם", strings.Repeat("e\u0301", 50),
	} {
		if got, err := cleanText(text, false); err != nil || got == "" {
			t.Errorf("cleanText(%q) = %q, %v", text, got, err)
		}
	}
	if _, err := cleanText("e"+strings.Repeat("\u0301", 11), true); err == nil || err.Error() != "stacks more than 10 marks on one character: delete them" {
		t.Errorf("eleven accents: got %v", err)
	}
}

// TestCleanIsKept: what is clean stays as it is, however often it goes
// through, and holds nothing hidden that stands where it shows nothing.
func TestCleanIsKept(t *testing.T) {
	piece := rapid.OneOf(
		rapid.SampledFrom([]string{"a", "क", "می", "❤", "1", "\u200c", "\u200d", "\ufe0f", "\u0301", "\u0331", "\u094d", "\u115f", "\u2800", "\U000e0100", "葛", " ", "\n"}),
		rapid.String())
	rapid.Check(t, func(t *rapid.T) {
		given := strings.Join(rapid.SliceOfN(piece, 1, 40).Draw(t, "pieces"), "")
		clean, err := cleanText(given, true)
		if err != nil {
			return
		}
		if again, err := cleanText(clean, true); err != nil || again != clean {
			t.Fatalf("cleanText(%q) = %q, and of that %q, %v", given, clean, again, err)
		}
		runes := []rune(clean)
		for i, r := range runes {
			if joins(r) && (i == 0 || slices.Contains([]rune("a1 \n\u200c\u200d"), runes[i-1])) {
				t.Fatalf("cleanText(%q) = %q keeps %U, which shows nothing", given, clean, r)
			}
		}
	})
}

// TestHiddenFileName: a message shows what the name of a file hides, and
// leaves other names as they were given.
func TestHiddenFileName(t *testing.T) {
	for given, want := range map[string]string{
		`C:\logs\mai.csv`:            `C:\logs\mai.csv`,
		"lögs 2024.csv":              "lögs 2024.csv",
		"a\u202evsc.exe":             `a\u202evsc.exe`,
		"a\x1b[2J.csv":               `a\x1b[2J.csv`,
		"a\nb.csv:1: all good\\\xff": `a\nb.csv:1: all good\\\xff`,
	} {
		_, err := NewReader(strings.NewReader(""), given, Options{})
		if message := "the file is empty: its first line must name the columns"; err == nil || err.Error() != want+":1: "+message {
			t.Errorf("the file %q: got %v, want %s:1: %s", given, err, want, message)
		}
	}
}
