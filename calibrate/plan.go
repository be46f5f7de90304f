package calibrate

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"trueplait/model"
)

// Plan is a product's plan with the calibration in it: the build sheet.
type Plan struct {
	Product     string
	Labels      model.Labels // whose hands and which batches it is for
	LabelsFrom  string       // where labels came from that were not asked for; "": all were
	Calibration int          // saved number of the same rows; 0: none
	Base        Sizes
	Calibrated  CalibratedSizes
	ShortRisk   float64       // accepted chance that a strand cut to CutSafeMM is too short
	Design      *model.Design // the base plan, at the load length planned
	CutSafe     []PartCut     // by part, as in Design.Parts
	TargetG     float64       // weight asked for; NaN: none
	Reached     bool          // the target can be reached, or none was asked for
	Warnings    []string
}

// Sizes are the figures of a plan; NaN where there is none.
type Sizes struct {
	WeightG, BodyG, ShotG, LengthMM, StrandMM, BalanceMM float64
}

// CalibratedSizes are the figures corrected for hands and batches: medians
// with the limits of the next build at 95 %. Where a quantity is not
// calibrated, the median is the base figure and limits are NaN; shot keeps
// the limits that packing and bore leave.
type CalibratedSizes struct {
	Weight, Body, Shot, Length, Strand Interval
	BalanceMM                          float64
}

// PartCut is how long to cut a part so that it is too short only with the
// plan's ShortRisk; NaN where that is not known, and for parts not cut.
type PartCut struct {
	SafeMM  float64
	Strands []float64 // by group of the part's strands
}

// PlanOptions of a plan.
type PlanOptions struct {
	Labels    model.Labels // blank, model.NewLevel or unknown: never seen
	ShortRisk float64      // 0 < risk < 1
	TargetG   float64      // finished weight to plan the load for; NaN: none
}

// Plan puts the calibration into a design: figures for the next build, the
// load for a target weight, and how long to cut.
//
// A target that no load reaches is planned as near as it can be; Reached is
// false then.
func (c *Calibration) Plan(d *model.Design, opt PlanOptions) *Plan {
	n := c.next(opt.Labels)
	p := &Plan{
		Product: d.Product, Labels: opt.Labels, Calibration: c.Number,
		ShortRisk: opt.ShortRisk, TargetG: opt.TargetG, Reached: true,
	}
	if model.Known(opt.TargetG) {
		d, p.Reached = n.loadFor(d, opt.TargetG)
		if !p.Reached {
			least, most := d.LoadRange()
			p.Warnings = append(p.Warnings, fmt.Sprintf("no load reaches %.0f g: with %.0f to %.0f mm of the core loaded it weighs %.0f to %.0f g; this is the plan nearest to it",
				opt.TargetG, least, most, n.weightAt(d, least), n.weightAt(d, most)))
		}
	}
	p.Design = d
	p.Base = Sizes{d.WeightG, d.BodyG, d.ShotG, d.LengthMM, d.StrandMM, d.BalanceMM}
	p.Calibrated = n.sizes(d)
	if d.ShotG > 0 && n.of[model.Shot] == nil {
		p.Warnings = append(p.Warnings, "not calibrated yet: weigh a test fill")
	}
	p.cutSafe(n)
	return p
}

// next is what is known of the next build of some labels: the distribution of
// each quantity's ln(measured/base); nil where no row informs it.
type next struct {
	of    map[model.Quantity]*Mixture
	parts bool // weight is the sum of its parts
	rho   float64
}

func (c *Calibration) next(l model.Labels) *next {
	n := &next{of: map[model.Quantity]*Mixture{}, parts: c.Summary.WeightInParts(), rho: c.Correlation}
	for i := range c.Quantities {
		if post := c.Quantities[i].Posterior; post != nil {
			n.of[c.Quantities[i].Quantity] = post.mixtures([]target{{post.sys.contrast(l), true}})[0]
		}
	}
	return n
}

// figure is a base figure times the next build's ratio.
func (n *next) figure(q model.Quantity, base float64) Interval {
	m := n.of[q]
	if m == nil || !model.Known(base) {
		return Interval{base, model.Unknown, model.Unknown}
	}
	i := m.Interval(bandCoverage)
	return Interval{base * i.Median, base * i.Low, base * i.High}
}

// sizes corrects a design's figures.
func (n *next) sizes(d *model.Design) CalibratedSizes {
	s := CalibratedSizes{
		Body:   n.figure(model.Body, d.BodyG),
		Shot:   n.figure(model.Shot, d.ShotG),
		Length: n.figure(model.Length, d.LengthMM),
		Strand: n.figure(model.Strand, d.StrandMM),
	}
	if n.of[model.Shot] == nil && d.ShotG > 0 {
		spread := distuv.UnitNormal.Quantile((1+bandCoverage)/2) * d.ShotUncertainty
		s.Shot.Low, s.Shot.High = d.ShotG*math.Exp(-spread), d.ShotG*math.Exp(spread)
	}
	s.Weight = n.weight(d)
	s.BalanceMM = d.BalanceMM
	if d.ShotG > 0 {
		s.BalanceMM = (s.Shot.Median*d.ShotBalanceMM + s.Body.Median*d.BodyBalanceMM) / (s.Shot.Median + s.Body.Median)
	}
	return s
}

