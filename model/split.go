package model

import "time"

// Split says that a maker or a batch changed under the same label: rows of the
// label from a day on count as a level of their own.
type Split struct {
	Effect Effect
	Label  string
	Since  time.Time
}

// Level is the name of the level that the split makes.
func (s Split) Level() string { return s.Label + " from " + s.Since.Format(time.DateOnly) }

// SplitLevels are the levels of a row of a date with these labels: the labels
// themselves, but where the latest split up to that day made a level of one.
func SplitLevels(l Labels, date time.Time, splits []Split) Labels {
	out, since := l, map[Effect]time.Time{}
	for _, s := range splits {
		if s.Label == l.Get(s.Effect) && !s.Since.After(date) && !s.Since.Before(since[s.Effect]) {
			since[s.Effect] = s.Since
			out.Set(s.Effect, s.Level())
		}
	}
	return out
}

// Unsplit gives back the label that rows state, where one of the splits made a
// level of it; any other level is a label already.
func Unsplit(level string, e Effect, splits []Split) string {
	for _, s := range splits {
		if s.Effect == e && s.Level() == level {
			return s.Label
		}
	}
	return level
}
