package workshop

import (
	"bytes"
	"context"
	"fmt"

	"trueplait/calibrate"
	"trueplait/data"
	"trueplait/report"
)

// Save stores a calibration in the log and numbers it. In a log that workshops
// share, one of all rows that leaves out what looks wrong is shared with the
// others, if it borrowed nothing itself.
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
		Options:     w.saveOptions(cal.Pool),
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
	if cal.Number, err = w.Log.SaveCalibration(ctx, saved); err != nil {
		return err
	}
	if w.guild == nil || w.opt.KeepAll || !w.opt.Through.IsZero() || cal.Pool != nil {
		return nil
	}
	if err := w.guild.SharePool(ctx, cal.Share()); err != nil {
		return fmt.Errorf("calibration %d is saved, but not shared with the other workshops: %w", cal.Number, err)
	}
	return nil
}
