package calibrate

import (
	"context"
	"fmt"
	"math"

	"trueplait/model"
)

// Planned are the planner's figures of a build to come, with no correction in
// them; NaN where there is none.
type Planned struct {
	WeightG, BodyG, ShotG, LengthMM float64
	From                            string // "options", "parts list" or "last build"
}

// PromiseOptions of a promise.
type PromiseOptions struct {
	Labels   model.Labels // blank, model.NewLevel or unknown: never seen
	Coverage float64      // chance that the promise is kept, 0 < coverage < 1
	Of       int          // builds of one batch that must all be inside, at least 1
	WithinG  float64      // half width of a weight asked for; NaN: none
	AroundG  float64      // its middle; NaN: the planned weight
	Brief    bool         // without Tighten, which takes longer than all else
}

// Promise is what can be told a customer of the next build, or of the next few
// of one batch.
type Promise struct {
	Labels     model.Labels
	LabelsFrom string // where labels came from that were not asked for; "": all were
	Coverage   float64
	Of         int
	Planned    Planned
	Basis      Basis
	Weight     Band
	Body       Band
	Shot       Band
	Length     Band
	Sources    []VarianceSource // of the weight, in the order of effects, then scatter; nil where spreads are not known
	Tighten    []Tighter        // nil: not asked for, or the weight has no limits
	Within     *Within          // nil: not asked for, or the weight has no limits
	Warnings   []string
}

// Basis says what the weight is predicted from.
type Basis string

// The bases of a weight. Without limits there is none.
const (
	FromParts Basis = "parts" // shot + body
	FromWhole Basis = "whole" // finished weight
)

// Band is one figure with its limits, in g or mm; NaN where there is none.
type Band struct {
	Planned                 float64 // NaN: no such figure, and no limits either
	Interval                        // as known today
	PlannerLow, PlannerHigh float64 // what the plan alone would need
	FloorLow, FloorHigh     float64 // what is left if hands and batches were known
}

func noBand() Band {
	none := math.NaN()
	return Band{none, Interval{none, none, none}, none, none, none, none}
}

// Promise works out what can be promised of the next build.
//
//   - Today's band is that of the next build's predictive distribution, with
//     equal tails; of K builds, [Q(p), Q(1−p)] such that all K of one batch are
//     inside with the coverage asked for.
//   - The planner's band is base·exp(±q), q the ⌈(n+1) coverage⌉-th smallest
//     |ln(measured/base)| of the n builds kept (coverage^(1/K) for K builds);
//     NaN where n is too small.
//   - The floor has hands and batches fixed at their medians, and REML's scatter
//     and correlation only; NaN where REML has nothing to say.
//
// The weight is the sum of shot and body where enough builds tell them apart
// (model.Summary.WeightInParts), else it is predicted as a whole. Without any
// build of a quantity its median is the planned figure, without limits.
// An error is that of src or of options out of range.
func (c *Calibration) Promise(ctx context.Context, src Source, planned Planned, opt PromiseOptions) (*Promise, error) {
	if !(opt.Coverage > 0 && opt.Coverage < 1) {
		return nil, fmt.Errorf("coverage %v: must be above 0 and below 1", opt.Coverage)
	}
	if opt.Of < 1 {
		return nil, fmt.Errorf("promise of %d builds: must be 1 or more", opt.Of)
	}
	a := c.ahead(planned, opt.Labels)
	p := &Promise{
		Labels: opt.Labels, Coverage: opt.Coverage, Of: opt.Of, Planned: planned, Basis: a.basis,
		Weight: noBand(), Body: noBand(), Shot: noBand(), Length: noBand(),
	}
	for _, f := range []struct {
		q    model.Quantity
		into *Band
	}{{model.Weight, &p.Weight}, {model.Body, &p.Body}, {model.Shot, &p.Shot}, {model.Length, &p.Length}} {
		base := planned.base(f.q)
		if !(base > 0) {
			continue
		}
		f.into.Planned = base
		f.into.Median = a.median(f.q)
		if today := a.outcome(f.q, More{}); today != nil {
			f.into.Median = today.quantile(0.5)
			f.into.Low, f.into.High = limits(today, opt.Coverage, opt.Of)
		}
		single := math.Pow(opt.Coverage, 1/float64(opt.Of))
		if floor := a.floor(f.q); floor != nil {
			f.into.FloorLow, f.into.FloorHigh = limits(floor, single, 1)
		}
		dev, err := src.Deviation(ctx, f.q, c.leftOut(f.q), single)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", f.q, err)
		}
		f.into.PlannerLow, f.into.PlannerHigh = base*math.Exp(-dev), base*math.Exp(dev)
	}
	p.Sources = a.sources(p)
	if !opt.Brief {
		p.Tighten = a.tighten(opt)
	}
	p.within(a, opt)
	p.warn(c)
	return p, nil
}

// base is the planned figure of a quantity.
func (p Planned) base(q model.Quantity) float64 {
	switch q {
	case model.Weight:
		return p.WeightG
	case model.Body:
		return p.BodyG
	case model.Shot:
		return p.ShotG
	case model.Length:
		return p.LengthMM
	}
	return model.Unknown
}

