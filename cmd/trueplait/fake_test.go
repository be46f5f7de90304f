package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"time"

	"trueplait/calibrate"
	"trueplait/ingest"
	"trueplait/model"
	"trueplait/report"
	"trueplait/report/bench"
)

// fakeShop is a shop that expects every whip to weigh 400 g, and keeps what is
// saved.
type fakeShop struct {
	now    bench.Snapshot
	rows   map[string]model.Row // by id
	saved  []model.Entry
	saving func()
	broken error // of Save
}

func newFakeShop() *fakeShop {
	return &fakeShop{
		rows: map[string]model.Row{},
		now: bench.Snapshot{
			Today:  time.Date(2025, 7, 1, 9, 30, 0, 0, time.UTC),
			NextID: map[model.Kind]string{model.Builds: "W10", model.Fills: "F3", model.Checks: "K2"},
			Latest: model.Labels{Maker: "Arlo", Product: "bull", CoreBatch: "HC12", StrandBatch: "NC3", ShotBatch: "L2"},
			Labels: map[model.Effect][]string{
				model.Maker: {"Arlo", "Tamsin"}, model.Product: {"bull", "snake"},
				model.CoreBatch: {"HC12", "HC11"}, model.StrandBatch: {"NC3"}, model.ShotBatch: {"L2"},
			},
		},
	}
}

func (f *fakeShop) Now(context.Context) (*bench.Snapshot, error) { return &f.now, nil }

func (f *fakeShop) Understand(column, text string) (float64, model.Dimension, error) {
	if column == "length" || column == strandCut || column == strandLeft || column == "filled_length" || column == "checked_length" {
		mm, err := ingest.ParseLength(text, ingest.DecimalAuto)
		return mm, model.LengthDimension, err
	}
	g, err := ingest.ParseMass(text, ingest.DecimalAuto)
	return g, model.MassDimension, err
}

func (f *fakeShop) Read(ctx context.Context, e model.Entry) (*report.Reading, error) {
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	text := map[string]string{}
	for column, t := range e.Text {
		text[column] = t
	}
	r := &report.Reading{}
	if text[shotBefore] != "" {
		before, _, _ := f.Understand(shotBefore, text[shotBefore])
		after, _, _ := f.Understand(shotAfter, text[shotAfter])
		text[shotUsed] = fmt.Sprintf("%v g", before-after)
		r.ShotFrom = fmt.Sprintf("the tub, %s before and %s after", text[shotBefore], text[shotAfter])
	}
	var header, record []string
	for _, c := range ingest.Columns(e.Kind) {
		header, record = append(header, c.Name), append(record, text[c.Name])
	}
	var file bytes.Buffer
	w := csv.NewWriter(&file)
	if err := w.WriteAll([][]string{header, record}); err != nil {
		return nil, err
	}
	in, err := ingest.NewReader(&file, "entry", ingest.Options{})
	if err != nil {
		return nil, err
	}
	row, problems, err := in.Read()
	if err != nil {
		return nil, err
	}
	refused := &model.Refused{}
	for _, p := range problems {
		refused.Problems = append(refused.Problems, model.Problem{Column: p.Column, Text: p.Text, Message: p.Err.Error()})
	}
	if row != nil && f.rows[row.Key()] != nil && !e.Amend {
		refused.Problems = append(refused.Problems, model.Problem{Column: ingest.Columns(e.Kind)[0].Name, Text: row.Key(),
			Message: "is in the log already: give this one another id"})
	}
	if refused.Problems != nil {
		return nil, refused
	}
	r.Row = row
	if b, ok := row.(*model.Build); ok && model.Known(b.WeightG) {
		x := calibrate.Expected{Quantity: model.Weight, Measured: b.WeightG, Planned: 400, Today: calibrate.Interval{Median: 400, Low: 380, High: 420}}
		if b.WeightG > 420+model.GramsPerPound/2 {
			x.Slip = &calibrate.Whole{Unit: "pound", Off: 1, Fits: b.WeightG - model.GramsPerPound}
		}
		r.Today = append(r.Today, x)
	}
	return r, nil
}

func (f *fakeShop) Save(ctx context.Context, e model.Entry) (*report.Saved, error) {
	if f.saving != nil {
		f.saving()
	}
	if f.broken != nil {
		return nil, f.broken
	}
	r, err := f.Read(ctx, e)
	if err != nil {
		return nil, err
	}
	f.saved = append(f.saved, e)
	f.rows[r.Row.Key()] = r.Row
	return &report.Saved{Row: r.Row, Amended: e.Amend}, nil
}

func (f *fakeShop) Row(_ context.Context, kind model.Kind, id string) (*bench.Record, error) {
	if row := f.rows[id]; row != nil && row.Kind() == kind {
		return &bench.Record{Stated: row, Full: row}, nil
	}
	return nil, nil
}

var errBroken = errors.New("the disk is full")
