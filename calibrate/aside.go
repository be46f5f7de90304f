package calibrate

import (
	"cmp"
	"context"
	"math"
	"slices"

	"trueplait/model"
)

// Settings of the rounds that set rows aside.
const (
	asideRounds  = 20
	asideMinRows = 8  // fewer rows cannot tell an error from a spread
	asideShare   = 10 // at most one row in this many is set aside as far out
	shiftAlike   = 3  // scales that rows of one shift lie apart at most
)

// screened is one quantity fitted to the rows that are worth fitting.
type screened struct {
	sys    *system
	fit    *remlFit // nil where nothing can be estimated
	cells  []model.Cell
	rows   int             // eligible rows
	scale  float64         // of robust residuals; 0 where there are too few rows
	aside  []model.Flagged // set aside by this screen
	out    []model.RowKey  // everything the fit leaves out, besides what Source excludes
	shifts []Shift
}

// residuals says how the residuals of the fitted rows come about; nil where
// nothing can be estimated.
func (s *screened) residuals(q model.Quantity) *model.Residuals {
	if s.fit == nil {
		return nil
	}
	return &model.Residuals{Quantity: q, Fitted: s.fit.fitted(), Aside: s.out}
}

// screener repeats fit and scan until the set aside no longer changes.
type screener struct {
	src  Source
	q    model.Quantity
	left []model.RowKey // never in the fit, for reasons outside it
	keep map[model.RowKey]bool
	scr  screened

	cells *lessCells // of all rows but those left out, less those set aside
	whole *system    // with none set aside
}

// screen fits q by REML, sets aside what is far from the fit, refits and
// re-admits, until the set is the one before. left are rows that stay out
// throughout; off switches the setting aside off.
func screen(ctx context.Context, src Source, q model.Quantity, left []model.RowKey, off bool) (*screened, error) {
	x := &screener{src: src, q: q, left: left, keep: map[model.RowKey]bool{}}
	var aside []model.Flagged
	var past [][]model.Flagged
	var theta []float64
	rough, fresh := !off, true // the fit is a rough one; it began from every start
	for range asideRounds {
		if err := x.refit(ctx, aside, theta, rough); err != nil {
			return nil, err
		}
		if off || x.scr.fit == nil {
			break
		}
		fresh = theta == nil
		rough = rough && x.scr.sys.n > manyStarts && !x.scr.sys.large()
		theta = x.scr.fit.theta
		next, err := x.scan(ctx)
		if err != nil {
			return nil, err
		}
		if rough { // an end in it would be none
			rough, aside = false, next
			continue
		}
		if sameRows(next, aside) {
			break
		}
		past = append(past, aside)
		if i := slices.IndexFunc(past, func(p []model.Flagged) bool { return sameRows(p, next) }); i >= 0 {
			aside = inAll(past[i:])
			break
		}
		aside = next
	}
	// Once more from every start, if there is more than one: the rounds began
	// where the one before ended.
	few := x.scr.sys.n <= manyStarts
	if few {
		theta = nil
	}
	if few && !fresh || !sameRows(aside, x.scr.aside) {
		if err := x.refit(ctx, aside, theta, false); err != nil {
			return nil, err
		}
	}
	slices.SortFunc(x.scr.aside, func(a, b model.Flagged) int {
		return cmp.Or(a.Date.Compare(b.Date), cmp.Compare(a.Key.ID, b.Key.ID))
	})
	scr := x.scr // without the system of all rows
	scr.cells = x.cells.left()
	return &scr, nil
}

// refit fits the rows that are neither left out nor in aside.
func (x *screener) refit(ctx context.Context, aside []model.Flagged, start []float64, rough bool) error {
	if x.scr.sys == nil {
		all, err := x.src.Cells(ctx, x.q, x.left)
		if err != nil {
			return err
		}
		x.cells, x.whole = newLessCells(x.q, all), newSystem(x.q.Effects(), all, nil)
		x.scr.sys, x.scr.out = x.whole, x.left
	}
	if !sameRows(aside, x.scr.aside) {
		x.cells.take(aside)
		x.scr.sys = x.whole.less(x.cells)
		x.scr.out = slices.Clone(x.left)
		for _, f := range aside {
			x.scr.out = append(x.scr.out, f.Key)
		}
	}
	x.scr.aside = aside
	s := x.scr.sys
	if start != nil && len(start) != len(s.effects) {
		start = nil // an effect lost its last label
	}
	if rough && !s.large() {
		x.scr.fit = s.roughREML()
		return nil
	}
	fit, err := s.fit(start)
	x.scr.fit = fit
	return err
}

