package workshop

import (
	"context"
	"fmt"
	"math"
	"slices"

	"trueplait/data"
	"trueplait/data/reference"
	"trueplait/model"
	"trueplait/report"
)

// figures works figures out again that were worked out at import: those of
// builds from the version of the parts list that they are marked with, those of
// test fills and cord checks from the builds or the parts lists as they were at
// some time. Rows that amendments replaced are checked too.
//
// An import with several files works out once, at its end, and an amended row
// keeps its figure: so the time is not known, but each time there was.
func (v *verifier) figures(ctx context.Context) error {
	c := newChecking("what was worked out at import comes out the same again", "rows")
	defer v.done(c)
	lists := newPastLists(v.versions[model.Parts])
	for _, h := range v.versions[model.Builds] {
		if h.PartsVersion == 0 {
			continue
		}
		c.Count++
		what := lists.differ(h)
		if what != "" {
			c.wrong(report.Fault{Where: rowName(h.Row), What: what, Remedy: restore})
		}
	}
	times := v.times()
	loads := map[int]float64{} // by time
	medianLoad := func(at int) float64 {
		if _, ok := loads[at]; !ok {
			loads[at] = medianLoad(v.versions[model.Builds], at)
		}
		return loads[at]
	}
	sharedShot := func(at int) float64 { return lists.shared(at).ShotGMM }
	sharedStrand := func(at int) float64 { return lists.shared(at).StrandGMM }
	check := func(h data.Version, figure, length float64, perMM func(at int) float64) {
		if !model.Known(figure) {
			return
		}
		c.Count++
		if ever(times, h.Source, func(at int) bool { return alike(figure, length*perMM(at)) }) {
			return
		}
		c.wrong(report.Fault{Where: rowName(h.Row), Remedy: restore,
			What: fmt.Sprintf("the figure worked out for it, %g g, does not follow from its length and what the log held at any time", figure)})
	}
	for _, h := range v.versions[model.Fills] {
		if err := ctx.Err(); err != nil {
			return err
		}
		perMM := medianLoad
		if h.PartsVersion > 0 {
			perMM = sharedShot
		}
		check(h, h.Base.ShotG, h.Row.(*model.Fill).FilledLengthMM, perMM)
	}
	for _, h := range v.versions[model.Checks] {
		check(h, h.Base.WeightG, h.Row.(*model.Check).CheckedLengthMM, sharedStrand)
	}
	return nil
}

// times are the numbers of the files that rows came from: after each the log
// held something else.
func (v *verifier) times() []int {
	var out []int
	for _, kind := range model.Kinds {
		for _, h := range v.versions[kind] {
			out = append(out, h.Source)
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// ever reports whether something was so at a time, asking first for those from
// a file on, where it is likely.
func ever(times []int, from int, so func(at int) bool) bool {
	i, _ := slices.BinarySearch(times, from)
	return slices.ContainsFunc(times[i:], so) || slices.ContainsFunc(times[:i], so)
}

// stood reports whether the log held a version of a row when a file was the
// newest.
func stood(h data.Version, at int) bool {
	return h.Source <= at && (h.ReplacedBy == 0 || h.ReplacedBy > at)
}

// medianLoad is the planner's load per length, g/mm, without factors: the
// median over the builds that state both, as they stood at a time; NaN without
// any.
func medianLoad(builds []data.Version, at int) float64 {
	var loads []float64
	for _, h := range builds {
		b := h.Row.(*model.Build)
		if stood(h, at) && model.Known(b.PredictedShotG) && b.LoadLengthMM > 0 {
			loads = append(loads, b.PredictedShotG/orOne(b.ShotFactor)/b.LoadLengthMM)
		}
	}
	if len(loads) == 0 {
		return model.Unknown
	}
	slices.Sort(loads)
	middle := len(loads) / 2
	if len(loads)%2 == 1 {
		return loads[middle]
	}
	return loads[middle-1] + (loads[middle]-loads[middle-1])/2
}

// pastLists are the parts lists of all versions, designed as far as needed.
type pastLists struct {
	lists map[listKey]*pastList
	at    map[int]data.SettleOptions // what they shared, by time
}

type listKey struct {
	product string
	version int
}

// pastList is one parts list.
type pastList struct {
	first   data.Version // of its rows, which came and went together
	parts   []*model.Part
	design  *model.Design // nil: not designed yet, or impossible
	problem error         // why it is impossible
}

func newPastLists(parts []data.Version) *pastLists {
	p := &pastLists{map[listKey]*pastList{}, map[int]data.SettleOptions{}}
	for _, h := range parts {
		key := listKey{h.Row.Key(), h.PartsVersion}
		if p.lists[key] == nil {
			p.lists[key] = &pastList{first: h}
		}
		p.lists[key].parts = append(p.lists[key].parts, h.Row.(*model.Part))
	}
	return p
}

// designed is the list's design; nil where it is impossible.
func (l *pastList) designed() *model.Design {
	if l.design == nil && l.problem == nil {
		var problems []*model.PartProblem
		if l.design, problems = model.NewDesign(l.parts, reference.Materials()); problems != nil {
			l.design, l.problem = nil, problems[0]
		}
	}
	return l.design
}

// differ says what is wrong with the figures of a build that its parts list
// gave, "" if nothing is.
func (p *pastLists) differ(h data.Version) string {
	key := listKey{h.Row.(*model.Build).Product, h.PartsVersion}
	list := p.lists[key]
	if list == nil {
		return fmt.Sprintf("its figures are marked as from parts list %d of product %q, which the log does not have", key.version, key.product)
	}
	d := list.designed()
	if d == nil {
		return fmt.Sprintf("its figures are marked as from parts list %d of product %q, which is impossible (%v)", key.version, key.product, list.problem)
	}
	for _, f := range []struct {
		name, unit string
		got, want  float64
	}{
		{"weight", "g", h.Base.WeightG, d.WeightG}, {"length", "mm", h.Base.LengthMM, d.LengthMM},
		{"shot", "g", h.Base.ShotG, d.ShotG}, {"strand", "mm", h.Base.StrandMM, d.StrandMM},
	} {
		if model.Known(f.got) && !alike(f.got, f.want) {
			return fmt.Sprintf("the %s worked out for it is %g %s, and parts list %d gives %g %s", f.name, f.got, f.unit, key.version, f.want, f.unit)
		}
	}
	return ""
}

// shared is what the lists that stood at a time agreed on.
func (p *pastLists) shared(at int) data.SettleOptions {
	if s, ok := p.at[at]; ok {
		return s
	}
	var designs []*model.Design
	for _, list := range p.lists {
		if stood(list.first, at) && list.designed() != nil {
			designs = append(designs, list.designed())
		}
	}
	p.at[at] = shared(designs)
	return p.at[at]
}

// figureTolerance is how far, relative to their size, figures may be apart that
// were worked out twice.
const figureTolerance = 1e-9

// alike reports whether two figures are one, worked out twice; NaN is like
// nothing.
func alike(a, b float64) bool {
	return math.Abs(a-b) <= figureTolerance*math.Max(math.Abs(a), math.Abs(b))
}

// orOne is a factor, 1 where there is none.
func orOne(factor float64) float64 {
	if !model.Known(factor) {
		return 1
	}
	return factor
}
