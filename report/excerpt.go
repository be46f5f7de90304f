package report

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

// What a page holds at most, whatever the size of the log: more would be read
// by nobody, and slow down the page for everybody. Whatever is cut says so, and
// which command has it all.
const (
	mostTabled  = 100 // rows of the table behind a chart
	mostAside   = 25  // rows set aside of each quantity
	mostOffered = 50  // products in a table
	mostQuarter = 80  // quarters of a year
	mostNotes   = 8   // of one kind below a heading
	mostNames   = 12  // in a sentence
	mostLetters = 500 // of a note
)

// notes are the first few notes of a calibration, safe to print, and how many
// more there are.
func notes(all []string) []string {
	shown := all
	if len(all) > mostNotes+1 {
		shown = all[:mostNotes]
	}
	var out []string
	for _, n := range shown {
		out = append(out, shortened(label(n)))
	}
	if left := len(all) - len(shown); left > 0 {
		out = append(out, fmt.Sprintf("and %d more, which trueplait calibrate lists", left))
	}
	return out
}

// shortened cuts a note that names too many to be read.
func shortened(note string) string {
	if utf8.RuneCountInString(note) <= mostLetters {
		return note
	}
	cut := string([]rune(note)[:mostLetters])
	if i := strings.LastIndexByte(cut, ' '); i > mostLetters/2 {
		cut = cut[:i]
	}
	return cut + " … (trueplait calibrate has the rest)"
}

// offeredNotes says that promises are left out; nil where none is.
func offeredNotes(all int) []string {
	if all <= mostOffered {
		return nil
	}
	return []string{fmt.Sprintf("Listed are %d of %d products; trueplait promise --product tells of each.", mostOffered, all)}
}

// tabledProducts says how many of so many products a table has.
func tabledProducts(n int) string {
	if n <= mostOffered {
		return "them all"
	}
	return fmt.Sprint(mostOffered)
}
