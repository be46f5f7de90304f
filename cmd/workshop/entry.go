package workshop

import (
	"bytes"
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"
	"time"

	"trueplait/data"
	"trueplait/ingest"
	"trueplait/model"
	"trueplait/report"
)

// The columns of an entry that a file does not have: the tub of shot weighed
// before and after, in place of the shot used.
const (
	shotBefore = "shot_before"
	shotAfter  = "shot_after"
)

// Understand reads one amount as the column of that name would, or as a mass
// where a question asks for one that is no column.
func (b *Bench) Understand(column, text string) (float64, model.Dimension, error) {
	value, of, ok, err := ingest.ParseAmount(column, text)
	if ok {
		return value, of, err
	}
	switch column {
	case shotBefore, shotAfter, targetWeight, within, around:
		value, err := ingest.ParseMass(text, ingest.DecimalAuto)
		return value, model.MassDimension, err
	}
	return model.Unknown, model.NoDimension, fmt.Errorf("%s is not a mass or a length", column)
}

// Read says what an entry means, without saving it.
func (b *Bench) Read(ctx context.Context, e model.Entry) (*report.Reading, error) {
	b.log.Lock()
	defer b.log.Unlock()
	t, err := b.typed(e)
	if err != nil {
		return nil, err
	}
	im, taken, err := b.take(ctx, t)
	if err != nil {
		return nil, err
	}
	if err := im.Rollback(); err != nil {
		return nil, err
	}
	s := b.state.Load()
	full := s.planned(t.row)
	return &report.Reading{
		Row: full, Today: s.expected(full), Warnings: taken.bare(), ShotFrom: t.shotFrom,
	}, nil
}

// Save saves an entry and fits the factors anew.
func (b *Bench) Save(ctx context.Context, e model.Entry) (*report.Saved, error) {
	return b.save(ctx, func(context.Context) (model.Entry, error) { return e, nil })
}

// save saves the entry that say makes with the log in hand, and fits the
// factors anew.
func (b *Bench) save(ctx context.Context, say func(context.Context) (model.Entry, error)) (*report.Saved, error) {
	c, again, err := b.commit(ctx, say)
	if err != nil {
		return nil, err
	}
	if again != nil {
		return again, nil
	}
	// The row is on the disk: what follows must not report it as refused.
	return b.saved(context.WithoutCancel(ctx), c), nil
}

// committed is an entry that is on the disk.
type committed struct {
	row   model.Row
	taken *Taken
	write int // its number
}

// commit puts an entry on the disk, or returns what became of it when it was
// sent before.
func (b *Bench) commit(ctx context.Context, say func(context.Context) (model.Entry, error)) (c committed, again *report.Saved, err error) {
	ctx, done := b.write(ctx)
	defer done()
	e, err := say(ctx)
	if err != nil {
		return c, nil, err
	}
	if again, err := b.entered(ctx, e.Key); again != nil || err != nil {
		return c, again, err
	}
	t, err := b.typed(e)
	if err != nil {
		return c, nil, err
	}
	im, taken, err := b.take(ctx, t)
	if err != nil {
		return c, nil, err
	}
	if err := im.Enter(ctx, e.Key, e.Kind, t.row.Key()); err != nil {
		return c, nil, errors.Join(err, im.Rollback())
	}
	if err := im.Commit(ctx); err != nil {
		return c, nil, err
	}
	b.writes++
	return committed{t.row, taken, b.writes}, nil, nil
}

// entered is the row that an entry of the same key was saved as; nil: none was.
func (b *Bench) entered(ctx context.Context, key string) (*report.Saved, error) {
	if key == "" {
		return nil, nil
	}
	at, err := b.workshop.opt.Clock()
	if err != nil {
		return nil, err
	}
	im, err := b.workshop.Log.Begin(ctx, at)
	if err != nil {
		return nil, err
	}
	kind, id, ok, err := im.Entered(ctx, key)
	if err := errors.Join(err, im.Rollback()); err != nil || !ok {
		return nil, err
	}
	row, _, err := b.workshop.Log.Full(ctx, kind, id)
	if err != nil {
		return nil, err
	}
	cal := b.state.Load().Calibration
	return &report.Saved{Row: row, Again: true, Calibration: cal.Number, BaseLoadGMM: cal.Summary.BaseLoadGMM}, nil
}

// typed is an entry as a file of one row.
type typed struct {
	model.Entry
	row      model.Row // as the file states it
	name     string    // of the file
	text     []byte
	shotFrom string
}

// typed writes an entry as a file, and reads it once to see whether it can be
// understood. What a finished plan would give is filled in where the file must
// state it.
func (b *Bench) typed(e model.Entry) (*typed, error) {
	t := &typed{Entry: e, name: b.opt.Name}
	t.Text = map[string]string{}
	for column, text := range e.Text {
		if text = strings.TrimSpace(text); text != "" {
			t.Text[column] = text
		}
	}
	s := b.state.Load()
	if plan := s.plan(t.Text["build"]); e.Kind == model.Builds && plan != nil {
		t.fillIn("maker", plan.Maker)
		t.fillIn("product", plan.Product)
	}
	today, err := b.workshop.opt.Clock()
	if err != nil {
		return nil, err
	}
	if e.Kind != model.Products {
		t.fillIn("date", today.Format(time.DateOnly))
	}
	if err := t.weighTub(); err != nil {
		return nil, err
	}
	if t.text, err = t.file(); err != nil {
		return nil, err
	}
	r, err := ingest.NewReader(bytes.NewReader(t.text), b.opt.Name, ingest.Options{Today: today, Typed: true})
	if err != nil {
		return nil, refused(err)
	}
	row, problems, err := r.Read()
	if err == io.EOF { // a line of blanks is no row
		return nil, &model.Refused{Problems: []model.Problem{{Column: e.Kind.IDColumn(), Message: "is blank"}}}
	}
	if err != nil {
		return nil, err
	}
	if problems != nil {
		return nil, refused(ingest.Problems(problems))
	}
	t.row = row
	return t, nil
}

