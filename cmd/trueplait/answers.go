package main

import (
	"maps"
	"slices"
	"strings"

	"trueplait/model"
)

// answers are what is known of a row that is being entered. A column that was
// left blank on purpose is there, as "".
type answers struct {
	kind   model.Kind
	given  map[string]string // by option or at the prompt
	stated map[string]string // what a row to be corrected states; nil: the row is new
}

// all is what the row will state.
func (a *answers) all() map[string]string {
	out := maps.Clone(a.stated)
	if out == nil {
		out = map[string]string{}
	}
	if a.tub() {
		delete(out, shotUsed)
	}
	maps.Copy(out, a.given)
	return out
}

// entry is the row as it is saved.
func (a *answers) entry() model.Entry {
	return model.Entry{Kind: a.kind, Text: a.all(), Amend: a.stated != nil}
}

// tub reports whether shot was weighed in its tub.
func (a *answers) tub() bool { return a.given[shotBefore] != "" || a.given[shotAfter] != "" }

// set notes an answer. The last word on the shot used counts: its mass, or the
// tub's.
func (a *answers) set(column, text string) {
	a.given[column] = text
	switch {
	case column == shotUsed:
		delete(a.given, shotBefore)
		delete(a.given, shotAfter)
	case column == shotBefore && text != "", column == shotAfter && text != "":
		delete(a.given, shotUsed)
	}
}

// with is the answers with one more.
func (a *answers) with(column, text string) *answers {
	out := &answers{a.kind, maps.Clone(a.given), a.stated}
	out.set(column, text)
	return out
}

// adopt takes over the labels of the open plan that is finished by this build,
// but for those given.
func (a *answers) adopt(open []model.OpenBuild) {
	if a.kind != model.Builds || a.stated != nil {
		return
	}
	i := slices.IndexFunc(open, func(b model.OpenBuild) bool { return b.ID == a.given["build"] })
	if i < 0 {
		return
	}
	for _, e := range model.Effects {
		if _, ok := a.given[string(e)]; !ok && open[i].Labels.Get(e) != "" {
			a.given[string(e)] = open[i].Labels.Get(e)
		}
	}
}

// missing lists the options that a row still needs.
func (a *answers) missing() []string {
	var out []string
	all := a.all()
	for _, q := range questions(a.kind) {
		if q.needed && q.asked && all[q.column] == "" {
			out = append(out, optionName(q.column))
		}
	}
	if a.tub() {
		for _, half := range []string{shotBefore, shotAfter} {
			if a.given[half] == "" {
				out = append(out, optionName(half))
			}
		}
	}
	if a.kind == model.Builds && all["weight"]+all["length"]+all[shotUsed] == "" && !a.tub() {
		out = append(out, "one of --weight, --length and --shot-used")
	}
	return out
}

// commands are the names under which the kinds are entered.
var commands = map[model.Kind]string{model.Builds: "build", model.Fills: "fill", model.Checks: "cord"}

// command is the command line that goes on with these answers, as a POSIX
// shell takes it. log is the path of the log, "" where it need not be named.
func (a *answers) command(log string) string {
	words := []string{"trueplait", commands[a.kind]}
	if a.stated != nil {
		words = append(words, option("--edit", a.stated[idQuestion(a.kind).column]))
	}
	for _, q := range questions(a.kind) {
		if text, ok := a.given[q.column]; ok {
			words = append(words, option(optionName(q.column), text))
		}
	}
	if log != "" {
		words = append(words, option("--log", log))
	}
	return strings.Join(words, " ")
}

// option is an option with its value. An = keeps a value that looks like
// another option, or like nothing, in its place.
func option(name, value string) string {
	if value == "" {
		return name + "="
	}
	if value[0] == '-' {
		return name + "=" + quoted(value)
	}
	return name + " " + quoted(value)
}

// quoted is one word as a POSIX shell takes it.
// POSIX.1-2017, Shell Command Language, 2.2.2 Single-Quotes.
func quoted(word string) string {
	plain := func(r rune) bool {
		return r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || strings.ContainsRune("-_./:,+@%", r)
	}
	if !slices.ContainsFunc([]rune(word), func(r rune) bool { return !plain(r) }) {
		return word
	}
	return "'" + strings.ReplaceAll(word, "'", `'\''`) + "'"
}
