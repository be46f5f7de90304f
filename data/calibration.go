package data

import (
	"context"
	_ "embed"
	"errors"
	"fmt"
	"io"
	"iter"
	"time"

	"trueplait/model"
)

//go:embed query/calibration_known.sql
var calibrationKnown string

//go:embed query/calibration_next.sql
var calibrationNext string

//go:embed query/calibration_add.sql
var calibrationAdd string

//go:embed query/calibration_piece_add.sql
var calibrationPieceAdd string

//go:embed query/calibration_factor_append.sql
var calibrationFactorAppend string

//go:embed query/calibration_result.sql
var calibrationResult string

//go:embed query/calibration_pieces.sql
var calibrationPieces string

//go:embed query/calibrations.sql
var calibrationsQuery string

//go:embed query/calibration_factors.sql
var calibrationFactors string

// ErrChanged is what SaveCalibration says where another program imported a file
// since the rows were read.
var ErrChanged = errors.New("another program writes to the log just now: try again")

// Calibration is a saved set of factors. It never changes.
type Calibration struct {
	Number      int       // from 1; given by SaveCalibration
	Fingerprint string    // of the rows it was made from: see [Log.Fingerprint]
	Options     string    // how it was made, as the caller writes it down
	Through     time.Time // the last row's date; zero: no rows
	Made        time.Time
	Program     string // version of the program that saved it; "": not noted, by an older one

	// NewestSource is the number of the newest file in the log when it was
	// saved, 0: there was none. Older programs did not note it, and it is told by
	// the time then. SaveCalibration takes what [Log.NewestSource] said before the
	// rows were read, and refuses what is no longer so.
	NewestSource int
}

// Result is what a calibration found, as it is saved: neither is ever in memory
// whole, for there may be millions of factors.
type Result struct {
	JSON    func(io.Writer) error // writes all of it
	Factors iter.Seq[SavedFactor] // what plans take of it
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
// Errors: [ErrChanged].
func (l *Log) SaveCalibration(ctx context.Context, c Calibration, r Result) (int, error) {
	var number int
	err := l.within(ctx, c.Made, func(im *Import) (err error) {
		number, err = im.calibration(ctx, c, r)
		return err
	})
	if err != nil {
		return 0, err
	}
	return number, nil
}

const saveCalibration = "save calibration" // what fails

// calibration is SaveCalibration within a transaction.
func (im *Import) calibration(ctx context.Context, c Calibration, r Result) (int, error) {
	if c.NewestSource != im.first-1 {
		return 0, im.fail(saveCalibration, ErrChanged)
	}
	var number int
	err := im.get(ctx, saveCalibration, calibrationKnown, &number, c.Fingerprint, c.Options)
	if err != nil || number > 0 {
		return number, err
	}
	if err := im.get(ctx, saveCalibration, calibrationNext, &number); err != nil {
		return 0, err
	}
	result, err := im.result(ctx, number, r)
	if err != nil {
		return 0, err
	}
	var row [3]any // of what may be absent
	for i, f := range []field{{"through", &c.Through}, {"result", &result}, {"program", &c.Program}} {
		if row[i], err = f.value(); err != nil {
			return 0, im.fail(saveCalibration, err)
		}
	}
	_, err = im.exec(ctx, saveCalibration, calibrationAdd, number, c.Fingerprint, c.Options, row[0], im.now, row[1], row[2])
	if err != nil {
		return 0, err
	}
	return number, im.factors(number, r.Factors)
}

// result keeps the JSON of a calibration in pieces and returns "", or returns
// one that is no longer than a piece.
func (im *Import) result(ctx context.Context, number int, r Result) (short string, err error) {
	p := newPieces(func(position int, packed []byte) error {
		_, err := im.exec(ctx, saveCalibration, calibrationPieceAdd, number, position, packed)
		return err
	})
	defer p.discard()
	if err := r.JSON(p); err != nil {
		return "", im.fail(saveCalibration, err)
	}
	if p.count == 0 {
		return string(p.piece), nil
	}
	return "", p.flush()
}

// factors saves the factors of a calibration.
func (im *Import) factors(number int, all iter.Seq[SavedFactor]) error {
	var quantity string
	var factor float64
	labels := newLabels()
	fields := append(labels.fields[:], field{"number", &number}, field{"quantity", &quantity}, field{"factor", &factor})
	err := bulk(im.ctx, im.conn, calibrationFactorAppend, fields, func(add func() error) error {
		for f := range all {
			quantity, labels.Labels, factor = string(f.Quantity), f.Labels, f.Factor
			if err := add(); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return im.fail(saveCalibration, err)
	}
	return nil
}

// NewestSource is the number of the newest file in the log, 0 if there is none.
func (l *Log) NewestSource(ctx context.Context) (int, error) {
	var next int
	if err := l.db.QueryRowContext(ctx, sourceNext).Scan(&next); err != nil {
		return 0, fmt.Errorf("data: newest file: %w", err)
	}
	return next - 1, nil
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

// Calibrations lists the saved calibrations by number.
func (l *Log) Calibrations(ctx context.Context) ([]Calibration, error) {
	var out []Calibration
	var c Calibration
	through := field{"through", &c.Through}
	program := field{"program", &c.Program}
	targets := []any{&c.Number, &c.Fingerprint, &c.Options, &through, &c.Made, &program, &c.NewestSource}
	err := each(ctx, l.db, calibrationsQuery, targets, func() error {
		out = append(out, c)
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("data: calibrations: %w", err)
	}
	return out, nil
}

// WriteResult writes the result of a saved calibration to w, as it was saved.
func (l *Log) WriteResult(ctx context.Context, number int, w io.Writer) error {
	var whole string
	err := each(ctx, l.db, calibrationResult, []any{&whole}, func() error {
		_, err := io.WriteString(w, whole)
		return err
	}, number)
	var piece []byte
	if err == nil {
		err = each(ctx, l.db, calibrationPieces, []any{&piece}, func() error { return unpack(piece, w) }, number)
	}
	if err != nil {
		return fmt.Errorf("data: result of calibration %d: %w", number, err)
	}
	return nil
}

// SavedFactors lists the factors of a saved calibration, by quantity, then
// labels.
func (l *Log) SavedFactors(ctx context.Context, number int) ([]SavedFactor, error) {
	var out []SavedFactor
	var f SavedFactor
	labels := newLabels()
	err := each(ctx, l.db, calibrationFactors, labels.scanners([]any{&f.Quantity}, &f.Factor), func() error {
		f.Labels = labels.Labels
		out = append(out, f)
		return nil
	}, number)
	if err != nil {
		return nil, fmt.Errorf("data: factors of calibration %d: %w", number, err)
	}
	return out, nil
}
