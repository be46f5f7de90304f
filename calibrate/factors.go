package calibrate

import (
	"cmp"
	"context"
	"math"
	"slices"
	"sort"

	"trueplait/model"
)

// factors fills overall, the factors of combinations, and the makers'.
func (f *QuantityFit) factors(cells []model.Cell, seen, asked []model.Labels) {
	f.Factors = make([]Factor, len(seen)+len(asked))
	for i := range f.Factors {
		factor := &f.Factors[i]
		factor.Interval = Interval{1, math.NaN(), math.NaN()}
		if i < len(seen) {
			factor.Labels = seen[i]
			continue
		}
		for _, e := range f.Effects {
			label := asked[i-len(seen)].Get(e)
			factor.Labels.Set(e, cmp.Or(label, model.NewLevel))
		}
	}
	if f.Posterior == nil {
		return
	}
	s := f.Posterior.sys
	makers := f.linkedMakers()
	targets := make([]target, 0, 1+len(f.Factors)+len(makers))
	targets = append(targets, target{contrast: contrast{fixed: 1}})
	find := newFinder(cells)
	levels := make([]int32, 0, len(f.Factors)*len(s.effects)) // of all
	for i := range f.Factors {
		factor := &f.Factors[i]
		var at [maxEffects]int32
		rows, cell := find.rows(&factor.Labels)
		if factor.Rows = rows; rows > 0 {
			at = s.cells[cell].at
		} else {
			at = s.cell(&model.Cell{Labels: factor.Labels}).at
		}
		c := s.contrastAt(&at, levels)
		levels = levels[:len(levels)+len(c.levels)]
		targets = append(targets, target{contrast: c})
	}
	for i, level := range makers {
		f.Makers = append(f.Makers, MakerFactor{Maker: s.levels[level].name, Rows: s.levels[level].rows})
		targets = append(targets, target{contrast: fromMean(makers, i)})
	}
	f.Posterior.eachMixture(targets, func(t int, m *Mixture) {
		interval := m.Interval(factorCoverage)
		switch i := t - 1; {
		case t == 0:
			f.Overall = interval
		case i < len(f.Factors):
			f.Factors[i].Interval = interval
		default:
			f.Makers[i-len(f.Factors)].Interval = interval
		}
	})
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

// combinations are the labels of some effects that builds have.
type combinations struct {
	effects []model.Effect
	labels  []model.Labels
}

// of returns the combinations of a quantity whose fit has these effects. Those
// of builds are read once for quantities with the same effects that follow each
// other; shot has more, in test fills.
func (c *combinations) of(ctx context.Context, src Source, q model.Quantity, effects []model.Effect) ([]model.Labels, error) {
	if len(effects) == 0 {
		return nil, nil
	}
	if q == model.Shot {
		return src.Combinations(ctx, q, effects)
	}
	if slices.Equal(effects, c.effects) {
		return c.labels, nil
	}
	labels, err := src.Combinations(ctx, q, effects)
	if err != nil {
		return nil, err
	}
	*c = combinations{effects, labels}
	return labels, nil
}

// finder finds the cells of combinations, which are in the order of
// [Source.Cells]. One that is asked in about that order looks at a cell or two
// each time.
type finder struct {
	cells []model.Cell
	kinds []kindCells
}

// kindCells are the cells of one kind of row.
type kindCells struct {
	first, end int
	next       int // where the combination after the last one is likely to be
}

func newFinder(cells []model.Cell) *finder {
	f := &finder{cells: cells}
	for i := range cells {
		if i == 0 || cells[i].Kind != cells[i-1].Kind {
			f.kinds = append(f.kinds, kindCells{first: i, next: i})
		}
		f.kinds[len(f.kinds)-1].end = i + 1
	}
	return f
}

// rows counts the rows with just these labels and returns one of their cells.
func (f *finder) rows(l *model.Labels) (n, cell int) {
	for i := range f.kinds {
		if at, found := f.kinds[i].find(f.cells, l); found {
			n, cell = n+f.cells[at].N, at
		}
	}
	return n, cell
}

// find looks ahead in steps that double, and back only where it must.
func (k *kindCells) find(cells []model.Cell, l *model.Labels) (at int, found bool) {
	if k.next < k.end && cells[k.next].Labels == *l {
		k.next++
		return k.next - 1, true
	}
	before := func(i int) bool { return compareLabels(&cells[i].Labels, l, model.Effects) < 0 }
	from, to := k.next, k.next
	if from > k.first && !before(from-1) {
		from = k.first
	} else {
		for step := 1; to < k.end && before(to); step *= 2 {
			from, to = to, min(to+step, k.end)
		}
	}
	at = from + sort.Search(to-from, func(i int) bool { return !before(from + i) })
	if k.next = at; at < k.end && cells[at].Labels == *l {
		k.next++
		return at, true
	}
	return at, false
}
