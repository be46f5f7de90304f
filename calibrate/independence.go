package calibrate

import (
	"slices"

	"trueplait/model"
)

// worthSaying is the share of a line's variance from which on builds of one
// batch are too much alike to count as independent.
const worthSaying = 0.2

// independence says how much of the variance of x the batches of the builds
// explain, which ones do, and how many independent builds the line is worth.
//
// Each kind of batch that moves the quantity is fitted alone, one way, by REML
// of the line's own builds on the line's own scale: the claim is about this
// line, and the spreads of a whole log, fitted on ratios, say little of a
// product whose planned size varies. The kind that explains most is taken, and
// what it shares with the others or with a maker counts as its own: builds
// alike for any of those reasons are alike. A blank label is a batch of its
// own. With ρ the share explained and n_j builds of batch j, a mean of the n
// builds varies as one of
//
//	n / (1 + ρ (Σ n_j²/n − 1))
//
// independent ones would. Without two batches and two builds of one of them, or
// without scatter, there is no share to tell.
func independence(q model.Quantity, builds []LineBuild, mean, sd float64) (share float64, effect model.Effect, independent float64) {
	share, independent = model.Unknown, model.Unknown
	if !(sd > 0) {
		return share, "", independent
	}
	for _, e := range q.Effects() {
		if !slices.Contains([]model.Effect{model.CoreBatch, model.StrandBatch, model.ShotBatch}, e) {
			continue
		}
		cells := batchCells(e, builds, mean, sd)
		s := newSystem([]model.Effect{e}, cells, nil)
		if len(s.effects) == 0 || !s.estimable(0) {
			continue
		}
		fit := s.fitREML(nil)
		if fit == nil {
			continue
		}
		ratio := fit.theta[0] * fit.theta[0]
		rho := ratio / (1 + ratio)
		if rho <= share {
			continue
		}
		n, squares := float64(len(builds)), 0.0
		for _, c := range cells {
			if size := float64(c.N); c.Labels.Get(e) == "" {
				squares += size
			} else {
				squares += size * size
			}
		}
		share, effect, independent = rho, e, n/(1+rho*(squares/n-1))
	}
	return share, effect, independent
}

// batchCells sums up (X − mean)/sd of builds per label of e, blank included,
// in order of the labels.
func batchCells(e model.Effect, builds []LineBuild, mean, sd float64) []model.Cell {
	of := map[string]*model.Cell{}
	for i := range builds { // not by value: a build is large
		b := &builds[i]
		label := b.Labels.Get(e)
		c := of[label]
		if c == nil {
			c = &model.Cell{}
			c.Labels.Set(e, label)
			of[label] = c
		}
		c.N++
		d := (b.X-mean)/sd - c.Mean
		c.Mean += d / float64(c.N)
		c.SS += d * ((b.X-mean)/sd - c.Mean)
	}
	var out []model.Cell
	for _, label := range sortedKeys(of) {
		out = append(out, *of[label])
	}
	return out
}
