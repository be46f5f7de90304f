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
	of map[model.Quantity][]model.Observation // by date, then id, then kind
}

// NewRows returns the Source of the given observations, which it keeps and
// puts in order.
func NewRows(of map[model.Quantity][]model.Observation) *Rows {
	for _, obs := range of {
		slices.SortFunc(obs, func(a, b model.Observation) int {
			return cmp.Or(a.Date.Compare(b.Date), cmp.Compare(a.Key.ID, b.Key.ID), cmp.Compare(a.Key.Kind, b.Key.Kind))
		})
	}
	return &Rows{of}
}

// before returns the rows of earlier dates than t; they share memory with r.
func (r *Rows) before(t time.Time) *Rows {
	out := &Rows{map[model.Quantity][]model.Observation{}}
	for q, obs := range r.of {
		n := sort.Search(len(obs), func(i int) bool { return !obs[i].Date.Before(t) })
		out.of[q] = obs[:n:n]
	}
	return out
}

// Summary counts the rows that have an observation of some quantity.
func (r *Rows) Summary(context.Context) (model.Summary, error) {
	seen := map[model.RowKey]bool{}
	s := model.Summary{BaseLoadGMM: model.Unknown}
	for _, obs := range r.of {
		for _, o := range obs {
			if seen[o.Key] {
				continue
			}
			seen[o.Key] = true
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
	shot := map[model.RowKey]bool{}
	for _, o := range r.of[model.Shot] {
		shot[o.Key] = true
	}
	for _, o := range r.of[model.Weight] {
		s.Weighed++
		if shot[o.Key] {
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
	out := keySet(aside)
	type key struct {
		kind   model.Kind
		labels model.Labels
	}
	at := map[key]int{}
	var cells []model.Cell
	for i := range r.of[q] {
		o := &r.of[q][i]
		if o.Excluded != "" || out[o.Key] {
			continue
		}
		k := key{o.Key.Kind, onlyEffects(&o.Labels, q)}
		j, ok := at[k]
		if !ok {
			j = len(cells)
			at[k] = j
			cells = append(cells, model.Cell{Kind: k.kind, Labels: k.labels})
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
	out := keySet(aside)
	var y []float64
	for _, o := range r.of[q] {
		if o.Key.Kind == model.Builds && o.Excluded == "" && !out[o.Key] {
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
	value := map[model.Effect]map[string]float64{}
	for _, l := range f.Levels {
		if value[l.Effect] == nil {
			value[l.Effect] = map[string]float64{}
		}
		value[l.Effect][l.Level] = l.Value
	}
	obs := r.of[q]
	e, rootW = make([]float64, len(obs)), make([]float64, len(obs))
	for i := range obs {
		o := &obs[i]
		e[i] = o.Y - f.Mean
		if o.Excluded != "" {
			e[i] = math.NaN()
		}
		v := 1.0
		for _, effect := range q.Effects() { // in one order, so that sums are the same each time
			t, fitted := f.Theta2[effect]
			if label := o.Labels.Get(effect); !fitted {
				continue
			} else if label == "" {
				v += t
			} else {
				e[i] -= value[effect][label]
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
	out := keySet(aside)
	var s model.Screen
	var kept []float64
	count := map[model.LevelEffect]int{} // eligible rows of each level
	place := make([]map[model.Effect]int, len(obs))
	for i := range obs {
		o := &obs[i]
		if o.Excluded != "" {
			continue
		}
		s.N++
		if !out[o.Key] {
			kept = append(kept, rootW[i]*e[i])
		}
		place[i] = map[model.Effect]int{}
		for effect := range f.Theta2 {
			if label := o.Labels.Get(effect); label != "" {
				l := model.LevelEffect{Effect: effect, Level: label}
				count[l]++
				if effect != model.Product {
					place[i][effect] = count[l]
				}
			}
		}
	}
	s.Scale = model.MinScale
	if len(kept) > 0 {
		s.Scale = math.Max(1.4826*medianDeviation(kept), model.MinScale)
	}
	value := map[model.LevelEffect]float64{}
	for _, l := range f.Levels {
		value[model.LevelEffect{Effect: l.Effect, Level: l.Level}] = l.Value
	}
	for i := range obs {
		o := &obs[i]
		if o.Excluded != "" {
			continue
		}
		flag := model.Flagged{Key: o.Key, Date: o.Date, Labels: o.Labels, Ratio: o.Measured / o.Base, T: rootW[i] * e[i], Place: place[i]}
		for _, effect := range q.Effects() {
			l := model.LevelEffect{Effect: effect, Level: o.Labels.Get(effect)}
			if l.Level != "" && count[l] == 1 && math.Abs(e[i]+value[l]) > math.Log(model.LoneAt) {
				flag.Lone = effect
				break
			}
		}
		if math.Abs(flag.T) > model.FlagAt*s.Scale || flag.Lone != "" {
			s.Flagged = append(s.Flagged, flag)
		}
	}
	slices.SortStableFunc(s.Flagged, func(a, b model.Flagged) int {
		return cmp.Compare(math.Abs(b.T), math.Abs(a.T)) // obs are by date, then id already
	})
	return s, nil
}

// medianDeviation is the median distance from the median.
func medianDeviation(x []float64) float64 {
	m := median(x)
	d := make([]float64, len(x))
	for i := range x {
		d[i] = math.Abs(x[i] - m)
	}
	return median(d)
}

// median is the middle of x, or the mean of the middle two; NaN of none.
func median(x []float64) float64 {
	if len(x) == 0 {
		return math.NaN()
	}
	s := slices.Clone(x)
	slices.Sort(s)
	n := len(s)
	return (s[(n-1)/2] + s[n/2]) / 2
}

// Correlation implements Source.
func (r *Rows) Correlation(_ context.Context, a, b model.Residuals) (float64, int, error) {
	residual := func(x model.Residuals) map[model.RowKey]float64 {
		e, _ := r.residuals(x.Quantity, x.Fitted)
		aside := keySet(x.Aside)
		out := map[model.RowKey]float64{}
		for i, o := range r.of[x.Quantity] {
			if o.Excluded == "" && o.Key.Kind == model.Builds && !aside[o.Key] {
				out[o.Key] = e[i]
			}
		}
		return out
	}
	ea, eb := residual(a), residual(b)
	var x, y []float64
	for _, o := range r.of[a.Quantity] { // in the order of rows, so that sums are the same each time
		if v, ok := ea[o.Key]; ok {
			if w, ok := eb[o.Key]; ok {
				x, y = append(x, v), append(y, w)
			}
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
