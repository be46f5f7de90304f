package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"strings"
	"time"

	"github.com/alecthomas/kong"

	"trueplait/cmd/workshop"
	"trueplait/data"
	"trueplait/model"
	"trueplait/report"
	"trueplait/report/bench"
)

// columnFlags is the group of the options that are columns of a row.
const columnFlags = "The row:"

// givenColumns are the columns that options give.
func givenColumns(k *kong.Context) map[string]string {
	out := map[string]string{}
	for _, f := range k.Selected().Flags {
		if f.Group != nil && f.Group.Key == columnFlags && f.Set {
			out[strings.ReplaceAll(f.Name, "-", "_")] = strings.TrimSpace(f.Target.String())
		}
	}
	return out
}

// enter opens the log and takes one row into it.
func (p *program) enter(k *kong.Context, kind model.Kind, edit string, yes bool) (err error) {
	absent := workshop.Absent(p.log)
	w, err := workshop.Make(p.ctx, p.log, workshop.Options{Seed: 1, Clock: now, Program: versionText()})
	if errors.Is(err, data.ErrInUse) {
		return fmt.Errorf("%w; if it is the bench page, enter the %s there", err, kind.Noun(1))
	}
	if err != nil {
		return err
	}
	e := &entering{program: p, answers: &answers{kind: kind, given: givenColumns(k)}, edit: edit, yes: yes}
	defer func() {
		w.Close(&err)
		if !e.saving && absent { // made for nothing
			err = errors.Join(err, os.Remove(p.log))
		}
	}()
	if e.shop, err = workshop.NewBench(p.ctx, w, workshop.BenchOptions{Name: "trueplait " + commands[kind], Path: p.logName()}); err != nil {
		return err
	}
	return e.run()
}

// entering is one row on its way into the log.
type entering struct {
	*program
	*answers
	shop   shop
	now    *bench.Snapshot
	edit   string // id of the row to be corrected; "": the row is new
	yes    bool   // save without asking
	saving bool   // from here on the log may have the row
}

// run takes the row from the options, and on a terminal from answers, saves it
// and says what it changed.
func (e *entering) run() (err error) {
	if e.now, err = e.shop.Now(e.ctx); err != nil {
		return err
	}
	if err := e.correct(); err != nil {
		return err
	}
	if !e.yes && isTerminal(e.stdin) && isTerminal(e.stderr) {
		return e.talk(newPrompt(e.stdin, e.stderr))
	}
	if err := e.read(); err != nil {
		return err
	}
	return e.save()
}

// correct looks up the row to be corrected.
func (e *entering) correct() error {
	if e.edit == "" {
		return nil
	}
	if id := idQuestion(e.kind).column; e.given[id] != "" {
		return usagef("--edit and %s exclude each other: a row keeps its id", optionName(id))
	}
	record, err := e.shop.Row(e.ctx, e.kind, e.edit)
	if err != nil {
		return err
	}
	if record == nil {
		return fmt.Errorf("%s %q is not in the log: check the id, or leave --edit out to add it", e.kind.Noun(1), e.edit)
	}
	e.stated = map[string]string{}
	for _, f := range report.Facts(record.Stated, report.Both) {
		e.stated[f.Column] = f.Exact
	}
	return nil
}

// talk asks for the row and saves it. Where that ends early, it says how to go
// on.
func (e *entering) talk(lines *prompt) error {
	c := &conversation{lines, e.answers, e.shop, e.now}
	err := c.run(e.ctx)
	if err == nil {
		err = e.save()
	}
	if err != nil {
		log := ""
		if e.named {
			log, _ = withoutPassword(e.log)
		}
		fmt.Fprintf(e.stderr, "to go on: %s\n", e.command(log))
	}
	return err
}

// save saves the row and shows what it changed. A save once begun is finished:
// it takes less than a second, and the maker knows what the log has.
func (e *entering) save() error {
	e.saving = true
	saved, err := e.shop.Save(context.WithoutCancel(e.ctx), e.entry())
	if err != nil {
		return err
	}
	return report.SavedTable(e.stdout, saved, e.style("both"))
}

// read completes the options and says how they are understood. It refuses what
// looks like a slip, unless told that it is right.
func (e *entering) read() error {
	if e.stated != nil && len(e.given) == 0 {
		return usagef("--edit %s changes nothing: give the columns to change", quoted(e.edit))
	}
	e.assume()
	if missing := e.missing(); missing != nil {
		return usagef("%s needs %s", commands[e.kind], strings.Join(missing, ", "))
	}
	for _, q := range questions(e.kind) {
		if near := nearestKnown(e.now, q, e.given[q.column]); near != "" {
			fmt.Fprintf(e.stderr, "warning: %s %q is new here; the nearest known is %q\n", q.effect.Word(), e.given[q.column], near)
		}
	}
	reading, err := e.shop.Read(e.ctx, e.entry())
	var refused *model.Refused
	if errors.As(err, &refused) {
		return e.refusal(refused)
	}
	if err != nil {
		return err
	}
	if err := report.ReadingTable(e.stderr, reading, e.style("both")); err != nil {
		return err
	}
	if slipped(reading) && !e.yes {
		return fmt.Errorf("%s %q looks wrong, so it was not saved: correct it, or add --yes if it is right", e.kind.Noun(1), reading.Row.Key())
	}
	return nil
}

// assume fills in what need not be said: the next id, today, and the labels of
// the plan that the build finishes.
func (e *entering) assume() {
	if e.stated != nil {
		return
	}
	id := idQuestion(e.kind).column
	for column, text := range map[string]string{id: e.now.NextID[e.kind], "date": e.now.Today.Format(time.DateOnly)} {
		if e.given[column] == "" {
			e.given[column] = text
		}
	}
	e.adopt(e.now.Open)
}

// refusal puts a refusal in terms of options. Wrong text is wrong usage; what
// the log has to say, about an id or a calibration, is not.
func (e *entering) refusal(refused *model.Refused) error {
	var lines []string
	usage := false
	for _, q := range questions(e.kind) {
		if text := worded(e.shop, q, e.all()[q.column], refused); text != "" {
			lines = append(lines, optionName(q.column)+": "+text)
			usage = usage || q != idQuestion(e.kind) && q.column != "calibration"
		}
	}
	if row := refused.About(""); row != "" {
		lines = append(lines, row)
	}
	err := errors.New(strings.Join(lines, "\n"))
	if usage {
		return usageError{err}
	}
	return err
}
