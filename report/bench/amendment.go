package bench

import (
	"slices"

	"trueplait/model"
	"trueplait/report"
)

// amendment is one correction of a row.
type amendment struct {
	When, By string
	Changed  []difference
}

// difference is a column that an amendment changed.
type difference struct{ Column, Name, Before, After string }

// amendments compares what a row was with what took its place, the newest
// first. A figure that was worked out where there was none is nobody's
// correction.
func amendments(r *Record) []amendment {
	var out []amendment
	after := r.Full
	for _, past := range slices.Backward(r.Past) {
		changed := slices.DeleteFunc(differences(past.Row, after), func(d difference) bool {
			return d.Before == orBlank("") && workedOut(r, d.Column)
		})
		out = append(out, amendment{past.When.Format(moment), report.Label(past.By), changed})
		after = past.Row
	}
	return out
}

// workedOut reports whether a figure of the row is one that nobody stated.
func workedOut(r *Record, column string) bool {
	return !slices.ContainsFunc(report.Facts(r.Stated, report.Both), func(f report.Fact) bool { return f.Column == column })
}

// differences lists the columns in which two rows of one kind differ, to the
// last digit.
func differences(before, after model.Row) []difference {
	was, is := report.Facts(before, report.Both), report.Facts(after, report.Both)
	at := map[string]report.Fact{}
	for _, f := range is {
		at[f.Column] = f
	}
	var out []difference
	for _, f := range was {
		now, still := at[f.Column]
		if !still || now.Exact != f.Exact {
			out = append(out, difference{f.Column, f.Name, orBlank(f.Exact), orBlank(now.Exact)})
		}
		delete(at, f.Column)
	}
	for _, f := range is {
		if _, added := at[f.Column]; added {
			out = append(out, difference{f.Column, f.Name, orBlank(""), orBlank(f.Exact)})
		}
	}
	return out
}

// orBlank is a text, or the word for none.
func orBlank(text string) string {
	if text == "" {
		return "blank"
	}
	return report.Label(text)
}
