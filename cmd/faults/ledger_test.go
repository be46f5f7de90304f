package faults

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"math"
	"testing"
	"time"

	"trueplait/data"
	"trueplait/model"
)

// ledger is what a log holds, as far as the changes of these tests go.
type ledger struct {
	Rows         map[string]figures // by kind and id, such as "builds W1"
	Replaced     map[string]int     // times that an amendment replaced the row
	Calibrations int
	Plans        map[string]bool // open builds
}

// figures are what was measured of a row, in g and mm, 0 where nothing was.
type figures struct {
	MassG, LengthMM, ShotG float64
}

func (l ledger) clone() ledger {
	l.Rows, l.Replaced, l.Plans = maps.Clone(l.Rows), maps.Clone(l.Replaced), maps.Clone(l.Plans)
	return l
}

// read opens a log as the next command would, for writing, and reads all of it.
// A row that is there twice, or a calibration that is not whole, is an error.
func read(t *testing.T, path string) (l ledger, err error) {
	l = ledger{Rows: map[string]figures{}, Replaced: map[string]int{}, Plans: map[string]bool{}}
	log, err := data.Open(t.Context(), path, data.ReadWrite)
	if err != nil {
		return l, err
	}
	defer func() { err = errors.Join(err, log.Close()) }()
	for _, kind := range model.Kinds {
		for row, err := range log.Rows(t.Context(), kind, time.Time{}) {
			if err != nil {
				return l, err
			}
			name := fmt.Sprintf("%s %s", kind, row.Key())
			if kind == model.Parts { // a list has one key
				name = "parts " + row.From().String()
			}
			if _, twice := l.Rows[name]; twice {
				return l, fmt.Errorf("%s is there twice", name)
			}
			l.Rows[name] = measured(row)
		}
	}
	amended, err := log.Amendments(t.Context())
	if err != nil {
		return l, err
	}
	for _, a := range amended {
		l.Replaced[fmt.Sprintf("%s %s", a.Row.Kind(), a.Row.Key())]++
	}
	plans, err := log.OpenBuilds(t.Context())
	if err != nil {
		return l, err
	}
	for _, p := range plans {
		if !(p.PredictedWeightG > 0 && p.PredictedShotG > 0 && p.PredictedLengthMM > 0) {
			return l, fmt.Errorf("the plan of %s lacks figures: %+v", p.ID, p)
		}
		l.Plans[p.ID] = true
	}
	l.Calibrations, err = calibrations(t, log)
	return l, err
}

// calibrations counts the saved ones, each of which must be whole.
func calibrations(t *testing.T, log *data.Log) (int, error) {
	saved, err := log.Calibrations(t.Context())
	if err != nil {
		return 0, err
	}
	for i, c := range saved {
		var text bytes.Buffer
		if err := log.WriteResult(t.Context(), c.Number, &text); err != nil {
			return 0, err
		}
		factors, err := log.SavedFactors(t.Context(), c.Number)
		if err != nil {
			return 0, err
		}
		var result struct {
			Quantities []struct{ Factors []json.RawMessage }
		}
		if err := json.Unmarshal(text.Bytes(), &result); err != nil {
			return 0, fmt.Errorf("calibration %d: %w", c.Number, err)
		}
		stated := 0
		for _, q := range result.Quantities {
			stated += len(q.Factors)
		}
		if c.Number != i+1 || stated == 0 || len(factors) != stated {
			return 0, fmt.Errorf("calibration %d, number %d, states %d factors and has %d", i+1, c.Number, stated, len(factors))
		}
	}
	return len(saved), nil
}

// measured are the figures of a row.
func measured(row model.Row) figures {
	known := func(x float64) float64 {
		if math.IsNaN(x) {
			return 0
		}
		return x
	}
	switch r := row.(type) {
	case *model.Build:
		return figures{known(r.WeightG), known(r.LengthMM), known(r.ShotUsedG)}
	case *model.Fill:
		return figures{LengthMM: known(r.FilledLengthMM), ShotG: known(r.ShotMassG)}
	case *model.Check:
		return figures{MassG: known(r.CheckedMassG), LengthMM: known(r.CheckedLengthMM)}
	}
	return figures{}
}
