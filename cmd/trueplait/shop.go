package main

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"trueplait/calibrate"
	"trueplait/ingest"
	"trueplait/model"
	"trueplait/report"
	"trueplait/report/bench"
)

// shop is what entering a row needs of a workshop in use: see [bench.Shop].
type shop interface {
	Now(ctx context.Context) (*bench.Snapshot, error)
	Understand(column, text string) (value float64, of model.Dimension, err error)
	Read(ctx context.Context, e model.Entry) (*report.Reading, error)
	Save(ctx context.Context, e model.Entry) (*report.Saved, error)
	Row(ctx context.Context, kind model.Kind, id string) (*bench.Record, error)
}

// problem says what is wrong with one answer of a row that may lack others
// yet, "" for nothing.
func problem(ctx context.Context, s shop, a *answers, q question, text string) (string, error) {
	if q.column == shotBefore || q.column == shotAfter { // no row has them
		_, _, err := s.Understand(q.column, text)
		return fault(err), nil
	}
	_, err := s.Read(ctx, a.with(q.column, text).entry())
	var refused *model.Refused
	if !errors.As(err, &refused) {
		return "", err
	}
	return worded(s, q, text, refused), nil
}

// worded is what a refusal says of one answer. An amount has no header that
// could name its unit, so what is wrong with it is said without one.
func worded(s shop, q question, text string, refused *model.Refused) string {
	message := refused.About(q.column)
	if message == "" {
		return ""
	}
	if q.amount {
		if _, _, err := s.Understand(q.column, text); err != nil {
			return fault(err)
		}
	}
	return fmt.Sprintf("%q %s", text, message)
}

// fault is what an error says, "" for none.
func fault(err error) string {
	if err == nil {
		return ""
	}
	return err.Error()
}

// understood is an amount in two units, "" of any other answer.
func understood(s shop, q question, text string) string {
	if !q.amount || text == "" {
		return ""
	}
	value, of, err := s.Understand(q.column, text)
	switch {
	case err != nil: // zero, where a row may have it
		return ""
	case of == model.LengthDimension:
		return report.Length(value, report.Both)
	}
	return report.Mass(value, report.Both)
}

// nearestKnown is the known label most like one that the log does not know, ""
// where it knows it, or none that it could be mistaken for.
func nearestKnown(now *bench.Snapshot, q question, label string) string {
	known := now.Labels[q.effect]
	if q.effect == "" || label == "" || len(known) == 0 || slices.Contains(known, label) {
		return ""
	}
	return slices.MinFunc(known, func(a, b string) int { return ingest.Distance(label, a) - ingest.Distance(label, b) })
}

// slipped reports whether a figure looks like another unit, against the plan or
// against what is expected today, or like a whole unit too many or too few.
func slipped(r *report.Reading) bool {
	return slices.ContainsFunc(r.Today, func(e calibrate.Expected) bool {
		d := e.Quantity.Dimension()
		return e.Slip != nil || model.IsSlip(d, e.Measured/e.Planned) || model.IsSlip(d, e.Measured/e.Today.Median)
	})
}
