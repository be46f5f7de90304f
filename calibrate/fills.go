package calibrate

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"trueplait/model"
)

// fillGroup is one maker's rows with one core batch.
type fillGroup struct {
	maker, batch  string
	fills, builds cell
}

// fillWarnings compares test fills with builds: a fill that is not settled as
// a build is, or a length read off carelessly, would move every factor of its
// batch.
func fillWarnings(cells []model.Cell) []string {
	if !slices.ContainsFunc(cells, func(c model.Cell) bool { return c.Kind == model.Fills }) {
		return nil
	}
	groups := fillGroups(cells)
	sdFills, dfFills := within(groups, func(g *fillGroup) *cell { return &g.fills })
	sdBuilds, dfBuilds := within(groups, func(g *fillGroup) *cell { return &g.builds })
	var out []string
	const enough = 5 // degrees of freedom: below it the ratio of two spreads says nothing
	if dfFills >= enough && dfBuilds >= enough && sdFills > 2*sdBuilds {
		out = append(out, fmt.Sprintf("test fills scatter %.1f %%, builds %.1f %%: fill a longer piece, and settle it as in a build", 100*sdFills, 100*sdBuilds))
	}
	if dfFills == 0 || dfBuilds == 0 {
		return out
	}
	for i := range groups {
		g := &groups[i]
		if g.fills.n == 0 || g.builds.n == 0 {
			continue
		}
		by := g.fills.mean - g.builds.mean
		if math.Abs(by) > 2*math.Sqrt(sdFills*sdFills/g.fills.n+sdBuilds*sdBuilds/g.builds.n) {
			out = append(out, fmt.Sprintf("%.0f %s of %s with core batch %s came out %s the %.0f %s there, by more than 2 standard errors: weigh one again, filled and settled as in a build",
				g.fills.n, model.Fills.Noun(int(g.fills.n)), g.maker, g.batch, offBy(math.Exp(by)), g.builds.n, model.Builds.Noun(int(g.builds.n))))
		}
	}
	return out
}

// fillGroups pools the cells of shot by maker and core batch, in their order.
func fillGroups(cells []model.Cell) []fillGroup {
	var groups []fillGroup
	at := map[[2]string]int{}
	for _, c := range cells {
		if c.Labels.Maker == "" || c.Labels.CoreBatch == "" {
			continue
		}
		k := [2]string{c.Labels.Maker, c.Labels.CoreBatch}
		i, ok := at[k]
		if !ok {
			i = len(groups)
			at[k] = i
			groups = append(groups, fillGroup{maker: k[0], batch: k[1]})
		}
		into := &groups[i].builds
		if c.Kind == model.Fills {
			into = &groups[i].fills
		}
		into.add(cell{n: float64(c.N), mean: c.Mean, ss: c.SS})
	}
	slices.SortFunc(groups, func(a, b fillGroup) int {
		return cmp.Or(cmp.Compare(a.batch, b.batch), cmp.Compare(a.maker, b.maker))
	})
	return groups
}

// within is the pooled standard deviation inside groups and its degrees of
// freedom.
func within(groups []fillGroup, part func(*fillGroup) *cell) (sd, df float64) {
	ss := 0.0
	for i := range groups {
		if c := part(&groups[i]); c.n > 0 {
			ss += c.ss
			df += c.n - 1
		}
	}
	if df == 0 {
		return 0, 0
	}
	return math.Sqrt(ss / df), df
}