// fillIn states what was left blank.
func (t *typed) fillIn(column, text string) {
	if t.Text[column] == "" && text != "" {
		t.Text[column] = text
	}
}

// weighTub works out the shot used, or the mass of a test fill's, from the tub
// before and after.
func (t *typed) weighTub() error {
	before, after := t.Text[shotBefore], t.Text[shotAfter]
	delete(t.Text, shotBefore)
	delete(t.Text, shotAfter)
	if before == "" && after == "" {
		return nil
	}
	column := "shot_used"
	if t.Kind == model.Fills {
		column = "shot_mass"
	}
	refuse := func(column, text, message string) error {
		return &model.Refused{Problems: []model.Problem{{Column: column, Text: text, Message: message}}}
	}
	if t.Text[column] != "" {
		return refuse(shotBefore, before, "is given beside the mass of the shot: give one or the other")
	}
	var grams [2]float64
	for i, tub := range []struct{ column, text string }{{shotBefore, before}, {shotAfter, after}} {
		if tub.text == "" {
			return refuse(tub.column, "", "is blank: weigh the tub before and after")
		}
		var err error
		if grams[i], err = ingest.ParseMass(tub.text, ingest.DecimalAuto); err != nil {
			return refuse(tub.column, tub.text, err.Error())
		}
	}
	used := grams[0] - grams[1]
	if !(used > 0) {
		return refuse(shotAfter, after, fmt.Sprintf("is not less than before, %s: check both", before))
	}
	t.Text[column] = fmt.Sprintf("%.10g g", used) // what a difference of decimals is, without binary's tail
	t.shotFrom = fmt.Sprintf("the tub, %s before and %s after", before, after)
	return nil
}

// file writes the entry as CSV.
func (t *typed) file() ([]byte, error) {
	var header, record []string
	left := maps.Clone(t.Text)
	for _, c := range ingest.Columns(t.Kind) {
		text := left[c.Name]
		delete(left, c.Name)
		if strings.HasPrefix(text, "'") { // typed, not put there to keep a spreadsheet from a formula
			text = "'" + text
		}
		if text != "" || c.Required {
			header, record = append(header, c.Name), append(record, text)
		}
	}
	for _, column := range slices.Sorted(maps.Keys(left)) {
		return nil, &model.Refused{Problems: []model.Problem{{Column: column, Text: left[column], Message: "is not a column of " + string(t.Kind)}}}
	}
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	if err := w.WriteAll([][]string{header, record}); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

// refused turns the problems of a file of one row into those of an entry.
func refused(err error) error {
	var problems ingest.Problems
	if !errors.As(err, &problems) {
		return err
	}
	r := &model.Refused{}
	for _, e := range problems {
		r.Problems = append(r.Problems, model.Problem{Column: e.Column, Text: e.Text, Message: e.Err.Error()})
	}
	return r
}

// take takes an entry into an import, which the caller ends; it is ended where
// there is an error.
func (b *Bench) take(ctx context.Context, t *typed) (*data.Import, *Taken, error) {
	at, err := b.workshop.opt.Clock()
	if err != nil {
		return nil, nil, err
	}
	im, err := b.workshop.Log.Begin(ctx, at)
	if err != nil {
		return nil, nil, err
	}
	taken, err := takeInto(ctx, im, t, Taking{Read: ingest.Options{Today: at, Typed: true}, Amend: t.Amend})
	if err != nil {
		return nil, nil, errors.Join(err, im.Rollback())
	}
	return im, taken, nil
}

func takeInto(ctx context.Context, im *data.Import, t *typed, opt Taking) (*Taken, error) {
	files, err := NewLoader(im, opt).Load(ctx, []Input{{Name: t.name, Reader: bytes.NewReader(t.text)}})
	if err != nil {
		return nil, refused(err)
	}
	f := files[0]
	if !f.clean() {
		return nil, f.refused()
	}
	if f.Same > 0 && !t.Amend { // by chance the same figures under an id that is taken
		key := t.Kind.IDColumn()
		return nil, &model.Refused{Problems: []model.Problem{{Column: key, Text: t.Text[key],
			Message: fmt.Sprintf("is in the log already, with the same figures: if this is another %s, give it another id", t.Kind.Noun(1))}}}
	}
	return f, nil
}

// refused is what is wrong with a file of one row, in the words of an entry.
func (f *Taken) refused() error {
	r := &model.Refused{}
	for _, e := range f.Problems {
		message := e.Err.Error()
		var c *conflict
		if errors.As(e.Err, &c) && !c.InPlan {
			message = fmt.Sprintf("is in the log already (%s): correct that one, or give this one another id", differences(c.Conflict))
		}
		r.Problems = append(r.Problems, model.Problem{Column: e.Column, Text: e.Text, Message: message})
	}
	return r
}

// bare are a file's warnings without their places.
func (f *Taken) bare() []string {
	var out []string
	for _, n := range f.Notes {
		out = append(out, n.Bare())
	}
	return out
}
