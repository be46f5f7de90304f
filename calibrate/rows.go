package calibrate

import (
	"cmp"
	"context"
	"math"
	"slices"
	"sort"
	"time"

	"trueplait/model"
)

// Rows is a Source of observations held in memory. A proof reads a log's
// observations once and fits what came before each of many dates from here;
// tests and simulations use it without a log.
type Rows struct {
	of   map[model.Quantity][]model.Observation // by date, then id, then kind
	at   map[model.Quantity][]numbers           // of those
	know *register
}

// NewRows returns the Source of the given observations, which it keeps and
// puts in order.
func NewRows(of map[model.Quantity][]model.Observation) *Rows {
	r := &Rows{of, map[model.Quantity][]numbers{}, newRegister()}
	for q, obs := range of {
		slices.SortFunc(obs, func(a, b model.Observation) int {
			return cmp.Or(a.Date.Compare(b.Date), cmp.Compare(a.Key.ID, b.Key.ID), cmp.Compare(a.Key.Kind, b.Key.Kind))
		})
		at := make([]numbers, len(obs))
		for i := range obs {
			at[i] = r.know.add(&obs[i])
		}
		r.at[q] = at
	}
	return r
}

// before returns the rows of earlier dates than t; they share memory with r.
func (r *Rows) before(t time.Time) *Rows {
	out := &Rows{map[model.Quantity][]model.Observation{}, map[model.Quantity][]numbers{}, r.know}
	for q, obs := range r.of {
		n := sort.Search(len(obs), func(i int) bool { return !obs[i].Date.Before(t) })
		out.of[q], out.at[q] = obs[:n:n], r.at[q][:n:n]
	}
	return out
}

// Summary counts the rows that have an observation of some quantity.
func (r *Rows) Summary(context.Context) (model.Summary, error) {
	seen := make([]bool, len(r.know.row))
	s := model.Summary{BaseLoadGMM: model.Unknown}
	for q, obs := range r.of {
		for i := range obs {
			o, n := &obs[i], r.at[q][i].row
			if seen[n] {
				continue
			}
			seen[n] = true
			switch o.Key.Kind {
			case model.Builds:
				s.Builds++
			case model.Fills:
				s.Fills++
			case model.Checks:
				s.Checks++
			}
			if o.Date.After(s.Through) {
				s.Through = o.Date
			}
		}
	}
	shot := make([]bool, len(r.know.row))
	for _, at := range r.at[model.Shot] {
		shot[at.row] = true
	}
	for _, at := range r.at[model.Weight] {
		s.Weighed++
		if shot[at.row] {
			s.Split++
		}
	}
	return s, nil
}

// Excluded implements Source.
func (r *Rows) Excluded(_ context.Context, q model.Quantity) ([]model.Excluded, error) {
	var out []model.Excluded
	for _, o := range r.of[q] {
		if o.Excluded != "" {
			out = append(out, model.Excluded{Key: o.Key, Date: o.Date, Ratio: o.Measured / o.Base, Reason: o.Excluded})
		}
	}
	return out, nil
}

// Cells implements Source.
func (r *Rows) Cells(_ context.Context, q model.Quantity, aside []model.RowKey) ([]model.Cell, error) {
	out := r.know.marked(aside)
	type key struct {
		kind  model.Kind
		level levelNumbers
	}
	at := map[key]int{}
	effects := places(q)
	var cells []model.Cell
	for i := range r.of[q] {
		o, n := &r.of[q][i], &r.at[q][i]
		if o.Excluded != "" || out[n.row] {
			continue
		}
		k := key{kind: o.Key.Kind}
		for _, e := range effects {
			k.level[e] = n.level[e]
		}
		j, ok := at[k]
		if !ok {
			j = len(cells)
			at[k] = j
			cells = append(cells, model.Cell{Kind: k.kind, Labels: onlyEffects(&o.Labels, q)})
		}
		c := &cells[j]
		c.N++
		d := o.Y - c.Mean
		c.Mean += d / float64(c.N)
		c.SS += d * (o.Y - c.Mean)
	}
	slices.SortFunc(cells, func(a, b model.Cell) int {
		return cmp.Or(cmp.Compare(a.Kind, b.Kind), compareLabels(&a.Labels, &b.Labels, model.Effects))
	})
	return cells, nil
}

