package main

import (
	"fmt"
	"os"
	"strconv"
	"time"
)

// now is the time of imports and the default of dates: the machine's, or
// SOURCE_DATE_EPOCH where set, for results that repeat.
// https://reproducible-builds.org/specs/source-date-epoch/
func now() (time.Time, error) {
	const env = "SOURCE_DATE_EPOCH"
	text := os.Getenv(env)
	if text == "" {
		return time.Now(), nil
	}
	s, err := strconv.ParseInt(text, 10, 64)
	if err != nil {
		return time.Time{}, usagef("%s: %q is not a whole number of seconds since 1970", env, text)
	}
	return time.Unix(s, 0).UTC(), nil
}

// dateFlag is an option's date.
type dateFlag struct{ time.Time }

// UnmarshalText reads YYYY-MM-DD.
func (d *dateFlag) UnmarshalText(text []byte) error {
	t, err := time.Parse(time.DateOnly, string(text))
	if err != nil {
		return fmt.Errorf("%q is not a date like 2024-03-31", text)
	}
	d.Time = t
	return nil
}
