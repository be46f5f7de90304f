package calibrate

import (
	"context"
	"fmt"
	"math"
	"strings"

	"trueplait/model"
)

// ConsistencyOptions of an analysis of product lines.
type ConsistencyOptions struct {
	Product    string  // only this one; "": all
	Coverage   float64 // of the tolerance interval; 0: 0.95
	Confidence float64 // of the tolerance interval and of the limits of Pp and Ppk; 0: 0.95
}

// Consistency judges the builds of every product line in weight, length and
// shot, each on two scales: measured/base in %, and as measured. Lines are in
// order of product, then quantity, then scale; products without a build have
// none.
//
// Builds are taken in order of date, then id. Slips of units and builds set
// aside by hand are listed and left out; what merely stands out stays in, for
// it is what the charts are to show. The limits that lines as measured are
// judged by are those of products.
func Consistency(ctx context.Context, src Source, products []*model.ProductLine, opt ConsistencyOptions) ([]Line, error) {
	if opt.Coverage == 0 {
		opt.Coverage = 0.95
	}
	if opt.Confidence == 0 {
		opt.Confidence = 0.95
	}
	limits := map[string]*model.ProductLine{}
	for _, p := range products {
		limits[p.Product] = p
	}
	quantities := []model.Quantity{model.Weight, model.Length, model.Shot}
	rows := map[string]map[model.Quantity]*lineRows{}
	for _, q := range quantities {
		if err := readLines(ctx, src, q, opt.Product, rows); err != nil {
			return nil, fmt.Errorf("%s: %w", q, err)
		}
	}
	var out []Line
	for _, product := range sortedKeys(rows) {
		for _, q := range quantities {
			r := rows[product][q]
			if r == nil || len(r.kept) == 0 {
				continue
			}
			for _, scale := range []Scale{RatioScale, MeasuredScale} {
				l := Line{Product: product, Quantity: q, Scale: scale, LeftOut: r.leftOut}
				low, high := limitsOf(limits[product], q, scale)
				l.judge(r.kept, low, high, opt)
				out = append(out, l)
			}
		}
	}
	return out, ctx.Err()
}

// lineRows are the builds of one product in one quantity.
type lineRows struct {
	kept    []*model.Observation
	leftOut []SetAside
}

// readLines sorts the observations of q by product.
func readLines(ctx context.Context, src Source, q model.Quantity, only string, into map[string]map[model.Quantity]*lineRows) error {
	observations, err := src.Observations(ctx, q)
	if err != nil {
		return err
	}
	excluded, err := src.Excluded(ctx, q)
	if err != nil {
		return err
	}
	var ratios []float64
	product := map[model.RowKey]string{}
	of := func(name string) *lineRows {
		if into[name] == nil {
			into[name] = map[model.Quantity]*lineRows{}
		}
		if into[name][q] == nil {
			into[name][q] = &lineRows{}
		}
		return into[name][q]
	}
	for i := range observations {
		o := &observations[i]
		if o.Key.Kind != model.Builds {
			continue
		}
		if o.Excluded == "" {
			ratios = append(ratios, o.Measured/o.Base)
		} else {
			product[o.Key] = o.Labels.Product
		}
		if o.Excluded == "" && (only == "" || o.Labels.Product == only) {
			r := of(o.Labels.Product)
			r.kept = append(r.kept, o)
		}
	}
	overall := median(ratios)
	if !model.Known(overall) {
		overall = 1
	}
	for _, s := range setAside(q, excluded, nil, overall) {
		if name, ok := product[s.Key]; ok && (only == "" || name == only) {
			r := of(name)
			r.leftOut = append(r.leftOut, s)
		}
	}
	return nil
}

// limitsOf are the limits a line is judged by; NaN where none is stated.
func limitsOf(p *model.ProductLine, q model.Quantity, scale Scale) (low, high float64) {
	switch {
	case p == nil || scale != MeasuredScale:
	case q == model.Weight:
		return p.WeightLowG, p.WeightHighG
	case q == model.Length:
		return p.LengthLowMM, p.LengthHighMM
	}
	return model.Unknown, model.Unknown
}

// judge works out everything about a line from its builds, in order.
func (l *Line) judge(rows []*model.Observation, low, high float64, opt ConsistencyOptions) {
	x := make([]float64, len(rows))
	l.Builds = make([]LineBuild, len(rows))
	for i, o := range rows {
		x[i] = o.Measured
		if l.Scale == RatioScale {
			x[i] = 100 * o.Measured / o.Base
		}
		l.Builds[i] = LineBuild{ID: o.Key.ID, Date: o.Date, Labels: o.Labels, X: x[i]}
	}
	l.individuals(x)
	l.smooth(x)
	l.Tolerance = Tolerance{opt.Coverage, opt.Confidence, model.Unknown, model.Unknown, model.Unknown}
	l.BatchShare, l.NEff = model.Unknown, model.Unknown
	l.Normality = andersonDarling(x, l.Mean, l.SD)
	n := float64(len(x))
	if model.Known(low) || model.Known(high) {
		l.Capability = capability(x, l.Mean, l.SDMovingRange, l.SD, low, high, opt.Confidence)
	}
	if l.SD > 0 {
		l.findSignals(x)
		t := &l.Tolerance
		t.K = twoSidedFactor(n, n-1, opt.Coverage, opt.Confidence)
		t.Low, t.High = l.Mean-t.K*l.SD, l.Mean+t.K*l.SD
		if c := l.Capability; c != nil && model.Known(low) != model.Known(high) {
			c.Bound = l.Mean + oneSidedFactor(n, n-1, opt.Coverage, opt.Confidence)*l.SD
			if model.Known(low) {
				c.Bound = 2*l.Mean - c.Bound
			}
		}
		l.BatchShare, l.BatchEffect, l.NEff = independence(l.Quantity, l.Builds, l.Mean, l.SD)
		if !(l.BatchShare > worthSaying) {
			l.NEff = model.Unknown
		}
	}
	l.warn()
}

