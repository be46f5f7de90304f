package workshop

import (
	"context"
	"fmt"
	"io"

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
	saved := data.Calibration{
		Fingerprint: print,
		Options:     w.saveOptions(cal.Pool),
		Through:     cal.Through,
		Made:        at,
		Program:     w.opt.Program,
	}
	cal.Number, err = w.Log.SaveCalibration(ctx, saved, data.Result{
		JSON: func(to io.Writer) error { return report.CalibrationLine(to, cal) },
		Factors: func(yield func(data.SavedFactor) bool) {
			for i := range cal.Quantities {
				q := &cal.Quantities[i]
				for _, f := range q.Factors {
					if !yield(data.SavedFactor{Quantity: q.Quantity, Labels: f.Labels, Factor: f.Median}) {
						return
					}
				}
			}
		},
	})
	if err != nil {
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
