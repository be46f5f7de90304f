package calibrate

import (
	"cmp"
	"slices"

	"trueplait/model"
)

// maxEffects is the largest number of effects a quantity has.
const maxEffects = 4

// system is the mixed model of one quantity, reduced to its cells:
//
//	y = μ + Σ_k u_k[level] + e,  u_k ~ N(0, τ_k²),  e ~ N(0, σ²),  θ_k = τ_k/σ
//
// A row whose label of effect k is blank belongs to a level of its own; that
// is the same as a row variance of σ²(1 + Σ_blank θ_k²) = σ²/w.
//
// Levels of all effects are numbered through. What ΛᵀZᵀWZΛ + I is made of at
// any θ is summed up once.
type system struct {
	effects []model.Effect // in the order of the quantity
	levels  []level        // numbered through, in that order
	index   []map[string]int32
	cells   []cell  // labels as level numbers
	blank   []int32 // cells with a blank
	n       float64
	centre  float64 // subtracted from every cell mean, for precision

	borrowed *borrowed // priors of other workshops; nil: the usual ones

	sparsity *sparsity // of ΛᵀZᵀWZΛ + I
	terms    []term    // those without blanks first
	noBlank  int       // so many
	margins  []margin
	whole    []whole
}

type level struct {
	effect int // index into effects
	name   string
	rows   int
}

// cell is a model.Cell with its labels as level numbers; blank is a bit set of
// effects without a label.
type cell struct {
	n, mean, ss float64
	at          [maxEffects]int32 // by effect; -1: blank
	blank       uint8
}

// term is a summand of ZᵀWZ: the rows with given blanks that two levels, or a
// level and itself, share.
type term struct {
	n     float64
	at    int32 // where the pattern keeps the element
	k, l  uint8 // the levels' effects
	blank uint8
}

// whole is a summand of 1ᵀW1, 1ᵀWy and yᵀWy: all rows with given blanks.
type whole struct {
	n, sum, square float64
	blank          uint8
}

// margin is a summand of ZᵀW1 and ZᵀWy: the rows of a level with given blanks.
type margin struct {
	n, sum float64
	level  int32
	blank  uint8
}

// newSystem builds the system of cells. Every level named in extra is there
// too, with no rows, so that predictions for it need no special case.
// Effects with no recorded label in cells and extra are left out.
func newSystem(effects []model.Effect, cells []model.Cell, extra []model.Labels) *system {
	s := &system{}
	s.setCells(cells)
	for _, e := range effects {
		s.addEffect(e, cells, extra)
	}
	shared := s.shared()
	s.sparsity = s.newPattern(shared)
	s.sumUp()
	s.addTerms(shared)
	return s
}

// less is the system of the same cells with some of their rows taken off, and
// without the cells that have none left. It shares all that a few rows do not
// change; where they are the last ones of a level, it is built anew.
func (s *system) less(rest *lessCells) *system {
	out := &system{
		effects: s.effects, levels: slices.Clone(s.levels), index: s.index,
		sparsity: s.sparsity, terms: slices.Clone(s.terms), noBlank: s.noBlank,
	}
	for i := range rest.whole {
		c := &s.cells[i]
		if !out.takeOff(c, int(c.n)-rest.cells[i].N) {
			return newSystem(rest.q.Effects(), withRows(slices.Clone(rest.cells)), nil)
		}
	}
	out.setCells(rest.cells)
	kept := out.cells
	for i := range rest.cells {
		if rest.cells[i].N > 0 {
			kept[0].at, kept[0].blank = s.cells[i].at, s.cells[i].blank
			kept = kept[1:]
		}
	}
	out.sumUp()
	return out
}

// takeOff takes rows of a cell off the levels and terms, and reports whether
// all of these levels have rows left.
func (s *system) takeOff(c *cell, rows int) bool {
	for k, i := range c.at {
		if i < 0 {
			continue
		}
		if s.levels[i].rows -= rows; s.levels[i].rows == 0 {
			return false
		}
		for _, j := range c.at[:k+1] {
			if j >= 0 && (i == j || !s.large()) {
				s.term(i, j, c.blank).n -= float64(rows)
			}
		}
	}
	return true
}

