package workshop

import (
	"bytes"
	"context"

	"trueplait/calibrate"
	"trueplait/data"
	"trueplait/report"
)

// Save stores a calibration in the log and numbers it.
func (w *Workshop) Save(ctx context.Context, cal *calibrate.Calibration) error {
	print, err := w.Log.Fingerprint(ctx, w.opt.Through)
	if err != nil {
		return err
	}
	at, err := w.opt.Clock()
	if err != nil {
		return err
	}
	var result bytes.Buffer
	if err := report.CalibrationLine(&result, cal); err != nil {
		return err
	}
	saved := data.Calibration{
		Fingerprint: print,
		Options:     w.saveOptions(),
		Through:     cal.Through,
		Made:        at,
		Program:     w.opt.Program,
		JSON:        result.Bytes(),
	}
	for _, q := range cal.Quantities {
		for _, f := range q.Factors {
			saved.Factors = append(saved.Factors, data.SavedFactor{Quantity: q.Quantity, Labels: f.Labels, Factor: f.Median})
		}
	}
	cal.Number, err = w.Log.SaveCalibration(ctx, saved)
	return err
}
