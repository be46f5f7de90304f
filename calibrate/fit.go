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
}

// Coverage of the limits that come with factors.
const factorCoverage = 0.95

// Fit calibrates every quantity from the rows of src.
//
// Without any row of a quantity its factor is 1, without limits and with a
// warning.
func Fit(ctx context.Context, src Source, opt Options) (*Calibration, error) {
	sum, err := src.Summary(ctx)
	if err != nil {
		return nil, err
	}
	c := &Calibration{
		Through: sum.Through, Builds: sum.Builds, Fills: sum.Fills, Checks: sum.Checks,
		Summary:    sum,
		Quantities: make([]QuantityFit, len(model.Quantities)),
	}
	var wg sync.WaitGroup
	defer wg.Wait()
	var shot *screened // what it set aside, body needs to know
	residuals := map[model.Quantity]*model.Residuals{}
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
		var combinations []model.Labels
		if len(scr.sys.effects) > 0 {
			if combinations, err = src.Combinations(ctx, q, scr.sys.effects); err != nil {
				return nil, fmt.Errorf("%s: %w", q, err)
			}
		}
		rows, err := src.Newest(ctx, q, driftRows)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", q, err)
		}
		wg.Wait()
		wg.Go(func() {
			f.Drift = scr.drifts(q, rows)
			f.describe(q, scr, list, combinations, opt.For)
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
	f.factors(seen, asked)
	f.SetAside = setAside(q, excluded, scr.aside, f.Overall.Median)
	f.Warnings = f.warnings(scr)
	if !s.large() {
		s.forget()
	}
}

// factors fills overall, the factors of combinations, and the makers'.
func (f *QuantityFit) factors(seen, asked []model.Labels) {
	f.Factors = make([]Factor, 0, len(seen)+len(asked))
	for i, l := range slices.Concat(seen, asked) {
		factor := Factor{Interval: Interval{1, math.NaN(), math.NaN()}}
		for _, e := range f.Effects {
			factor.Labels.Set(e, l.Get(e))
			if i >= len(seen) && l.Get(e) == "" {
				factor.Labels.Set(e, model.NewLevel)
			}
		}
		f.Factors = append(f.Factors, factor)
	}
	if f.Posterior == nil {
		return
	}
	s := f.Posterior.sys
	makers := f.linkedMakers()
	targets := make([]target, 0, 1+len(f.Factors)+len(makers))
	targets = append(targets, target{contrast: contrast{fixed: 1}})
	rows := s.rowsOf()
	levels := make([]int32, 0, len(f.Factors)*len(s.effects)) // of all
	for i := range f.Factors {
		at := s.cell(&model.Cell{Labels: f.Factors[i].Labels}).at
		f.Factors[i].Rows = rows[at]
		c := s.contrastAt(&at, levels)
		levels = levels[:len(levels)+len(c.levels)]
		targets = append(targets, target{contrast: c})
	}
	for i, level := range makers {
		f.Makers = append(f.Makers, MakerFactor{Maker: s.levels[level].name, Rows: s.levels[level].rows})
		targets = append(targets, target{contrast: fromMean(makers, i)})
	}
	intervals := make([]Interval, len(targets))
	f.Posterior.eachMixture(targets, func(t int, m *Mixture) { intervals[t] = m.Interval(factorCoverage) })
	f.Overall = intervals[0]
	for i := range f.Factors {
		f.Factors[i].Interval = intervals[1+i]
	}
	for i := range f.Makers {
		f.Makers[i].Interval = intervals[1+len(f.Factors)+i]
	}
}

// linkedMakers returns the levels of the makers whose effects can be told from
// their batches'; none for a single one, who has nobody to differ from.
func (f *QuantityFit) linkedMakers() []int32 {
	apart := map[string]bool{model.CheckLevel: true}
	for _, u := range f.Unlinked {
		for _, m := range u.Makers {
			apart[m] = true
		}
	}
	s := f.Posterior.sys
	var out []int32
	for i, l := range s.levels {
		if s.effects[l.effect] == model.Maker && !apart[l.name] {
			out = append(out, int32(i))
		}
	}
	if len(out) < 2 {
		return nil
	}
	return out
}

// fromMean is the contrast of levels[i] with the mean of levels. The mean of
// very many is μ itself, near enough, and not worth the sum.
func fromMean(levels []int32, i int) contrast {
	const many = 24
	if len(levels) > many {
		return contrast{levels: levels[i : i+1]}
	}
	c := contrast{levels: levels, weights: make([]float64, len(levels))}
	for j := range c.weights {
		c.weights[j] = -1 / float64(len(levels))
	}
	c.weights[i]++
	return c
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

// rowsOf counts the rows of each combination of levels.
func (s *system) rowsOf() map[[maxEffects]int32]int {
	rows := make(map[[maxEffects]int32]int, len(s.cells))
	for i := range s.cells {
		rows[s.cells[i].at] += int(s.cells[i].n)
	}
	return rows
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
