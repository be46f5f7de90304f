package data

import (
	"context"
	_ "embed"
	"fmt"
	"time"

	"trueplait/model"
)

//go:embed query/calibration_known.sql
var calibrationKnown string

//go:embed query/calibration_next.sql
var calibrationNext string

//go:embed query/calibration_add.sql
var calibrationAdd string

//go:embed query/calibration_factor_append.sql
var calibrationFactorAppend string

//go:embed query/calibration_dates.sql
var calibrationDates string

//go:embed query/calibrations.sql
var calibrationsQuery string

//go:embed query/calibration_factors.sql
var calibrationFactors string

// Calibration is a saved set of factors. It never changes.
type Calibration struct {
	Number      int       // from 1; given by SaveCalibration
	Fingerprint string    // of the rows it was made from: see [Log.Fingerprint]
	Options     string    // how it was made, as the caller writes it down
	Through     time.Time // the last row's date; zero: no rows
	Made        time.Time
	Program     string // version of the program that saved it; "": not noted, by an older one
	JSON        []byte // the whole result

	// NewestSource is the number of the newest file in the log when it was
	// saved, 0: there was none. Given by SaveCalibration; older programs did not
	// note it, and it is told by the time then.
	NewestSource int

	Factors []SavedFactor
}

// SavedFactor is what a plan made with the calibration contains of one
// quantity for one combination of labels (those of the quantity's effects).
type SavedFactor struct {
	Quantity model.Quantity
	Labels   model.Labels
	Factor   float64
}

// SaveCalibration adds a calibration and returns its number. One of the same
// fingerprint and options is there already: its number is returned and nothing
// is written, so that the same data and options always have the same number.
func (l *Log) SaveCalibration(ctx context.Context, c Calibration) (int, error) {
	var number int
	err := l.within(ctx, c.Made, func(im *Import) (err error) {
		number, err = im.calibration(ctx, c)
		return err
	})
	if err != nil {
		return 0, err
	}
	return number, nil
}

// calibration is SaveCalibration within a transaction.
func (im *Import) calibration(ctx context.Context, c Calibration) (int, error) {
	const what = "save calibration"
	var number int
	err := im.get(ctx, what, calibrationKnown, &number, c.Fingerprint, c.Options)
	if err != nil || number > 0 {
		return number, err
	}
	if err := im.get(ctx, what, calibrationNext, &number); err != nil {
		return 0, err
	}
	through := field{"through", &c.Through}
	date, err := through.value()
	if err != nil {
		return 0, im.fail(what, err)
	}
	by := field{"program", &c.Program}
	program, err := by.value()
	if err != nil {
		return 0, im.fail(what, err)
	}
	if _, err := im.exec(ctx, what, calibrationAdd,
		number, c.Fingerprint, c.Options, date, im.now, string(c.JSON), program); err != nil {
		return 0, err
	}
	var quantity string
	var factor float64
	labels := newLabels()
	fields := append(labels.fields[:], field{"number", &number}, field{"quantity", &quantity}, field{"factor", &factor})
	err = bulk(ctx, im.conn, calibrationFactorAppend, fields, func(add func() error) error {
		for _, f := range c.Factors {
			quantity, labels.Labels, factor = string(f.Quantity), f.Labels, f.Factor
			if err := add(); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return 0, im.fail(what, err)
	}
	return number, nil
}

// CalibrationNumber returns the number of the saved calibration of a
// fingerprint and options, 0 if there is none.
func (l *Log) CalibrationNumber(ctx context.Context, fingerprint, options string) (int, error) {
	var number int
	err := each(ctx, l.db, calibrationKnown, []any{&number}, func() error { return nil }, fingerprint, options)
	if err != nil {
		return 0, fmt.Errorf("data: calibration of the rows: %w", err)
	}
	return number, nil
}

// CalibrationDates lists the saved calibrations by number, each with its number
// and the date of its last row only.
func (l *Log) CalibrationDates(ctx context.Context) ([]Calibration, error) {
	var out []Calibration
	var c Calibration
	through := field{"through", &c.Through}
	err := each(ctx, l.db, calibrationDates, []any{&c.Number, &through}, func() error {
		out = append(out, c)
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("data: dates of calibrations: %w", err)
	}
	return out, nil
}

// Calibrations lists the saved calibrations by number, with their factors.
func (l *Log) Calibrations(ctx context.Context) ([]Calibration, error) {
	var out []Calibration
	at := map[int]int{} // place in out by number
	var c Calibration
	var result string
	through := field{"through", &c.Through}
	program := field{"program", &c.Program}
	targets := []any{&c.Number, &c.Fingerprint, &c.Options, &through, &c.Made, &result, &program, &c.NewestSource}
	err := each(ctx, l.db, calibrationsQuery, targets, func() error {
		next := c
		next.JSON = []byte(result)
		at[c.Number] = len(out)
		out = append(out, next)
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("data: calibrations: %w", err)
	}
	var number int
	var f SavedFactor
	labels := newLabels()
	err = each(ctx, l.db, calibrationFactors, labels.scanners([]any{&number, &f.Quantity}, &f.Factor), func() error {
		f.Labels = labels.Labels
		if i, ok := at[number]; ok { // in a damaged log it may not be
			out[i].Factors = append(out[i].Factors, f)
		}
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("data: factors of calibrations: %w", err)
	}
	return out, nil
}
