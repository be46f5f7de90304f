package workshop

import (
	"context"
	"maps"
	"slices"
	"sync"

	"trueplait/calibrate"
	"trueplait/model"
	"trueplait/report"
)

// promised is how often the promises of a report hold.
const promised = 0.95

// Promises works out one promise per product that has builds and planned
// figures, for the labels of its latest build.
func (w *Workshop) Promises(ctx context.Context, cal *calibrate.Calibration) ([]*calibrate.Promise, error) {
	latest, err := w.Src.LatestByProduct(ctx)
	if err != nil {
		return nil, err
	}
	products := slices.Sorted(maps.Keys(latest))
	planned, err := w.plannedOf(ctx, products)
	if err != nil {
		return nil, err
	}
	src := deviations{w.Src, map[model.Quantity]float64{}}
	var out []*calibrate.Promise
	for _, product := range products {
		figures, ok := planned[product]
		if !ok { // nothing to compare with
			continue
		}
		promise, err := cal.Promise(ctx, src, figures, calibrate.PromiseOptions{
			Labels: latest[product], Coverage: promised, Of: 1, WithinG: model.Unknown, AroundG: model.Unknown, Brief: true})
		if err != nil {
			return nil, err
		}
		out = append(out, promise)
	}
	return out, nil
}

// deviations is the Source of promises of one calibration and one coverage: how
// far builds lie from the plan is the same for all products, and is asked once.
type deviations struct {
	calibrate.Source
	of map[model.Quantity]float64
}

// Deviation implements calibrate.Source.
func (d deviations) Deviation(ctx context.Context, q model.Quantity, aside []model.RowKey, share float64) (float64, error) {
	if x, ok := d.of[q]; ok {
		return x, nil
	}
	x, err := d.Source.Deviation(ctx, q, aside, share)
	if err == nil {
		d.of[q] = x
	}
	return x, err
}

// Page gathers all that the report shows. The proof and the product lines need
// nothing of the log but its observations: they are worked out beside the fit.
func (w *Workshop) Page(ctx context.Context, style report.Style) (report.Page, error) {
	page := report.Page{Version: w.opt.Program, Style: style}
	rows, err := w.readPage(ctx, &page)
	if err != nil {
		return page, err
	}
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	fit := sync.OnceValues(func() (*calibrate.Calibration, error) { return w.Fit(ctx) })
	judged := make(chan error, 1)
	go func() { judged <- w.judge(ctx, &page, rows, fit) }()
	if page.Calibration, err = fit(); err == nil {
		page.Promises, err = w.Promises(ctx, page.Calibration)
	}
	if err != nil {
		stop()
	}
	if wrong := <-judged; err == nil {
		err = wrong
	}
	return page, err
}

// readPage reads what a page shows as it is in the log, and the observations
// that it predicts and judges.
func (w *Workshop) readPage(ctx context.Context, page *report.Page) (*calibrate.Rows, error) {
	saved, err := w.Log.Calibrations(ctx)
	if err != nil {
		return nil, err
	}
	for _, s := range saved {
		page.Calibrations = append(page.Calibrations, report.SavedMark{Number: s.Number, Through: s.Through})
	}
	if page.Products, err = w.Products(ctx); err != nil {
		return nil, err
	}
	for row, err := range w.Log.Rows(ctx, model.Fills, w.opt.Through) {
		if err != nil {
			return nil, err
		}
		page.Fills = append(page.Fills, row.(*model.Fill))
	}
	of := map[model.Quantity][]model.Observation{}
	for _, q := range []model.Quantity{model.Shot, model.Body, model.Weight, model.Length} {
		if of[q], err = w.Src.Observations(ctx, q); err != nil {
			return nil, err
		}
	}
	return calibrate.NewRows(of), nil
}