// compareLabels compares the labels of one effect after the other.
func compareLabels(a, b *model.Labels, effects []model.Effect) int {
	for _, e := range effects {
		if c := cmp.Compare(a.Get(e), b.Get(e)); c != 0 {
			return c
		}
	}
	return 0
}

func keySet(keys []model.RowKey) map[model.RowKey]bool {
	set := make(map[model.RowKey]bool, len(keys))
	for _, k := range keys {
		set[k] = true
	}
	return set
}

// Ratios implements Source.
func (r *Rows) Ratios(_ context.Context, q model.Quantity, keys []model.RowKey) (map[model.RowKey]float64, error) {
	wanted, out := keySet(keys), map[model.RowKey]float64{}
	for _, o := range r.of[q] {
		if wanted[o.Key] {
			out[o.Key] = o.Measured / o.Base
		}
	}
	return out, nil
}

// Deviation implements Source.
func (r *Rows) Deviation(_ context.Context, q model.Quantity, aside []model.RowKey, share float64) (float64, error) {
	out := r.know.marked(aside)
	var y []float64
	for i := range r.of[q] {
		o := &r.of[q][i]
		if o.Key.Kind == model.Builds && o.Excluded == "" && !out[r.at[q][i].row] {
			y = append(y, math.Abs(o.Y))
		}
	}
	slices.Sort(y)
	k := int(math.Ceil(float64(len(y)+1)*share - rankRounding))
	if k < 1 || k > len(y) {
		return model.Unknown, nil
	}
	return y[k-1], nil
}

// rankRounding is what a rank may be off because 0.95 is no binary fraction.
const rankRounding = 1e-9

// residuals returns y − mean − effects of every eligible observation, and the
// root of its weight; NaN for those excluded.
func (r *Rows) residuals(q model.Quantity, f model.Fitted) (e, rootW []float64) {
	value := r.know.values(f)
	obs := r.of[q]
	e, rootW = make([]float64, len(obs)), make([]float64, len(obs))
	effects := q.Effects() // in one order, so that sums are the same each time
	theta2 := make([]float64, len(effects))
	for k, effect := range effects {
		theta2[k] = f.Theta2[effect]
	}
	at := places(q)
	for i := range obs {
		o, n := &obs[i], &r.at[q][i]
		e[i] = o.Y - f.Mean
		if o.Excluded != "" {
			e[i] = math.NaN()
		}
		v := 1.0
		for k, p := range at {
			if level := n.level[p]; value[p] == nil {
				continue
			} else if level == 0 {
				v += theta2[k]
			} else {
				e[i] -= value[p][level]
			}
		}
		rootW[i] = 1 / math.Sqrt(v)
	}
	return e, rootW
}

// Screen implements Source.
func (r *Rows) Screen(_ context.Context, q model.Quantity, f model.Fitted, aside []model.RowKey) (model.Screen, error) {
	obs := r.of[q]
	e, rootW := r.residuals(q, f)
	out := r.know.marked(aside)
	var s model.Screen
	kept := make([]float64, 0, len(obs))
	value := r.know.values(f)
	var count, upTo [effectCount][]int // eligible rows of each level: all, and those up to a row
	for k := range value {
		count[k], upTo[k] = make([]int, len(value[k])), make([]int, len(value[k]))
	}
	for i := range obs {
		if obs[i].Excluded != "" {
			continue
		}
		s.N++
		n := &r.at[q][i]
		if !out[n.row] {
			kept = append(kept, rootW[i]*e[i])
		}
		for k, level := range n.level {
			if value[k] != nil {
				count[k][level]++
			}
		}
	}
	s.Scale = model.MinScale
	if len(kept) > 0 {
		s.Scale = math.Max(1.4826*medianDeviation(kept), model.MinScale)
	}
	effects := places(q)
	for i := range obs {
		o := &obs[i]
		if o.Excluded != "" {
			continue
		}
		level := r.at[q][i].level
		for k, l := range level {
			if value[k] != nil {
				upTo[k][l]++
			}
		}
		t, lone := rootW[i]*e[i], model.Effect("")
		for _, k := range effects {
			if l := level[k]; l > 0 && value[k] != nil && count[k][l] == 1 && math.Abs(e[i]+value[k][l]) > math.Log(model.LoneAt) {
				lone = model.Effects[k]
				break
			}
		}
		if !(math.Abs(t) > model.FlagAt*s.Scale) && lone == "" {
			continue
		}
		flag := model.Flagged{Key: o.Key, Date: o.Date, Labels: o.Labels, Ratio: o.Measured / o.Base, T: t, Lone: lone, Place: map[model.Effect]int{}}
		for k, effect := range model.Effects {
			if value[k] != nil && level[k] > 0 && effect != model.Product {
				flag.Place[effect] = upTo[k][level[k]]
			}
		}
		s.Flagged = append(s.Flagged, flag)
	}
	slices.SortStableFunc(s.Flagged, func(a, b model.Flagged) int {
		return cmp.Compare(math.Abs(b.T), math.Abs(a.T)) // obs are by date, then id already
	})
	return s, nil
}