// scan returns the rows that the present fit would set aside.
func (x *screener) scan(ctx context.Context) ([]model.Flagged, error) {
	scr, err := x.src.Screen(ctx, x.q, x.scr.fit.fitted(), x.scr.out)
	if err != nil {
		return nil, err
	}
	left := keySet(x.left)
	x.scr.rows = scr.N - len(left)
	if x.scr.rows < asideMinRows {
		return nil, nil
	}
	x.scr.scale = scr.Scale
	var far, lone []model.Flagged
	for _, f := range scr.Flagged {
		switch {
		case left[f.Key]:
		case math.Abs(f.T) > model.FlagAt*scr.Scale:
			far = append(far, f)
		default:
			lone = append(lone, f)
		}
	}
	x.shifts(far, scr.Scale)
	next := far[:0:0]
	for _, f := range far { // the farthest first
		if x.keep[f.Key] {
			continue
		}
		if len(next) < x.scr.rows/asideShare {
			next = append(next, f)
		} else if f.Lone != "" {
			lone = append(lone, f)
		}
	}
	for _, f := range lone {
		if !x.keep[f.Key] {
			next = append(next, f)
		}
	}
	return next, nil
}

// shifts finds runs of far rows that follow each other in one batch or at one
// maker, lie on the same side and are about as far out: a change, not errors.
// They are kept from then on.
func (x *screener) shifts(far []model.Flagged, scale float64) {
	for _, e := range []model.Effect{model.CoreBatch, model.StrandBatch, model.ShotBatch, model.Maker} {
		byLevel := map[string][]model.Flagged{}
		for _, f := range far {
			if f.Place[e] > 0 && f.Labels.Get(e) != "" {
				byLevel[f.Labels.Get(e)] = append(byLevel[f.Labels.Get(e)], f)
			}
		}
		for _, name := range sortedKeys(byLevel) {
			rows := byLevel[name]
			slices.SortFunc(rows, func(a, b model.Flagged) int { return cmp.Compare(a.Place[e], b.Place[e]) })
			for from := 0; from < len(rows); {
				to := from + 1
				for to < len(rows) && follows(rows[to-1], rows[to], e, scale) {
					to++
				}
				if to-from >= 2 {
					x.noteShift(e, name, rows[from:to])
				}
				from = to
			}
		}
	}
}

// follows reports whether b is the next row after a in their level of e, on
// the same side and about as far out.
func follows(a, b model.Flagged, e model.Effect, scale float64) bool {
	return b.Place[e] == a.Place[e]+1 && a.T*b.T > 0 && math.Abs(b.T-a.T) <= shiftAlike*scale
}

func (x *screener) noteShift(e model.Effect, name string, run []model.Flagged) {
	fresh, mean := false, 0.0
	for _, f := range run {
		fresh = fresh || !x.keep[f.Key]
		x.keep[f.Key] = true
		mean += f.T / float64(len(run))
	}
	if fresh {
		x.scr.shifts = append(x.scr.shifts, Shift{
			Effect: e, Level: name, First: run[0].Key, Last: run[len(run)-1].Key,
			Date: run[0].Date, Rows: len(run), Ratio: math.Exp(mean),
		})
	}
}

func sameRows(a, b []model.Flagged) bool {
	return len(a) == len(b) && len(inAll([][]model.Flagged{a, b})) == len(a)
}

// inAll returns the rows that are in every set.
func inAll(sets [][]model.Flagged) []model.Flagged {
	n := map[model.RowKey]int{}
	for _, set := range sets {
		for _, f := range set {
			n[f.Key]++
		}
	}
	var out []model.Flagged
	for _, f := range sets[0] {
		if n[f.Key] == len(sets) {
			out = append(out, f)
		}
	}
	return out
}
