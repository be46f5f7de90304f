package bench

import (
	"fmt"
	"net/http"
	"slices"
	"strings"
	"unicode/utf8"

	"trueplait/model"
)

// maxTyped is how many characters of one field are taken.
const maxTyped = 2000

// fieldType says how a field is typed.
type fieldType string

const (
	amountField fieldType = "amount" // a number with its unit, echoed as understood
	textField   fieldType = "text"
	labelField  fieldType = "label" // a known label, or a new one
	dateField   fieldType = "date"
	longField   fieldType = "long"
	choiceField fieldType = "choice"
)

// field is one question of a form.
type field struct {
	Name    string // the column
	Label   string
	Hint    string
	Type    fieldType
	Known   []string // of a label: those the log has, the newest first
	Choices []choice // of a choice

	Value   string // as typed, or offered
	Usual   string // what is offered
	Echo    string // what was understood
	Problem string // what is wrong with Value
}

// choice is one option of a choice.
type choice struct{ Value, Text string }

// ID is the field's element.
func (f field) ID() string { return "f-" + f.Name }

// Describers names the elements that say more about the field.
func (f field) Describers() string {
	var ids []string
	if f.Problem != "" {
		ids = append(ids, "p-"+f.Name)
	}
	if f.Type == amountField {
		ids = append(ids, "e-"+f.Name)
	}
	if f.Hint != "" {
		ids = append(ids, "h-"+f.Name)
	}
	return strings.Join(ids, " ")
}

// group is some fields of a form, behind a fold where it has a name.
type group struct {
	Name   string
	Fields []field
}

// Open reports whether the fold has something to see: a problem, or what was
// typed.
func (g group) Open() bool {
	for _, f := range g.Fields {
		if f.Problem != "" || f.Value != f.Usual {
			return true
		}
	}
	return false
}

// form is what is asked on one page.
type form struct {
	Action string
	Method string // "get" or "post"
	Submit string
	Key    string   // of the act of saving; "": none
	Keep   string   // names half-typed text in the browser; "": it is not kept
	Hidden []hidden // columns that are not asked
	Groups []group
	Whole  []string // what is wrong with no field in particular
}

// hidden is what a form carries unseen.
type hidden struct{ Name, Value string }

// hide carries a value unseen, if there is one.
func (f *form) hide(name, value string) {
	if value != "" {
		f.Hidden = append(f.Hidden, hidden{name, value})
	}
}

// fields lists the fields of every group.
func (f *form) fields() []*field {
	var out []*field
	for i := range f.Groups {
		for j := range f.Groups[i].Fields {
			out = append(out, &f.Groups[i].Fields[j])
		}
	}
	return out
}

// offer sets what a field says before anybody typed.
func (f *form) offer(values map[string]string) {
	for _, field := range f.fields() {
		field.Value, field.Usual = values[field.Name], values[field.Name]
	}
}

// read takes what was typed. Text that is too long is a problem of its field.
func (f *form) read(r *http.Request) {
	for _, field := range f.fields() {
		field.Value = strings.TrimSpace(r.FormValue(field.Name))
		if n := utf8.RuneCountInString(field.Value); n > maxTyped {
			field.Problem = fmt.Sprintf("has %d characters: shorten it to %d", n, maxTyped)
		}
	}
}

// Typed is all that the form says, to be carried to the next page.
func (f *form) Typed() []hidden {
	out := slices.Clone(f.Hidden)
	for _, field := range f.fields() {
		if field.Value != "" {
			out = append(out, hidden{field.Name, field.Value})
		}
	}
	return out
}

// text is what the form says, by column. Blanks are left out.
func (f *form) text() map[string]string {
	out := map[string]string{}
	for _, typed := range f.Typed() {
		out[typed.Name] = typed.Value
	}
	return out
}

// refuse puts each problem at its field, or on top where the form does not ask
// for that column.
func (f *form) refuse(problems []model.Problem) {
next:
	for _, p := range problems {
		for _, field := range f.fields() {
			if field.Name == p.Column {
				field.Problem = joined(field.Problem, p.Message)
				continue next
			}
		}
		text := p.Message
		if p.Column != "" {
			text = p.String()
		}
		f.Whole = append(f.Whole, text)
	}
}

func joined(a, b string) string {
	if a == "" {
		return b
	}
	return a + "; " + b
}

// Refused lists the fields that something is wrong with.
func (f *form) Refused() []field {
	var out []field
	for _, field := range f.fields() {
		if field.Problem != "" {
			out = append(out, *field)
		}
	}
	return out
}

// Wrong counts what is wrong with the form.
func (f *form) Wrong() int { return len(f.Refused()) + len(f.Whole) }