// Correlation implements Source.
func (r *Rows) Correlation(_ context.Context, a, b model.Residuals) (float64, int, error) {
	residual := func(x model.Residuals) []float64 {
		e, _ := r.residuals(x.Quantity, x.Fitted)
		aside := r.know.marked(x.Aside)
		out := make([]float64, len(r.know.row))
		for n := range out {
			out[n] = math.NaN() // no residual is
		}
		for i := range e {
			o, n := &r.of[x.Quantity][i], r.at[x.Quantity][i].row
			if o.Excluded == "" && o.Key.Kind == model.Builds && !aside[n] {
				out[n] = e[i]
			}
		}
		return out
	}
	ea, eb := residual(a), residual(b)
	var x, y []float64
	for _, at := range r.at[a.Quantity] { // in the order of rows, so that sums are the same each time
		if v, w := ea[at.row], eb[at.row]; !math.IsNaN(v) && !math.IsNaN(w) {
			x, y = append(x, v), append(y, w)
		}
	}
	return pearson(x, y), len(x), nil
}

// pearson is the correlation coefficient; NaN for fewer than 2 pairs or none
// spread.
func pearson(x, y []float64) float64 {
	n := float64(len(x))
	if n < 2 {
		return math.NaN()
	}
	mx, my := 0.0, 0.0
	for i := range x {
		mx += x[i] / n
		my += y[i] / n
	}
	var xx, yy, xy float64
	for i := range x {
		dx, dy := x[i]-mx, y[i]-my
		xx += dx * dx
		yy += dy * dy
		xy += dx * dy
	}
	if xx == 0 || yy == 0 {
		return math.NaN()
	}
	return xy / math.Sqrt(xx*yy)
}

// Combinations implements Source; of builds it knows those with an observation
// of some quantity.
func (r *Rows) Combinations(_ context.Context, q model.Quantity, effects []model.Effect) ([]model.Labels, error) {
	seen := map[model.Labels]bool{}
	for of, obs := range r.of {
		for _, o := range obs {
			if o.Key.Kind != model.Builds && !(q == model.Shot && of == model.Shot && o.Key.Kind == model.Fills) {
				continue
			}
			var l model.Labels
			whole := true
			for _, e := range effects {
				l.Set(e, o.Labels.Get(e))
				whole = whole && l.Get(e) != ""
			}
			if whole {
				seen[l] = true
			}
		}
	}
	out := make([]model.Labels, 0, len(seen))
	for l := range seen {
		out = append(out, l)
	}
	slices.SortFunc(out, func(a, b model.Labels) int { return compareLabels(&a, &b, effects) })
	return out, nil
}

// Newest implements Source.
func (r *Rows) Newest(_ context.Context, q model.Quantity, n int) ([]model.Observation, error) {
	var out []model.Observation
	for _, o := range r.of[q] {
		if o.Excluded == "" {
			out = append(out, o)
		}
	}
	return out[max(0, len(out)-n):], nil
}

// Observations implements Source.
func (r *Rows) Observations(_ context.Context, q model.Quantity) ([]model.Observation, error) {
	return r.of[q], nil
}

var _ Source = (*Rows)(nil)
