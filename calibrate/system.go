package calibrate

import (
	"slices"
	"sort"

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
// Levels of all effects are numbered through. The effect with the most levels
// comes first: its block of ΛᵀZᵀWZΛ + I is diagonal and is eliminated before
// the rest is factorized, so the dense algebra is only as large as the other
// effects together.
type system struct {
	effects []model.Effect // in the order of the quantity
	order   []int          // effects by falling number of levels
	levels  []level        // numbered through, in that order
	index   map[levelKey]int
	first   int    // levels of the eliminated effect: 0..first-1
	cells   []cell // labels as level numbers
	n       float64
	centre  float64 // subtracted from every cell mean, for precision
}

type levelKey struct {
	effect int
	name   string
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
	blank       uint
}

// newSystem builds the system of cells. Every level named in extra is there
// too, with no rows, so that predictions for it need no special case.
// Effects with no recorded label in cells and extra are left out.
func newSystem(effects []model.Effect, cells []model.Cell, extra []model.Labels) *system {
	s := &system{index: map[levelKey]int{}}
	names := make(map[model.Effect]map[string]int)
	note := func(l model.Labels, rows int) {
		for _, e := range effects {
			if name := l.Get(e); name != "" {
				if names[e] == nil {
					names[e] = map[string]int{}
				}
				names[e][name] += rows
			}
		}
	}
	for _, c := range cells {
		note(c.Labels, c.N)
	}
	for _, l := range extra {
		note(l, 0)
	}
	for _, e := range effects {
		if len(names[e]) > 0 {
			s.effects = append(s.effects, e)
		}
	}
	for k := range s.effects {
		s.order = append(s.order, k)
	}
	sort.SliceStable(s.order, func(i, j int) bool {
		return len(names[s.effects[s.order[i]]]) > len(names[s.effects[s.order[j]]])
	})
	for _, k := range s.order {
		e := s.effects[k]
		for _, name := range sortedKeys(names[e]) {
			s.index[levelKey{k, name}] = len(s.levels)
			s.levels = append(s.levels, level{k, name, names[e][name]})
		}
		if s.first == 0 {
			s.first = len(s.levels)
		}
	}
	sum := 0.0
	for _, c := range cells {
		s.n += float64(c.N)
		sum += float64(c.N) * c.Mean
	}
	if s.n > 0 {
		s.centre = sum / s.n
	}
	for _, c := range cells {
		s.cells = append(s.cells, s.cell(c))
	}
	s.merge()
	return s
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
func (s *system) cell(c model.Cell) cell {
	out := cell{n: float64(c.N), mean: c.Mean - s.centre, ss: c.SS}
	for k := range out.at {
		out.at[k] = -1
	}
	for k, e := range s.effects {
		if i, ok := s.index[levelKey{k, c.Labels.Get(e)}]; ok {
			out.at[k] = int32(i)
		} else {
			out.blank |= 1 << k
		}
	}
	return out
}

// merge joins cells that differ only in what is not an effect here.
func (s *system) merge() {
	type key struct {
		at    [maxEffects]int32
		blank uint
	}
	seen := make(map[key]int, len(s.cells))
	kept := s.cells[:0]
	for _, c := range s.cells {
		k := key{c.at, c.blank}
		if i, ok := seen[k]; ok {
			kept[i].add(c)
			continue
		}
		seen[k] = len(kept)
		kept = append(kept, c)
	}
	s.cells = kept
}

// add pools another cell of the same labels into c.
func (c *cell) add(d cell) {
	n := c.n + d.n
	delta := d.mean - c.mean
	c.ss += d.ss + delta*delta*c.n*d.n/n
	c.mean += delta * d.n / n
	c.n = n
}

// insert adds one row to the system; every label must be a level already.
func (s *system) insert(labels model.Labels, y float64) {
	c := s.cell(model.Cell{Labels: labels, N: 1, Mean: y})
	s.n++
	for k := range s.effects {
		if c.at[k] >= 0 {
			s.levels[c.at[k]].rows++
		}
	}
	for i := range s.cells {
		if s.cells[i].at == c.at {
			s.cells[i].add(c)
			return
		}
	}
	s.cells = append(s.cells, c)
}

// levelCount is the number of levels of effect k, blanks counted as levels of
// their own.
func (s *system) levelCount(k int) int {
	n := 0
	for _, l := range s.levels {
		if l.effect == k && l.rows > 0 {
			n++
		}
	}
	for _, c := range s.cells {
		if c.blank&(1<<k) != 0 {
			n += int(c.n)
		}
	}
	return n
}

// estimable reports whether the spread of effect k can be told from data: it
// has more than one level, and at least one level with more than one row.
func (s *system) estimable(k int) bool {
	n := s.levelCount(k)
	return n > 1 && n < int(s.n)
}

// rowWeight is w for rows with the given blanks.
func rowWeight(blank uint, theta []float64) float64 {
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
