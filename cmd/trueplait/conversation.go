package main

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"trueplait/model"
	"trueplait/report"
	"trueplait/report/bench"
)

// conversation asks for a row, one line at a time.
type conversation struct {
	*prompt
	*answers
	shop shop
	now  *bench.Snapshot
}

// run asks for what is missing and shows the whole. Without an error the row is
// to be saved.
func (c *conversation) run(ctx context.Context) error {
	fmt.Fprintln(c.out, "Enter takes what stands in brackets, - leaves a line blank, Ctrl-C stops.")
	if err := c.choosePlan(ctx); err != nil {
		return err
	}
	options := maps.Clone(c.given)
	for _, q := range questions(c.kind) {
		if err := c.settle(ctx, q, options); err != nil {
			return err
		}
	}
	return c.review(ctx)
}

// choosePlan offers the open plans, where no build is named yet.
func (c *conversation) choosePlan(ctx context.Context) error {
	open := c.now.Open
	if c.kind != model.Builds || c.stated != nil || c.given["build"] != "" || len(open) == 0 {
		return nil
	}
	fmt.Fprintln(c.out, "\nOpen plans:")
	for i := range open {
		fmt.Fprintf(c.out, "%4d  %s, since %s\n", i+1, planWords(&open[i]), open[i].Saved.Format(time.DateOnly))
	}
	for {
		text, err := c.line(ctx, "Which one is finished? [number; Enter: a build without a plan]: ")
		if err != nil || text == "" || text == "-" {
			return err
		}
		i := slices.IndexFunc(open, func(b model.OpenBuild) bool { return b.ID == text })
		if n, err := strconv.Atoi(text); err == nil && i < 0 {
			i = n - 1
		}
		if i >= 0 && i < len(open) {
			c.set("build", open[i].ID)
			c.adopt(open)
			return nil
		}
		c.say("%q is none of them: answer with a number from 1 to %d, or Enter", text, len(open))
	}
}

// planWords describes an open plan in a line.
func planWords(b *model.OpenBuild) string {
	words := []string{report.Label(b.ID), report.Label(b.Product)}
	for _, label := range []string{b.Maker, b.CoreBatch, b.StrandBatch} {
		if label != "" {
			words = append(words, report.Label(label))
		}
	}
	if model.Known(b.PredictedWeightG) {
		words = append(words, report.Mass(b.PredictedWeightG, report.Both))
	}
	if model.Known(b.PredictedLengthMM) {
		words = append(words, report.Length(b.PredictedLengthMM, report.Both))
	}
	return strings.Join(words, ", ")
}

// settle sees to one question. What an option says is checked like what is
// typed.
func (c *conversation) settle(ctx context.Context, q question, options map[string]string) error {
	if text, ok := options[q.column]; ok {
		if taken, err := c.take(ctx, q, text); err != nil || taken {
			return err
		}
	} else if !c.asks(q) {
		return nil
	}
	return c.ask(ctx, q)
}

// asks reports whether a question is to be asked, given the answers so far.
func (c *conversation) asks(q question) bool {
	_, answered := c.given[q.column]
	switch {
	case answered:
		return false
	case q.column == shotBefore || q.column == shotAfter:
		return c.tub()
	case q.column == shotUsed && c.tub(), q.column == strandLeft && c.given[strandCut] == "":
		return false
	}
	return q.asked && c.stated == nil
}

// ask asks until there is an answer that can be taken.
func (c *conversation) ask(ctx context.Context, q question) error {
	for {
		offer := c.offer(q)
		text, err := c.line(ctx, wording(q, offer))
		if err != nil {
			return err
		}
		switch text {
		case "":
			text = offer
		case "-":
			text = ""
		}
		if taken, err := c.take(ctx, q, text); err != nil || taken {
			return err
		}
	}
}

// wording is a question with its hint and with what Enter answers.
func wording(q question, offer string) string {
	out := strings.ToUpper(q.column[:1]) + report.Spoken(q.column)[1:]
	if q.hint != "" {
		out += " (" + q.hint + ")"
	}
	switch {
	case offer != "":
		out += " [" + report.Label(offer) + "]"
	case !q.needed:
		out += " [-]"
	}
	return out + ": "
}

// offer is the answer that Enter gives: what the row says already, or what it
// most likely is.
func (c *conversation) offer(q question) string {
	if text, ok := c.all()[q.column]; ok {
		return text
	}
	switch {
	case c.stated != nil:
		return ""
	case q == idQuestion(c.kind):
		return c.now.NextID[c.kind]
	case q.column == "date":
		return c.now.Today.Format(time.DateOnly)
	case q.effect != "":
		return c.now.Latest.Get(q.effect)
	}
	return ""
}

// take notes an answer and echoes it, or says what is wrong with it. An answer
// that asks back may turn into another one.
func (c *conversation) take(ctx context.Context, q question, text string) (taken bool, err error) {
	if q.column == shotUsed && strings.EqualFold(text, "tub") {
		return c.weighTub(ctx)
	}
	if text == "" && q.needed {
		c.say("is needed")
		return false, nil
	}
	wrong, err := problem(ctx, c.shop, c.answers, q, text)
	if err != nil {
		return false, err
	}
	if wrong != "" {
		c.say("%s", wrong)
		return false, nil
	}
	if near := nearestKnown(c.now, q, text); near != "" {
		another, ok, err := c.addsNew(ctx, q, text, near)
		if err != nil || !ok {
			return false, err
		}
		if another != "" {
			return c.take(ctx, q, another)
		}
	}
	if echo := understood(c.shop, q, text); echo != "" {
		c.say("= %s", echo)
	}
	c.set(q.column, text)
	if q == idQuestion(c.kind) {
		c.adopt(c.now.Open)
	}
	return true, nil
}

// addsNew asks whether a label that the log does not know is meant to be new.
// The answer may be another label instead.
func (c *conversation) addsNew(ctx context.Context, q question, label, near string) (another string, ok bool, err error) {
	text, err := c.line(ctx, fmt.Sprintf("  %s %q is new here; the nearest known is %q. Add it? [y/N/another]: ", q.effect.Word(), label, near))
	switch {
	case err != nil, no(text), text == "", text == "-":
		return "", false, err
	case yes(text):
		return "", true, nil
	}
	return text, true, nil
}

// weighTub asks for the tub of shot before and after. Both are asked again
// where nothing is missing from it.
func (c *conversation) weighTub(ctx context.Context) (taken bool, err error) {
	for _, q := range questions(c.kind) {
		if q.column == shotBefore || q.column == shotAfter {
			if err := c.ask(ctx, q); err != nil {
				return false, err
			}
		}
	}
	before, _, err := c.shop.Understand(shotBefore, c.given[shotBefore])
	if err != nil {
		return false, err
	}
	after, _, err := c.shop.Understand(shotAfter, c.given[shotAfter])
	if err != nil {
		return false, err
	}
	if after >= before {
		c.say("the tub is no lighter after than before: check both")
		delete(c.given, shotBefore)
		delete(c.given, shotAfter)
		return false, nil
	}
	c.say("= %s of shot used", report.Mass(before-after, report.Both))
	return true, nil
}

func yes(text string) bool { return strings.EqualFold(text, "y") || strings.EqualFold(text, "yes") }
func no(text string) bool  { return strings.EqualFold(text, "n") || strings.EqualFold(text, "no") }