// weight is the finished weight: the sum of the parts where enough builds tell
// them apart, else as a whole. Before any whip was weighed, it is what the
// parts say, without limits.
func (n *next) weight(d *model.Design) Interval {
	tail := (1 - bandCoverage) / 2
	if quantile := n.weightQuantile(d); quantile != nil {
		return Interval{quantile(0.5), quantile(tail), quantile(1 - tail)}
	}
	return Interval{n.median(model.Shot, d.ShotG) + n.median(model.Body, d.BodyG), model.Unknown, model.Unknown}
}

// weightQuantile returns the quantile function of the finished weight, or nil
// before any whip was weighed.
func (n *next) weightQuantile(d *model.Design) func(p float64) float64 {
	shot, body, whole := n.of[model.Shot], n.of[model.Body], n.of[model.Weight]
	switch {
	case n.parts && shot != nil && body != nil && d.ShotG > 0:
		return newSum(d.ShotG, shot, d.BodyG, body, n.rho).quantile
	case n.parts && body != nil && d.ShotG == 0:
		return func(p float64) float64 { return d.BodyG * math.Exp(body.Quantile(p)) }
	case whole != nil:
		return func(p float64) float64 { return d.WeightG * math.Exp(whole.Quantile(p)) }
	}
	return nil
}

// median is a base figure times the next build's median ratio.
func (n *next) median(q model.Quantity, base float64) float64 {
	if m := n.of[q]; m != nil {
		return base * math.Exp(m.Quantile(0.5))
	}
	return base
}

// weightAt is the median weight with another load length; NaN where the core
// cannot be loaded so.
func (n *next) weightAt(d *model.Design, loadMM float64) float64 {
	at, problems := d.WithLoad(loadMM)
	if problems != nil {
		return math.NaN()
	}
	if quantile := n.weightQuantile(at); quantile != nil {
		return quantile(0.5)
	}
	return n.median(model.Shot, at.ShotG) + n.median(model.Body, at.BodyG)
}

// loadFor plans the load whose median weight is the target. The base weight is
// linear in the load, and the median nearly so: the Illinois method needs a
// few steps. Dowell & Jarratt (1971), BIT 11:168.
func (n *next) loadFor(d *model.Design, target float64) (*model.Design, bool) {
	least, most := d.LoadRange()
	low, high := n.weightAt(d, least), n.weightAt(d, most)
	switch {
	case !(low < high):
		return d, false // nothing to load
	case target <= low:
		return loaded(d, least), target > low-reachedG
	case target >= high:
		return loaded(d, most), target < high+reachedG
	}
	a, fa, b, fb := least, low-target, most, high-target
	at, side := a, 0
	for range 50 {
		at = a - fa*(b-a)/(fb-fa)
		f := n.weightAt(d, at) - target
		if math.Abs(f) < reachedG {
			break
		}
		if f > 0 {
			b, fb = at, f
			if side > 0 { // the other end has not moved twice: halve its pull
				fa /= 2
			}
			side = 1
		} else {
			a, fa = at, f
			if side < 0 {
				fb /= 2
			}
			side = -1
		}
	}
	return loaded(d, at), true
}

// reachedG is how near a target counts as reached.
const reachedG = 1e-6

// loaded is d with another load, which is within the range that d allows.
func loaded(d *model.Design, loadMM float64) *model.Design {
	if at, problems := d.WithLoad(loadMM); problems == nil {
		return at
	}
	return d
}

// cutSafe works out how long to cut so that the next build's strands are too
// short only with the plan's risk: from what strands used up where it was
// measured, else from the finished length, with 5 % more for what length does
// not tell (common practice, no source).
func (p *Plan) cutSafe(n *next) {
	stretch := model.Unknown
	if m := n.of[model.Strand]; m != nil {
		stretch = math.Exp(m.Quantile(1 - p.ShortRisk))
	} else if m := n.of[model.Length]; m != nil {
		stretch = 1.05 / math.Exp(m.Quantile(p.ShortRisk))
		p.Warnings = append(p.Warnings, "strand use not measured: record what is left")
	}
	for i := range p.Design.Parts {
		part := &p.Design.Parts[i]
		cut := PartCut{SafeMM: model.Unknown}
		if part.Role == model.Plait {
			safe := func(mm float64) float64 { return part.TailMM + (mm-part.TailMM)*stretch }
			cut.SafeMM = safe(part.CutMM)
			for _, s := range part.Strands {
				cut.Strands = append(cut.Strands, safe(s.CutMM))
			}
		}
		p.CutSafe = append(p.CutSafe, cut)
	}
}

// LoadLengthMM is how far the core is loaded; NaN without shot.
func (p *Plan) LoadLengthMM() float64 {
	for _, part := range p.Design.Parts {
		if model.Known(part.LoadLengthMM) {
			return part.LoadLengthMM
		}
	}
	return model.Unknown
}
