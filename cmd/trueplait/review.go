package main

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"strconv"
	"strings"

	"trueplait/model"
	"trueplait/report"
)

// errRefused is a no to the question whether to save.
var errRefused = errors.New("nothing was saved")

// review shows the whole row, how far it is from what was expected, and what
// looks wrong, until it is saved or not.
func (c *conversation) review(ctx context.Context) error {
	for {
		reading, err := c.shop.Read(ctx, c.entry())
		var refused *model.Refused
		if err != nil && !errors.As(err, &refused) {
			return err
		}
		lines := c.list(reading)
		ask, enter := "Save? [Y/n/number of a line to change]: ", "y"
		switch {
		case refused != nil:
			fmt.Fprintf(c.out, "\nIt cannot be saved like this:\n%s\n", bullets(strings.Split(refused.Error(), "\n")))
			ask, enter = "Which line to change? [number; n: none]: ", ""
		case c.stated != nil && len(c.given) == 0:
			ask, enter = "Which line to change? [number; Enter: none]: ", "n"
		default:
			c.compare(reading)
			if slipped(reading) {
				ask, enter = "Save it all the same? [y/N/number of a line to change]: ", "n"
			}
		}
		text, err := c.line(ctx, "\n"+ask)
		if err != nil {
			return err
		}
		if text == "" {
			text = enter
		}
		n, _ := strconv.Atoi(text)
		switch {
		case no(text):
			return errRefused
		case yes(text) && enter != "":
			return nil
		case n >= 1 && n <= len(lines):
			if err := c.ask(ctx, lines[n-1]); err != nil {
				return err
			}
		default:
			c.say("%q is none of the answers", text)
		}
	}
}

// list prints the row, a numbered line a column, and returns the questions
// behind the numbers. Columns that are neither asked for nor filled are left
// out, but for the note.
func (c *conversation) list(reading *report.Reading) []question {
	all := c.all()
	shown := maps.Clone(all)
	if reading != nil {
		for _, f := range reading.Facts(report.Both) {
			shown[f.Column] = f.Text
		}
	}
	fmt.Fprintln(c.out)
	var lines []question
	for _, q := range questions(c.kind) {
		if q == idQuestion(c.kind) && c.stated != nil {
			fmt.Fprintf(c.out, "      %-14s %s\n", report.Spoken(q.column), report.Label(shown[q.column]))
			continue
		}
		if !q.asked && q.column != "note" && all[q.column] == "" {
			continue
		}
		lines = append(lines, q)
		fmt.Fprintf(c.out, "%4d  %-14s %s\n", len(lines), report.Spoken(q.column), report.Label(shown[q.column]))
	}
	return lines
}

// compare prints how far a row is from today's prediction, and what looks wrong
// with it.
func (c *conversation) compare(r *report.Reading) {
	if words := r.Comparisons(report.Both); len(words) > 0 {
		fmt.Fprintf(c.out, "\nAgainst today's prediction:\n%s\n", bullets(words))
	}
	if doubts := r.Doubts(report.Both); len(doubts) > 0 {
		fmt.Fprintf(c.out, "\nLook again before saving:\n%s\n", bullets(doubts))
	}
}

// bullets sets sentences one below the other.
func bullets(sentences []string) string { return "  - " + strings.Join(sentences, "\n  - ") }
