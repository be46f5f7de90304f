package calibrate

import (
	"context"
	"fmt"
	"math"
	"slices"
	"sync"

	"trueplait/model"
)

// Options of a calibration.
type Options struct {
	// KeepAll fits every row that has a ratio: nothing is set aside. The
	// Source must have been opened to offer unit slips and rows set aside by
	// hand as well.
	KeepAll bool

	// For asks for factors of these combinations besides those seen. A label
	// that is blank, model.NewLevel or unknown counts as never seen.
	For []model.Labels

	// Pool lends priors: the means and spreads of other workshops take the
	// place of the usual ones. nil: the fit stands on its own rows.
	Pool *model.Pool
}

// Coverage of the limits that come with factors.
const factorCoverage = 0.95

// Fit calibrates every quantity from the rows of src.
//
// Without any row of a quantity its factor is 1, without limits and with a
// warning. It returns a [*PoolError] where there is a pool of fewer than
// model.LeastPool workshops.
func Fit(ctx context.Context, src Source, opt Options) (*Calibration, error) {
	if opt.Pool != nil && opt.Pool.Workshops < model.LeastPool {
		return nil, &PoolError{opt.Pool.Workshops}
	}
	sum, err := src.Summary(ctx)
	if err != nil {
		return nil, err
	}
	c := &Calibration{
		Through: sum.Through, Builds: sum.Builds, Fills: sum.Fills, Checks: sum.Checks,
		Summary:    sum,
		Quantities: make([]QuantityFit, len(model.Quantities)),
	}
	if opt.Pool != nil {
		c.Pool = &model.Pool{Workshops: opt.Pool.Workshops}
	}
	var wg sync.WaitGroup
	defer wg.Wait()
	var shot *screened // what it set aside, body needs to know
	residuals := map[model.Quantity]*model.Residuals{}
	var built combinations
	// One quantity is described beside the screening of the next, no more: the
	// cells of a large log are not small. Weight has the most effects and comes
	// first.
	for _, q := range []model.Quantity{model.Weight, model.Shot, model.Body, model.Length, model.Strand} {
		f := &c.Quantities[slices.Index(model.Quantities, q)]
		scr, list, err := fitRows(ctx, src, q, shot, opt)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", q, err)
		}
		if q == model.Shot {
			shot = &screened{aside: scr.aside}
		}
		residuals[q] = scr.residuals(q)
		if opt.Pool != nil {
			scr.sys.borrow(opt.Pool, q, c.Pool)
		}
		seen, err := built.of(ctx, src, q, scr.sys.effects)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", q, err)
		}
		rows, err := src.Newest(ctx, q, driftRows)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", q, err)
		}
		wg.Wait()
		wg.Go(func() {
			f.Drift = scr.drifts(q, rows)
			f.describe(q, scr, list, seen, opt.For)
		})
	}
	c.Correlation, err = correlation(ctx, src, residuals[model.Shot], residuals[model.Body])
	return c, err
}

// fitRows screens the rows of one quantity and lists those that no fit may
// use. Body leaves out what was set aside in shot.
func fitRows(ctx context.Context, src Source, q model.Quantity, shot *screened, opt Options) (*screened, []model.Excluded, error) {
	excluded, err := src.Excluded(ctx, q)
	if err != nil {
		return nil, nil, err
	}
	var left []model.RowKey
	if q == model.Body && shot != nil {
		more, err := shotAside(ctx, src, shot, excluded)
		if err != nil {
			return nil, nil, err
		}
		for _, x := range more {
			left = append(left, x.Key)
		}
		excluded = append(excluded, more...)
	}
	scr, err := screen(ctx, src, q, left, opt.KeepAll)
	return scr, excluded, err
}

// shotAside returns the builds that body leaves out because their shot was set
// aside.
func shotAside(ctx context.Context, src Source, shot *screened, excluded []model.Excluded) ([]model.Excluded, error) {
	already := map[model.RowKey]bool{}
	for _, x := range excluded {
		already[x.Key] = true
	}
	var keys []model.RowKey
	for _, f := range shot.aside {
		if !already[f.Key] {
			keys = append(keys, f.Key)
		}
	}
	if len(keys) == 0 {
		return nil, nil
	}
	ratio, err := src.Ratios(ctx, model.Body, keys)
	if err != nil {
		return nil, err
	}
	var out []model.Excluded
	for _, f := range shot.aside {
		if r, ok := ratio[f.Key]; ok && !already[f.Key] {
			out = append(out, model.Excluded{Key: f.Key, Date: f.Date, Ratio: r, Reason: model.AsideShot})
		}
	}
	return out, nil
}

// correlation is that of the scatter of shot and body over the builds kept in
// both, shrunk by n/(n+10) and 0 for fewer than 5.
func correlation(ctx context.Context, src Source, shot, body *model.Residuals) (float64, error) {
	if shot == nil || body == nil {
		return 0, nil
	}
	r, n, err := src.Correlation(ctx, *shot, *body)
	if err != nil || n < 5 || math.IsNaN(r) {
		return 0, err
	}
	return r * float64(n) / float64(n+10), nil
}

// describe works out everything that is told about a quantity, and uses up its
// fit.
func (f *QuantityFit) describe(q model.Quantity, scr *screened, excluded []model.Excluded, seen, asked []model.Labels) {
	s := scr.sys
	f.Quantity, f.Effects, f.Method = q, s.effects, s.method()
	f.Rows = int(s.n)
	f.Shifts = scr.shifts
	f.Overall = Interval{1, math.NaN(), math.NaN()}
	if scr.fit != nil {
		f.REML = scr.fit.report()
	}
	f.Posterior = scr.posterior()
	f.Unlinked = unlinked(q, scr.cells)
	f.factors(scr.cells, seen, asked)
	f.SetAside = setAside(q, excluded, scr.aside, f.Overall.Median)
	f.Warnings = f.warnings(scr)
	if !s.large() {
		s.forget()
	}
}

// Labels returns the labels of an effect that the fit's rows have, in order.
func (f *QuantityFit) Labels(e model.Effect) []string {
	if f.Posterior == nil {
		return nil
	}
	var out []string
	for _, l := range f.Posterior.sys.levels {
		if f.Posterior.sys.effects[l.effect] == e {
			out = append(out, l.name)
		}
	}
	return out
}

// warnings are the caveats shown beside the numbers.
func (f *QuantityFit) warnings(scr *screened) []string {
	var out []string
	if f.Rows == 0 {
		return []string{"nothing measured yet: the factor stays 1 and has no limits"}
	}
	if f.Method == largeMethod {
		out = append(out, fmt.Sprintf("%d levels: worked out by an approximate method; limits are good to about 5 %%", len(scr.sys.levels)))
	}
	for _, u := range f.Unlinked {
		out = append(out, fmt.Sprintf("no batch shared by these makers and the others: %s; only the product of their maker and batch factors is known", list(u.Makers)))
	}
	for _, x := range f.Shifts {
		out = append(out, fmt.Sprintf("%s %s changed: %d rows from %s to %s are %s the fit; kept, because they agree with each other", x.Effect.Word(), x.Level, x.Rows, x.First.ID, x.Last.ID, offBy(x.Ratio)))
	}
	if f.Quantity == model.Shot {
		out = append(out, fillWarnings(scr.cells)...)
	}
	return out
}

// list joins names: "a, b and c".
func list(names []string) string {
	n := len(names)
	if n < 2 {
		return fmt.Sprint(append(names, "")[0])
	}
	out := names[0]
	for _, s := range names[1 : n-1] {
		out += ", " + s
	}
	return out + " and " + names[n-1]
}
