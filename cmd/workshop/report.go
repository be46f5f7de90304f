package workshop

import (
	"context"
	"io"

	"trueplait/calibrate"
	"trueplait/model"
	"trueplait/report"
)

// Report writes the whole report. What takes long works on a copy of the
// observations, so that rows can be saved meanwhile.
func (b *Bench) Report(ctx context.Context, w io.Writer) error {
	page, rows, err := b.reportPage(ctx)
	if err != nil {
		return err
	}
	opt := b.workshop.opt
	if page.Proof, err = calibrate.Prove(ctx, rows, calibrate.ProofOptions{KeepAll: opt.KeepAll, Seed: opt.Seed}); err != nil {
		return err
	}
	if page.Lines, err = calibrate.Consistency(ctx, rows, page.Products, calibrate.ConsistencyOptions{}); err != nil {
		return err
	}
	return report.HTML(w, page)
}

// reportPage reads what a report needs of the log.
func (b *Bench) reportPage(ctx context.Context) (report.Page, *calibrate.Rows, error) {
	b.log.Lock()
	defer b.log.Unlock()
	page := report.Page{Version: b.workshop.opt.Program, Calibration: b.state.Load().Calibration}
	if err := b.workshop.fillPage(ctx, &page); err != nil {
		return page, nil, err
	}
	of := map[model.Quantity][]model.Observation{}
	for _, q := range model.Quantities {
		var err error
		if of[q], err = b.workshop.Src.Observations(ctx, q); err != nil {
			return page, nil, err
		}
	}
	return page, calibrate.NewRows(of), nil
}
