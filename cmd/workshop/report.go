package workshop

import (
	"context"
	"io"

	"trueplait/calibrate"
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
	known := func() (*calibrate.Calibration, error) { return page.Calibration, nil }
	if err := b.workshop.judge(ctx, &page, rows, known); err != nil {
		return err
	}
	return report.HTML(w, page)
}

// reportPage reads what a report needs of the log.
func (b *Bench) reportPage(ctx context.Context) (report.Page, *calibrate.Rows, error) {
	b.log.Lock()
	defer b.log.Unlock()
	page := report.Page{Version: b.workshop.opt.Program, Calibration: b.state.Load().Calibration}
	rows, err := b.workshop.readPage(ctx, &page)
	if err != nil {
		return page, nil, err
	}
	page.Promises, err = b.workshop.Promises(ctx, page.Calibration)
	return page, rows, err
}

// judge adds the product lines and the proof of the newest builds, which asks
// for the calibration last. It leaves the log alone.
func (w *Workshop) judge(ctx context.Context, page *report.Page, rows *calibrate.Rows, fit func() (*calibrate.Calibration, error)) (err error) {
	page.Lines, err = calibrate.Consistency(ctx, rows, page.Products, calibrate.ConsistencyOptions{})
	if err != nil {
		return err
	}
	page.ProofNewest = provedBuilds
	page.Proof, err = calibrate.Prove(ctx, rows, calibrate.ProofOptions{
		KeepAll: w.opt.KeepAll, Seed: w.opt.Seed, Newest: provedBuilds, Calibration: fit})
	return err
}
