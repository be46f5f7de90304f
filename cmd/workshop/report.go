package workshop

import (
	"context"
	"io"

	"trueplait/calibrate"
	"trueplait/model"
	"trueplait/report"
)

// provedBuilds is how many builds a report predicts at most, the newest: enough
// for every figure to be sure, and no more of a large log than a wait is worth.
// The proof alone predicts all.
const provedBuilds = 5_000

// Report writes the whole report. What takes long works on a copy of the
// observations, so that rows can be saved meanwhile.
func (b *Bench) Report(ctx context.Context, w io.Writer) error {
	page, rows, err := b.reportPage(ctx)
	if err != nil {
		return err
	}
	if err := b.workshop.judge(ctx, &page, rows); err != nil {
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
	rows, err := b.workshop.rows(ctx)
	return page, rows, err
}

// rows reads the observations that a report predicts and judges.
func (w *Workshop) rows(ctx context.Context) (*calibrate.Rows, error) {
	of := map[model.Quantity][]model.Observation{}
	for _, q := range []model.Quantity{model.Shot, model.Body, model.Weight, model.Length} {
		var err error
		if of[q], err = w.Src.Observations(ctx, q); err != nil {
			return nil, err
		}
	}
	return calibrate.NewRows(of), nil
}

// judge adds the proof of the newest builds and the product lines. It leaves
// the log alone.
func (w *Workshop) judge(ctx context.Context, page *report.Page, rows *calibrate.Rows) (err error) {
	page.Proof, err = calibrate.Prove(ctx, rows, calibrate.ProofOptions{
		KeepAll: w.opt.KeepAll, Seed: w.opt.Seed, Newest: provedBuilds, Calibration: page.Calibration})
	if err != nil {
		return err
	}
	page.ProofNewest = provedBuilds
	page.Lines, err = calibrate.Consistency(ctx, rows, page.Products, calibrate.ConsistencyOptions{})
	return err
}
