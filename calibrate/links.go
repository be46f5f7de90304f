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
	parent := map[model.LevelEffect]model.LevelEffect{}
	var find func(a model.LevelEffect) model.LevelEffect
	find = func(a model.LevelEffect) model.LevelEffect {
		if p, ok := parent[a]; ok && p != a {
			parent[a] = find(p)
			return parent[a]
		}
		parent[a] = a
		return a
	}
	rows := map[string]int{}
	for _, c := range cells {
		name := c.Labels.Maker
		if name == "" {
			continue
		}
		maker := model.LevelEffect{Effect: model.Maker, Level: name}
		rows[name] += c.N
		find(maker)
		for _, e := range q.Effects() {
			if label := c.Labels.Get(e); label != "" && e != model.Maker && e != model.Product {
				parent[find(model.LevelEffect{Effect: e, Level: label})] = find(maker)
			}
		}
	}
	groups := map[model.LevelEffect]*Unlinked{}
	size := map[model.LevelEffect]int{}
	for _, name := range sortedKeys(rows) {
		root := find(model.LevelEffect{Effect: model.Maker, Level: name})
		size[root] += rows[name]
		if groups[root] == nil {
			groups[root] = &Unlinked{}
		}
		if name != model.CheckLevel {
			groups[root].Makers = append(groups[root].Makers, name)
		}
	}
	roots := make([]model.LevelEffect, 0, len(groups))
	for root, g := range groups {
		if len(g.Makers) > 0 {
			roots = append(roots, root)
		}
	}
	slices.SortFunc(roots, func(a, b model.LevelEffect) int {
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