// term is where the pattern keeps the element of two levels that rows with
// given blanks share.
func (s *system) term(i, j int32, blank uint8) *term {
	terms := s.terms[:s.noBlank]
	if blank != 0 {
		terms = s.terms[s.noBlank:]
	}
	at := s.sparsity.at(i, j)
	first, _ := slices.BinarySearchFunc(terms, at, func(t term, at int32) int { return cmp.Compare(t.at, at) })
	for terms[first].blank != blank {
		first++
	}
	return &terms[first]
}

// setCells takes the cells that have rows, without their labels.
func (s *system) setCells(cells []model.Cell) {
	s.cells = make([]cell, 0, len(cells))
	sum := 0.0
	for i := range cells {
		c := &cells[i]
		if c.N == 0 {
			continue
		}
		s.cells = append(s.cells, cell{n: float64(c.N), mean: c.Mean, ss: c.SS, at: nowhere()})
		s.n += float64(c.N)
		sum += float64(c.N) * c.Mean
	}
	if s.n > 0 {
		s.centre = sum / s.n
	}
	for i := range s.cells {
		s.cells[i].mean -= s.centre
	}
}

// forget drops the cells, which contrasts need no more: a fit would.
func (s *system) forget() { s.cells, s.blank = nil, nil }

// nowhere is the place of a cell without labels.
func nowhere() [maxEffects]int32 { return [maxEffects]int32{-1, -1, -1, -1} }

// addEffect numbers the levels of an effect in the order of their names, and
// notes them in the cells.
func (s *system) addEffect(e model.Effect, cells []model.Cell, extra []model.Labels) {
	k := len(s.effects)
	index := map[string]int32{} // by first appearance to begin with
	var rows []int
	number := func(name string) int32 {
		i, ok := index[name]
		if !ok {
			i = int32(len(rows))
			index[name] = i
			rows = append(rows, 0)
		}
		return i
	}
	for i := range cells {
		if name := cells[i].Labels.Get(e); name != "" {
			l := number(name)
			rows[l] += cells[i].N
			s.cells[i].at[k] = l
		}
	}
	for i := range extra {
		if name := extra[i].Get(e); name != "" {
			number(name)
		}
	}
	if len(rows) == 0 {
		return
	}
	place := make([]int32, len(rows))
	for _, name := range sortedKeys(index) {
		i := index[name]
		place[i] = int32(len(s.levels))
		index[name] = place[i]
		s.levels = append(s.levels, level{k, name, rows[i]})
	}
	for i := range s.cells {
		if c := &s.cells[i]; c.at[k] >= 0 {
			c.at[k] = place[c.at[k]]
		} else {
			c.blank |= 1 << k
		}
	}
	s.effects, s.index = append(s.effects, e), append(s.index, index)
}

