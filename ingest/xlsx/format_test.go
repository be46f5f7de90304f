package xlsx

import (
	"math"
	"strconv"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"
)

func TestFormatOf(t *testing.T) {
	for _, c := range []struct {
		code string
		want format
	}{
		{"General", plain}, {"", plain}, {"0.00", plain}, {"# ?/?", plain}, {"0.00E+00", plain}, {`#,##0.0" g"`, plain},
		{`0 "days"`, plain}, {`0\d`, plain}, {"[Red]0", plain}, {"_-* #,##0.00_-;-* #,##0.00_-", plain}, {"@", plain},
		{`0_d;yyyy`, plain}, {`"unclosed yyyy`, plain}, {`0\`, plain}, {"[Red", plain},
		{"0%", percent}, {"0.0%;[Red]-0.0%", percent}, {`0"%"`, plain},
		{"yyyy-mm-dd", date}, {"dd/mm/yyyy;@", date}, {"[$-409]d-mmm-yy", date}, {"M/D/YY", date}, {"h:mm AM/PM", date}, {`yyyy"%"`, date},
	} {
		if got := formatOf(c.code); got != c.want {
			t.Errorf("formatOf(%q) = %v, want %v", c.code, got, c.want)
		}
	}
}

func TestBuiltIn(t *testing.T) {
	for id, want := range map[int]format{0: plain, 1: plain, 9: percent, 10: percent, 11: plain, 12: plain, 13: plain,
		14: date, 22: date, 30: date, 37: plain, 44: plain, 45: date, 47: date, 48: plain, 49: plain, 57: date, 59: plain, -1: plain} {
		if got := builtIn(id); got != want {
			t.Errorf("builtIn(%d) = %v, want %v", id, got, want)
		}
	}
}

func TestNumber(t *testing.T) {
	for _, c := range []struct {
		form         format
		stored, want string
	}{
		{plain, "412", "412"}, {plain, "7.0", "7"}, {plain, "0.30000000000000004", "0.30000000000000004"}, {plain, "1.4500000000000000E1", "14.5"},
		{plain, "-1e-7", "-0.0000001"}, {plain, "1E+21", "1000000000000000000000"},
		{plain, "x", ""}, {plain, "NaN", ""}, {plain, "-Inf", ""}, {plain, "1e999", ""}, {plain, "", ""}, {plain, "0x1p4", ""}, {plain, "1_000", ""},
		{percent, "0.07", "7%"}, {percent, "0.45", "45%"}, {percent, "4.4999999999999998E-2", "4.5%"}, {percent, "1e307", ""}, {percent, "x", ""},
	} {
		if got, ok := c.form.number(c.stored); got != c.want || ok != (c.want != "") {
			t.Errorf("number(%q) = %q, %v, want %q", c.stored, got, ok, c.want)
		}
	}
}

// TestDay: the first rows are days that ECMA-376 Part 1, 18.17.4.1 to 18.17.4.3,
// and the published behaviour of spreadsheets agree on.
func TestDay(t *testing.T) {
	for _, c := range []struct {
		serial   float64
		date1904 bool
		want     string
	}{
		{1, false, "1900-01-01"}, {59, false, "1900-02-28"}, {61, false, "1900-03-01"}, {2958465, false, "9999-12-31"},
		{0, true, "1904-01-01"}, {1, true, "1904-01-02"}, {2957003, true, "9999-12-31"},
		{45382, false, "2024-03-31"}, {45382 - 1462, true, "2024-03-31"},
		{45382.4375, false, "2024-03-31 10:30"}, {45382 + 1./86400, false, "2024-03-31 00:00:01"}, {0.4375, false, "10:30"},
		{45382 + 0.4/86400, false, "2024-03-31"}, {45382.999999, false, "2024-04-01"},
		{0, false, ""}, {60, false, ""}, {60.5, false, ""}, {-1, false, ""}, {-1, true, ""}, {2958466, false, ""}, {2957004, true, ""},
		{math.MaxFloat64, false, ""}, {3e6, true, ""},
	} {
		if got, ok := day(c.serial, c.date1904); got != c.want || ok != (c.want != "") {
			t.Errorf("day(%v, %v) = %q, %v, want %q", c.serial, c.date1904, got, ok, c.want)
		}
	}
}

// TestDayAgain: another program makes the same days of the same numbers.
func TestDayAgain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		serial := float64(rapid.IntRange(61, 2957003).Draw(t, "serial"))
		date1904 := rapid.Bool().Draw(t, "1904")
		want, err := excelize.ExcelDateToTime(serial, date1904)
		if err != nil {
			t.Fatal(err)
		}
		if got, _ := day(serial, date1904); got != want.Format(time.DateOnly) {
			t.Fatalf("day(%v, %v) = %q, want %s", serial, date1904, got, want)
		}
	})
}

func TestNumberIsWhole(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64().Draw(t, "x")
		text, ok := plain.number(strconv.FormatFloat(x, 'G', 17, 64))
		back, err := strconv.ParseFloat(text, 64)
		if !ok || err != nil || back != x {
			t.Fatalf("%v is stored and read as %q", x, text)
		}
	})
}
