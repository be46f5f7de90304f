package workshop

import (
	"context"
	"errors"
	"fmt"
	"io"

	"trueplait/calibrate"
	"trueplait/data"
	"trueplait/model"
	"trueplait/report"
)

// tries are how often a calibration is fitted while other programs write to the
// log. A fit of a shop's log takes tenths of a second.
const tries = 5

// Calibrate fits as [Workshop.Fit] does, from the rows as they are now, with what
// is borrowed from a pool, if any, and saves the calibration, which numbers it. On
// a server, files may come in meanwhile; it is fitted again then, so that what is
// saved is of the rows that it says. Errors: [data.ErrChanged], where they come in
// too fast.
//
// In a log that workshops share, a calibration of all rows that leaves out what
// looks wrong is shared with the others, if it borrowed nothing itself.
func (w *Workshop) Calibrate(ctx context.Context, pool *model.Pool, asked ...model.Labels) (*calibrate.Calibration, error) {
	for n := 1; ; n++ {
		cal, err := w.calibrate(ctx, pool, asked)
		if n == tries || !errors.Is(err, data.ErrChanged) {
			return cal, err
		}
	}
}

// calibrate is one try of Calibrate.
func (w *Workshop) calibrate(ctx context.Context, pool *model.Pool, asked []model.Labels) (*calibrate.Calibration, error) {
	newest, err := w.Log.NewestSource(ctx)
	if err != nil {
		return nil, err
	}
	if err := w.Reread(ctx); err != nil {
		return nil, err
	}
	if err := w.Known(ctx, asked...); err != nil {
		return nil, err
	}
	cal, err := calibrate.Fit(ctx, w.Src, calibrate.Options{KeepAll: w.opt.KeepAll, For: asked, Pool: pool})
	if err != nil {
		return nil, err
	}
	return cal, w.save(ctx, cal, newest)
}

// save stores a calibration in the log, numbers and shares it. newest is the
// number of the newest file that it knows of.
func (w *Workshop) save(ctx context.Context, cal *calibrate.Calibration, newest int) error {
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

		NewestSource: newest,
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