func sortedKeys[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

// cell numbers the labels of c.
func (s *system) cell(c *model.Cell) cell {
	out := cell{n: float64(c.N), mean: c.Mean - s.centre, ss: c.SS, at: nowhere()}
	for k, e := range s.effects {
		if i, ok := s.index[k][c.Labels.Get(e)]; ok {
			out.at[k] = i
		} else {
			out.blank |= 1 << k
		}
	}
	return out
}

// add pools another cell of the same labels into c.
func (c *cell) add(d cell) {
	n := c.n + d.n
	delta := d.mean - c.mean
	c.ss += d.ss + delta*delta*c.n*d.n/n
	c.mean += delta * d.n / n
	c.n = n
}

// sumUp sums up the cells by what is blank in them: margins and wholes.
func (s *system) sumUp() {
	own := make([]margin, len(s.levels))
	for _, cells := range s.byBlank() {
		clear(own)
		all := whole{blank: s.cells[cells[0]].blank}
		if all.blank != 0 {
			s.blank = append(s.blank, cells...)
		}
		for _, i := range cells {
			c := &s.cells[i]
			all.n += c.n
			all.sum += c.n * c.mean
			all.square += c.n*c.mean*c.mean + c.ss
			for _, l := range c.at {
				if l >= 0 {
					own[l].n += c.n
					own[l].sum += c.n * c.mean
				}
			}
		}
		s.whole = append(s.whole, all)
		for l, m := range own {
			if m.n > 0 {
				s.margins = append(s.margins, margin{m.n, m.sum, int32(l), all.blank})
			}
		}
	}
}

// addTerms fills the terms from the margins and what levels share.
func (s *system) addTerms(shared []together) {
	if s.large() {
		shared = nil // the pattern has no place for them
	}
	terms := make([]term, 0, len(s.margins)+len(shared))
	for _, m := range s.margins {
		k := uint8(s.levels[m.level].effect)
		terms = append(terms, term{m.n, s.sparsity.at(m.level, m.level), k, k, m.blank})
	}
	for _, x := range shared {
		terms = append(terms, term{x.n, s.sparsity.at(x.i, x.j), uint8(s.levels[x.i].effect), uint8(s.levels[x.j].effect), x.blank})
	}
	s.sortTerms(terms)
}

func (s *system) newPattern(shared []together) *sparsity {
	degree := make([]int32, len(s.levels))
	for _, x := range shared {
		degree[x.i]++
		degree[x.j]++
	}
	near := make([][]int32, len(s.levels))
	for i, n := range degree {
		near[i] = make([]int32, 0, n)
	}
	for _, x := range shared {
		near[x.i] = append(near[x.i], x.j)
		near[x.j] = append(near[x.j], x.i)
	}
	for i := range near {
		slices.Sort(near[i])
		near[i] = slices.Compact(near[i])
	}
	return newSparsity(near)
}

// sortTerms keeps the terms in the order of their places, by counting, those
// without blanks first.
func (s *system) sortTerms(terms []term) {
	places := s.sparsity.size()
	of := func(t *term) int {
		if t.blank != 0 {
			return places + int(t.at)
		}
		return int(t.at)
	}
	next := make([]int32, 2*places+1)
	for i := range terms {
		next[of(&terms[i])+1]++
	}
	for i := range 2 * places {
		next[i+1] += next[i]
	}
	s.noBlank = int(next[places])
	s.terms = make([]term, len(terms))
	for i := range terms {
		at := &next[of(&terms[i])]
		s.terms[*at] = terms[i]
		*at++
	}
}

// byBlank groups the cells, by number, by what is blank in them.
func (s *system) byBlank() [][]int32 {
	var groups [1 << maxEffects][]int32
	for i := range s.cells {
		b := s.cells[i].blank
		groups[b] = append(groups[b], int32(i))
	}
	return slices.DeleteFunc(groups[:], func(g []int32) bool { return len(g) == 0 })
}

// together is the number of rows that two levels share.
type together struct {
	n     float64
	i, j  int32
	blank uint8
}

// shared counts the rows that levels of two effects share, by what is blank in
// them.
func (s *system) shared() []together {
	out := make([]together, 0, len(s.cells))
	latest := make([]int, len(s.levels)) // where level j was met last
	for _, cells := range s.byBlank() {
		blank := s.cells[cells[0]].blank
		for k := range s.effects {
			if blank&(1<<k) != 0 || k == 0 {
				continue
			}
			cells = s.sortedBy(k, cells)
			for l := range k {
				if blank&(1<<l) != 0 {
					continue
				}
				for j := range latest {
					latest[j] = -1
				}
				for _, c := range cells {
					i, j := s.cells[c].at[k], s.cells[c].at[l]
					if at := latest[j]; at >= 0 && out[at].i == i {
						out[at].n += s.cells[c].n
						continue
					}
					latest[j] = len(out)
					out = append(out, together{s.cells[c].n, i, j, blank})
				}
			}
		}
	}
	return out
}

// sortedBy returns the cells in the order of their levels of effect k, by
// counting.
func (s *system) sortedBy(k int, cells []int32) []int32 {
	next := make([]int32, len(s.levels)+1)
	for _, c := range cells {
		next[s.cells[c].at[k]+1]++
	}
	for i := range s.levels {
		next[i+1] += next[i]
	}
	out := make([]int32, len(cells))
	for _, c := range cells {
		at := s.cells[c].at[k]
		out[next[at]] = c
		next[at]++
	}
	return out
}

// estimable reports whether the spread of effect k can be told from data: it
// has more than one level, blanks counted as levels of their own, and at least
// one level with more than one row.
func (s *system) estimable(k int) bool {
	n := 0
	for _, l := range s.levels {
		if l.effect == k && l.rows > 0 {
			n++
		}
	}
	for i := range s.cells {
		if s.cells[i].blank&(1<<k) != 0 {
			n += int(s.cells[i].n)
		}
	}
	return n > 1 && n < int(s.n)
}

// rowWeight is w for rows with the given blanks.
func rowWeight(blank uint8, theta []float64) float64 {
	if blank == 0 {
		return 1
	}
	v := 1.0
	for k, t := range theta {
		if blank&(1<<k) != 0 {
			v += t * t
		}
	}
	return 1 / v
}
