package calibrate

import (
	"slices"

	"trueplait/model"
)

// unlinked returns the groups of makers that share no batch, directly or
// through others, with the largest group (by makers, then rows, then names). Between groups only the product of a maker's factor and a
// batch's factor is known. Cord checks link the strand batches they weighed:
// they tell those apart, whoever plaited them.
func unlinked(q model.Quantity, cells []model.Cell) []Unlinked {
	var parent []int // of makers and batches, by number
	number := map[model.Effect]map[string]int{}
	of := func(e model.Effect, label string) int {
		i, ok := number[e][label]
		if !ok {
			if number[e] == nil {
				number[e] = map[string]int{}
			}
			i = len(parent)
			number[e][label] = i
			parent = append(parent, i)
		}
		return i
	}
	find := func(i int) int {
		for parent[i] != i {
			parent[i] = parent[parent[i]]
			i = parent[i]
		}
		return i
	}
	rows := map[string]int{}
	for i := range cells {
		c := &cells[i]
		name := c.Labels.Maker
		if name == "" {
			continue
		}
		rows[name] += c.N
		maker := of(model.Maker, name)
		for _, e := range q.Effects() {
			if label := c.Labels.Get(e); label != "" && e != model.Maker && e != model.Product {
				parent[find(of(e, label))] = find(maker)
			}
		}
	}
	groups := map[int]*Unlinked{}
	size := map[int]int{}
	for _, name := range sortedKeys(rows) {
		root := find(number[model.Maker][name])
		size[root] += rows[name]
		if groups[root] == nil {
			groups[root] = &Unlinked{}
		}
		if name != model.CheckLevel {
			groups[root].Makers = append(groups[root].Makers, name)
		}
	}
	roots := make([]int, 0, len(groups))
	for root, g := range groups {
		if len(g.Makers) > 0 {
			roots = append(roots, root)
		}
	}
	slices.SortFunc(roots, func(a, b int) int {
		if n := len(groups[b].Makers) - len(groups[a].Makers); n != 0 {
			return n
		}
		if n := size[b] - size[a]; n != 0 {
			return n
		}
		return slices.Compare(groups[a].Makers, groups[b].Makers)
	})
	var out []Unlinked
	for _, root := range roots[min(1, len(roots)):] {
		out = append(out, *groups[root])
	}
	return out
}
