package xlsx

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"time"
)

// format is what a number format makes of a number.
type format int

const (
	plain   format = iota
	percent        // shown a hundred times as large
	date           // shown as a day or a time
)

// readFormats reads the number format of every style a cell may have (18.8.39).
func (f *File) readFormats(part string) error {
	var doc struct {
		Own []struct {
			ID   int    `xml:"numFmtId,attr"`
			Code string `xml:"formatCode,attr"`
		} `xml:"numFmts>numFmt"`
		Styles []struct {
			Format int `xml:"numFmtId,attr"`
		} `xml:"cellXfs>xf"`
	}
	if _, err := f.decode(part, &doc); err != nil {
		return err
	}
	own := map[int]format{}
	for _, o := range doc.Own {
		own[o.ID] = formatOf(o.Code)
	}
	for _, s := range doc.Styles {
		kind, ok := own[s.Format]
		if !ok {
			kind = builtIn(s.Format)
		}
		f.formats = append(f.formats, kind)
	}
	return nil
}

// builtIn tells the formats that have a number but no code in the file
// (18.8.30); 27 to 36 and 50 to 58 are dates where they are used at all.
func builtIn(id int) format {
	switch {
	case id == 9, id == 10:
		return percent
	case id >= 14 && id <= 22, id >= 27 && id <= 36, id >= 45 && id <= 47, id >= 50 && id <= 58:
		return date
	}
	return plain
}

// literal is what a format code shows as it stands or does not show at all:
// text in quotes, a character behind \ _ or *, and colours, conditions and
// languages in brackets.
var literal = regexp.MustCompile(`"[^"]*"?|[\\_*].?|\[[^\]]*\]?`)

// formatOf tells a format by its code (18.8.31): the part for positive numbers
// decides.
func formatOf(code string) format {
	code, _, _ = strings.Cut(literal.ReplaceAllString(code, ""), ";")
	switch {
	case strings.ContainsAny(code, "yYmMdDhHsS"):
		return date
	case strings.Contains(code, "%"):
		return percent
	}
	return plain
}

// number is the text of a number cell: the fewest digits that read back as the
// number stored, never with an exponent. ok is false for what is no number.
func (f format) number(stored string) (text string, ok bool) {
	x, ok := finite(stored)
	if !ok {
		return "", false
	}
	text = strconv.FormatFloat(x, 'f', -1, 64)
	if f != percent {
		return text, true
	}
	// Moving the point of the digits keeps 0.07 from becoming 7.000000000000001.
	if x, ok = finite(text + "e2"); !ok {
		return "", false
	}
	return strconv.FormatFloat(x, 'f', -1, 64) + "%", true
}

// finite reads a decimal number, which is not all that ParseFloat reads.
func finite(text string) (x float64, ok bool) {
	if strings.ContainsAny(text, "xX_") {
		return 0, false
	}
	x, err := strconv.ParseFloat(text, 64)
	return x, err == nil && !math.IsInf(x, 0) && !math.IsNaN(x)
}

// day is the text of a date cell: YYYY-MM-DD, with the time behind it where
// that is not midnight, or a time alone. serial counts days; ok is false where
// it is no day.
//
// Day 1 is 1 January 1900 and day 60 a 29 February that was not, so that from
// 61 on the count is one ahead; or day 0 is 1 January 1904 (18.17.4.1).
func day(serial float64, date1904 bool) (text string, ok bool) {
	const perDay = 24 * 60 * 60
	seconds := math.Round(serial * perDay)
	if !(seconds >= 0 && seconds < 3e6*perDay) { // the year 9999 ends before
		return "", false
	}
	days, clock := int(seconds)/perDay, clockText(int(seconds)%perDay)
	first := time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)
	switch {
	case date1904:
		first = time.Date(1904, 1, 1, 0, 0, 0, 0, time.UTC)
	case days == 0 && clock != "":
		return clock, true
	case days == 0 || days == 60:
		return "", false
	case days < 60:
		days++
	}
	at := first.AddDate(0, 0, days)
	if at.Year() > 9999 {
		return "", false
	}
	return strings.TrimSpace(at.Format(time.DateOnly) + " " + clock), true
}

// clockText is the time of day so many seconds after midnight, "" at midnight.
func clockText(seconds int) string {
	at := time.Time{}.Add(time.Duration(seconds) * time.Second)
	switch {
	case seconds == 0:
		return ""
	case seconds%60 == 0:
		return at.Format("15:04")
	}
	return at.Format(time.TimeOnly)
}