// leftOut names the rows that the fit of q does not use.
func (c *Calibration) leftOut(q model.Quantity) []model.RowKey {
	var keys []model.RowKey
	if f := c.Quantity(q); f != nil {
		for _, s := range f.SetAside {
			keys = append(keys, s.Key)
		}
	}
	return keys
}

// ahead is what is known of the next builds of some labels, and of what rows to
// come would add.
type ahead struct {
	cal     *Calibration
	planned Planned
	of      map[model.Quantity]*outlook // nil: no row informs it
	basis   Basis
}

func (c *Calibration) ahead(planned Planned, labels model.Labels) *ahead {
	a := &ahead{cal: c, planned: planned, of: map[model.Quantity]*outlook{}}
	for _, q := range []model.Quantity{model.Weight, model.Body, model.Shot, model.Length} {
		if f := c.Quantity(q); f != nil && f.Posterior != nil {
			a.of[q] = newOutlook(q, f.Posterior, labels)
		}
	}
	loaded := planned.ShotG > 0 && a.of[model.Shot] != nil
	switch {
	case c.Summary.WeightInParts() && planned.BodyG > 0 && a.of[model.Body] != nil && (loaded || planned.ShotG == 0):
		a.basis = FromParts
	case planned.WeightG > 0 && a.of[model.Weight] != nil:
		a.basis = FromWhole
	}
	return a
}

// outcome is the distribution of the next build's figure once more rows are in;
// nil where nothing is known of it.
func (a *ahead) outcome(q model.Quantity, more More) outcome {
	return a.combine(q, func(q model.Quantity) *Mixture {
		o := a.of[q]
		if o == nil {
			return nil
		}
		own := more.Builds
		if q == model.Shot {
			own += more.Fills // the labels of shot are those of a fill
		}
		return o.after(own, more.Checks)
	})
}

// floor is the outcome with hands and batches known; nil where REML does not
// tell the scatter.
func (a *ahead) floor(q model.Quantity) outcome {
	return a.combine(q, func(q model.Quantity) *Mixture {
		f := a.cal.Quantity(q)
		if a.of[q] == nil || f.REML == nil {
			return nil
		}
		return scatterOnly(a.of[q].median(), f.REML.Residual)
	})
}

// combine puts a figure together from the ratios of quantities; nil where one
// is missing.
func (a *ahead) combine(q model.Quantity, ratio func(model.Quantity) *Mixture) outcome {
	if q == model.Weight && a.basis == FromParts {
		body := ratio(model.Body)
		if body == nil {
			return nil
		}
		if a.planned.ShotG == 0 {
			return scaled{a.planned.BodyG, body}
		}
		shot := ratio(model.Shot)
		if shot == nil {
			return nil
		}
		return newInParts(scaled{a.planned.ShotG, shot}, scaled{a.planned.BodyG, body}, a.cal.Correlation)
	}
	if m := ratio(q); m != nil {
		return scaled{a.planned.base(q), m}
	}
	return nil
}

// median is the expected figure where there are no limits: that of the parts
// for a weight of which no build is known, else the planned one.
func (a *ahead) median(q model.Quantity) float64 {
	if o := a.of[q]; o != nil {
		return a.planned.base(q) * math.Exp(o.median())
	}
	if shot := a.of[model.Shot]; q == model.Weight && shot != nil && a.planned.ShotG > 0 && a.planned.BodyG > 0 {
		return a.median(model.Shot) + a.median(model.Body)
	}
	return a.planned.base(q)
}

// warn says what limits the promise and what to do about it.
func (p *Promise) warn(c *Calibration) {
	s := c.Summary
	switch {
	case !model.Known(p.Weight.Planned):
		p.Warnings = append(p.Warnings, "no planned weight: a weight cannot be promised")
	case p.Basis == "":
		first := "no finished whip to learn from: the limits come with the first build"
		if s.Fills == 0 && p.Planned.ShotG > 0 {
			first += "; measure first a test fill of the core batch, it takes minutes"
		}
		if s.Checks == 0 {
			first += "; weigh a measured length of the strand cord"
		}
		p.Warnings = append(p.Warnings, first)
	case p.Basis == FromWhole && !(p.Planned.BodyG > 0):
		p.Warnings = append(p.Warnings, "no planned shot: the weight is predicted as a whole, and test fills and cord checks do not count for it")
	case p.Basis == FromWhole:
		p.Warnings = append(p.Warnings, fmt.Sprintf("the weight is predicted as a whole, so test fills and cord checks do not count for it yet: of %d builds weighed %d state shot used and planned, and it takes 8, and half of all", s.Weighed, s.Split))
	}
	if w := p.Weight; p.Basis != "" && !model.Known(w.PlannerLow) {
		share := math.Pow(p.Coverage, 1/float64(p.Of))
		p.Warnings = append(p.Warnings, fmt.Sprintf("the plan alone cannot be judged at this coverage before %.0f builds are weighed", math.Ceil(share/(1-share)-rankRounding)))
	}
}