// smooth fills the weighted mean, its limits and the builds beyond them.
func (l *Line) smooth(x []float64) {
	z, half := ewma(x, l.Mean, l.SDMovingRange, ewmaWeight, ewmaWidth)
	for i := range z {
		l.Builds[i].EWMA = z[i]
		if l.SD > 0 && math.Abs(z[i]-l.Mean) > half[i] {
			l.EWMASignals = append(l.EWMASignals, l.Builds[i].ID)
		}
	}
	last := half[len(half)-1]
	l.EWMAUpper, l.EWMALower = l.Mean+last, l.Mean-last
}

// findSignals lists the patterns in x and what changed there.
func (l *Line) findSignals(x []float64) {
	changed := changes(l.Builds, l.Quantity.Effects())
	for _, p := range patterns(x, l.Mean, l.SDMovingRange) {
		s := Signal{Build: l.Builds[p.at].ID, At: p.at, From: p.from, Rule: p.rule, Changed: changed[p.at]}
		if began := changed[p.from]; p.from < p.at && began != "" {
			// what moved a run is to be found where it began
			began += " from " + l.Builds[p.from].ID + " on"
			if s.Changed != "" {
				began += "; " + s.Changed + " at " + s.Build
			}
			s.Changed = began
		}
		l.Signals = append(l.Signals, s)
	}
}

// changes says of each build what is new or other than in the build before,
// among the labels that move the quantity: "new core batch C04, other maker
// bero". Where either build does not say, nothing is.
func changes(builds []LineBuild, effects []model.Effect) []string {
	out := make([]string, len(builds))
	seen := make([]map[string]bool, len(effects))
	for k := range seen {
		seen[k] = map[string]bool{}
	}
	for i := range builds {
		var words []string
		for k, e := range effects {
			label := builds[i].Labels.Get(e)
			if i > 0 {
				before := builds[i-1].Labels.Get(e)
				if label == before {
					continue // and has been seen
				}
				if label != "" && before != "" {
					word := "other"
					if !seen[k][label] {
						word = "new"
					}
					words = append(words, word+" "+e.Word()+" "+label)
				}
			}
			seen[k][label] = true
		}
		out[i] = strings.Join(words, ", ")
	}
	return out
}

// leastForLimits is the fewest builds whose limits no longer move much (common
// practice, no source).
const leastForLimits = 20

// warn lists the caveats shown beside the numbers.
func (l *Line) warn() {
	say := func(format string, a ...any) { l.Warnings = append(l.Warnings, fmt.Sprintf(format, a...)) }
	if n := len(l.LeftOut); n > 0 {
		const few = 5
		var names []string
		for _, s := range l.LeftOut[:min(n, few)] {
			names = append(names, fmt.Sprintf("%s (%s)", s.Key.ID, s.Text))
		}
		if n > few {
			names = append(names, fmt.Sprintf("%d more", n-few))
		}
		say("left out: %s", list(names))
	}
	n := len(l.Builds)
	switch {
	case n == 1:
		say("one build has no scatter: limits take two, and are rough below %d", leastForLimits)
	case !(l.SD > 0):
		say("all %d builds are alike to the last digit: nothing can be said of their scatter; read the scale or tape finer", n)
	case n < leastForLimits:
		say("limits from %d builds are rough until there are about %d", n, leastForLimits)
	}
	if l.Normality.P < 0.05 {
		say("the builds do not scatter like a normal distribution (Anderson-Darling, p = %s): the tolerance interval and the shares outside rest on that", roundedP(l.Normality.P))
	}
	if model.Known(l.NEff) {
		say("batches differ: this line has about %s independent builds", roundedCount(l.NEff))
	}
	if l.Capability != nil && len(l.Signals) > 0 {
		say("the line is not steady: what holds of these builds need not hold of the next")
	}
}

// roundedP prints a small probability with two digits.
func roundedP(p float64) string {
	if p < 0.0001 {
		return "0.0001 or less"
	}
	return fmt.Sprintf("%.2g", p)
}

// roundedCount prints a number of builds, with a decimal where it is small.
func roundedCount(n float64) string {
	if n < 9.95 {
		return fmt.Sprintf("%.1f", n)
	}
	return fmt.Sprintf("%.0f", n)
}
