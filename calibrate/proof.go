package calibrate

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"runtime"
	"slices"
	"sort"
	"sync"
	"time"

	"trueplait/model"
)

// Settings of the rolling origin.
const (
	mostCutoffs = 60
	unscored    = 5 // first builds of a quantity: too little came before them
)

// ProofOptions of a proof.
type ProofOptions struct {
	KeepAll bool   // as in Options
	Seed    uint64 // of the bootstrap

	// Newest is at most how many builds are predicted, the newest: all from
	// the first cut-off on that leaves no more, or from the last cut-off. Each
	// is predicted as it is where all are. 0: all.
	Newest int

	// Calibration gives the fit of all rows of the same Source, with the same
	// KeepAll. It is asked once, when every build is predicted, so that the fit
	// can go on meanwhile. nil: fitted here.
	Calibration func() (*Calibration, error)
}

// Prove predicts every build from the rows of earlier dates only (earlier than
// the day it was started, where recorded) and compares the predictors on the
// same builds.
//
// Spreads and what is set aside are fitted anew at up to 60 cut-offs, each on
// what came before; between cut-offs the posterior's nodes and weights are
// held and μ and the effects move on date by date. A row that a cut-off's fit
// would call far out waits for the next cut-off to decide.
func Prove(ctx context.Context, src Source, opt ProofOptions) (*Proof, error) {
	all, err := held(ctx, src)
	if err != nil {
		return nil, err
	}
	h := &history{all: all, opt: opt, list: map[model.Quantity][]prediction{}, naive: map[model.Quantity]*naive{}}
	for _, q := range provedQuantities {
		h.list[q] = scoredBuilds(all.of[q])
		h.naive[q] = newNaive(all.of[q])
	}
	h.dates()
	if err := h.run(ctx); err != nil {
		return nil, err
	}
	aside, err := h.setAside(ctx)
	if err != nil {
		return nil, err
	}
	p := &Proof{Cutoffs: h.cutoffs}
	for _, q := range provedQuantities {
		p.Quantities = append(p.Quantities, h.summary(q, aside[q]))
	}
	return p, nil
}

// held are the observations that a proof reads, in memory.
func held(ctx context.Context, src Source) (*Rows, error) {
	if r, ok := src.(*Rows); ok {
		return r, nil
	}
	of := map[model.Quantity][]model.Observation{}
	for _, q := range []model.Quantity{model.Shot, model.Body, model.Weight, model.Length} {
		var err error
		if of[q], err = src.Observations(ctx, q); err != nil {
			return nil, fmt.Errorf("%s: %w", q, err)
		}
	}
	return NewRows(of), nil
}

var provedQuantities = []model.Quantity{model.Weight, model.Length, model.Shot}

// prediction is a build to be predicted on the day its plan was fixed.
type prediction struct {
	obs   *model.Observation
	day   time.Time // started where recorded and earlier, else the date
	score bool      // not one of the first, nor excluded
	out   *Scored   // nil until predicted
}

// scoredBuilds lists the builds of one quantity by the day they are predicted.
func scoredBuilds(obs []model.Observation) []prediction {
	list := make([]prediction, 0, len(obs))
	eligible := 0
	for i := range obs {
		o := &obs[i]
		if o.Key.Kind != model.Builds {
			continue
		}
		p := prediction{obs: o, day: o.Date}
		if !o.Started.IsZero() && o.Started.Before(o.Date) {
			p.day = o.Started
		}
		if o.Excluded == "" {
			eligible++
			p.score = eligible > unscored
		}
		list = append(list, p)
	}
	slices.SortStableFunc(list, func(a, b prediction) int { return a.day.Compare(b.day) })
	return list
}

// history runs through the log's days.
type history struct {
	all     *Rows
	opt     ProofOptions
	list    map[model.Quantity][]prediction // by day
	naive   map[model.Quantity]*naive
	cutoffs []time.Time
}

// dates chooses the cut-offs: every day on which a scored build is predicted,
// or the days of 60 builds spread evenly over them. Where only the newest
// builds are wanted, the first cut-offs are dropped and the builds before the
// others are not scored.
func (h *history) dates() {
	var days []time.Time
	seen := map[model.RowKey]bool{}
	for _, q := range provedQuantities {
		for _, p := range h.list[q] {
			if p.score && !seen[p.obs.Key] {
				seen[p.obs.Key] = true
				days = append(days, p.day)
			}
		}
	}
	slices.SortFunc(days, time.Time.Compare)
	distinct := slices.Compact(slices.Clone(days))
	if len(distinct) > mostCutoffs {
		n := len(days)
		distinct = distinct[:0]
		for j := range mostCutoffs {
			distinct = append(distinct, days[(j*n+mostCutoffs-1)/mostCutoffs])
		}
		distinct = slices.Compact(distinct)
	}
	h.cutoffs = distinct
	if h.opt.Newest > 0 {
		h.skip(days)
	}
}

// skip drops the first cut-offs, as long as more builds follow on them than
// are wanted, and what was to be predicted before the first that is left. days
// are those of all scored builds, in order.
func (h *history) skip(days []time.Time) {
	for len(h.cutoffs) > 1 {
		before, _ := slices.BinarySearchFunc(days, h.cutoffs[0], time.Time.Compare)
		if len(days)-before <= h.opt.Newest {
			break
		}
		h.cutoffs = h.cutoffs[1:]
	}
	for _, list := range h.list {
		for i := range list {
			list[i].score = list[i].score && !list[i].day.Before(h.cutoffs[0])
		}
	}
}

// run predicts the builds between each cut-off and the next. The stretches do
// not depend on each other, so they run beside each other.
func (h *history) run(ctx context.Context) error {
	errs := make([]error, len(h.cutoffs))
	next := make(chan int)
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for i := range next {
				errs[i] = h.stretch(ctx, i)
			}
		})
	}
	for i := range h.cutoffs {
		next <- i
	}
	close(next)
	wg.Wait()
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// stretch predicts the builds from cut-off i up to the next.
func (h *history) stretch(ctx context.Context, i int) error {
	from := h.cutoffs[i]
	to := time.Time{}
	if i+1 < len(h.cutoffs) {
		to = h.cutoffs[i+1]
	}
	within := func(t time.Time) bool { return !t.Before(from) && (to.IsZero() || t.Before(to)) }
	o, err := h.origin(ctx, from, within)
	if err != nil {
		return err
	}
	// The days of this stretch on which something is predicted.
	var days []time.Time
	for _, q := range provedQuantities {
		list := h.list[q]
		for i := range list { // not by value: other stretches are writing their own
			if list[i].score && within(list[i].day) {
				days = append(days, list[i].day)
			}
		}
	}
	slices.SortFunc(days, time.Time.Compare)
	for _, day := range slices.Compact(days) {
		if err := ctx.Err(); err != nil {
			return err
		}
		o.advance(day)
		for _, q := range provedQuantities {
			o.predict(q, scoredOn(h.list[q], day))
		}
	}
	return nil
}

// scoredOn returns the scored predictions of a day from a list by day.
func scoredOn(list []prediction, day time.Time) []*prediction {
	var today []*prediction
	i := sort.Search(len(list), func(i int) bool { return !list[i].day.Before(day) })
	for ; i < len(list) && list[i].day.Equal(day); i++ {
		if list[i].score {
			today = append(today, &list[i])
		}
	}
	return today
}

// origin is what was known on a day: each quantity's model fitted at the
// cut-off and moved on since.
type origin struct {
	naive map[model.Quantity]*naive
	past  map[model.Quantity]*tracker
	parts bool // weight is shot + body
	rho   float64
}

// origin fits what came before the day.
func (h *history) origin(ctx context.Context, day time.Time, within func(time.Time) bool) (*origin, error) {
	before := h.all.before(day)
	sum, err := before.Summary(ctx)
	if err != nil {
		return nil, err
	}
	o := &origin{naive: h.naive, past: map[model.Quantity]*tracker{}}
	o.parts = sum.WeightInParts()
	quantities := []model.Quantity{model.Shot, model.Body, model.Length}
	if !o.parts {
		quantities = []model.Quantity{model.Shot, model.Weight, model.Length}
	}
	// Weight is needed beside its parts where a build does not say how much of
	// it is shot.
	weights := h.list[model.Weight]
	for i := range weights {
		if p := &weights[i]; o.parts && p.score && within(p.day) && math.IsNaN(p.obs.ShotBase) {
			quantities = append(quantities, model.Weight)
			break
		}
	}
	var shot *screened
	for _, q := range quantities {
		t, err := h.track(ctx, before, q, shot, day, within)
		if err != nil {
			return nil, err
		}
		o.past[q] = t
		if q == model.Shot {
			shot = t.scr
		}
	}
	if o.parts {
		o.rho, err = correlation(ctx, before, shot.residuals(model.Shot), o.past[model.Body].scr.residuals(model.Body))
	}
	return o, err
}

// track fits one quantity and queues its rows until the next cut-off.
func (h *history) track(ctx context.Context, before *Rows, q model.Quantity, shot *screened, day time.Time, within func(time.Time) bool) (*tracker, error) {
	scr, _, err := fitRows(ctx, before, q, shot, Options{KeepAll: h.opt.KeepAll})
	if err != nil {
		return nil, err
	}
	t := &tracker{scr: scr}
	var extra []model.Labels
	rows := h.all.of[q]
	for i := len(before.of[q]); i < len(rows); i++ {
		if !within(rows[i].Date) {
			break
		}
		if rows[i].Excluded == "" {
			t.queue = append(t.queue, rows[i])
			extra = append(extra, rows[i].Labels)
		}
	}
	t.sys = newSystem(q.Effects(), scr.cells, extra)
	var near []float64
	if scr.fit != nil && len(scr.fit.theta) == len(t.sys.effects) {
		near = scr.fit.theta
	}
	if t.post = newPosterior(t.sys, coarseGrid, near); t.post != nil {
		t.follow(append(extra, h.planned(within)...))
	}
	t.far = t.farOut(q)
	return t, nil
}

// planned are the labels of the builds predicted within a stretch.
func (h *history) planned(within func(time.Time) bool) []model.Labels {
	var out []model.Labels
	for _, list := range h.list {
		for i := range list {
			if list[i].score && within(list[i].day) {
				out = append(out, list[i].obs.Labels)
			}
		}
	}
	return out
}

// advance takes in the rows of earlier dates than day.
func (o *origin) advance(day time.Time) {
	for _, t := range o.past {
		for len(t.queue) > 0 && t.queue[0].Date.Before(day) {
			if !t.far[0] || !t.implausible(&t.queue[0]) {
				t.learn(&t.queue[0])
			}
			t.queue, t.far = t.queue[1:], t.far[1:]
		}
	}
}

// predict fills in the predictions of one quantity on one day.
func (o *origin) predict(q model.Quantity, today []*prediction) {
	if len(today) == 0 {
		return
	}
	next := map[model.Quantity][]*Mixture{}
	for of, t := range o.past {
		if of != q && !(q == model.Weight && o.parts && (of == model.Shot || of == model.Body)) {
			continue
		}
		if t.post == nil {
			continue
		}
		for _, p := range today {
			next[of] = append(next[of], t.next(p.obs.Labels))
		}
	}
	for i, p := range today {
		b := p.obs
		p.out = &Scored{
			Build: b.Key.ID, Date: b.Date, Labels: b.Labels, Measured: b.Measured,
			Predicted: map[Predictor]float64{Planner: b.Base, AsPlanned: b.Planned},
		}
		running, last := o.naive[q].before(p.day, b.Labels.Maker)
		p.out.Predicted[RunningMean] = b.Base * running
		p.out.Predicted[LastRatio] = b.Base * last
		var band Interval
		switch {
		case q == model.Weight && o.parts && !math.IsNaN(b.ShotBase) && next[model.Shot] != nil && next[model.Body] != nil:
			band = sumInterval(scaled{b.ShotBase, next[model.Shot][i]}, scaled{b.Base - b.ShotBase, next[model.Body][i]}, o.rho)
		case next[q] != nil:
			f := next[q][i].Interval(bandCoverage)
			band = Interval{b.Base * f.Median, b.Base * f.Low, b.Base * f.High}
		default:
			band = Interval{b.Base, math.Inf(-1), math.Inf(1)}
		}
		p.out.Predicted[Calibrated], p.out.Low, p.out.High = band.Median, band.Low, band.High
	}
}

// setAside returns, per proved quantity, the builds that the fit of all rows
// sets aside; those of weight include those of its parts.
func (h *history) setAside(ctx context.Context) (map[model.Quantity]map[model.RowKey]bool, error) {
	out := map[model.Quantity]map[model.RowKey]bool{}
	var fitted *Calibration
	if h.opt.Calibration != nil {
		var err error
		if fitted, err = h.opt.Calibration(); err != nil {
			return nil, err
		}
	}
	var shot *screened
	for _, q := range []model.Quantity{model.Shot, model.Body, model.Weight, model.Length} {
		if fitted != nil {
			out[q] = fitted.aside(q)
			continue
		}
		scr, _, err := fitRows(ctx, h.all, q, shot, Options{KeepAll: h.opt.KeepAll})
		if err != nil {
			return nil, err
		}
		if q == model.Shot {
			shot = scr
		}
		out[q] = keySet(scr.out)
	}
	for _, part := range []model.Quantity{model.Shot, model.Body} {
		for k := range out[part] {
			out[model.Weight][k] = true
		}
	}
	return out, nil
}

// aside names the rows that the fit of q set aside of those it could have used.
func (c *Calibration) aside(q model.Quantity) map[model.RowKey]bool {
	out := map[model.RowKey]bool{}
	if f := c.Quantity(q); f != nil {
		for _, s := range f.SetAside {
			if s.Reason == model.FarOut || s.Reason == model.OnlyRow || s.Reason == model.AsideShot {
				out[s.Key] = true
			}
		}
	}
	return out
}

// summary scores one quantity.
func (h *history) summary(q model.Quantity, aside map[model.RowKey]bool) QuantityProof {
	p := QuantityProof{Quantity: q}
	var robust []Scored
	for _, x := range h.list[q] {
		if !x.score {
			p.LeftOut++
			continue
		}
		x.out.SetAside = aside[x.obs.Key]
		p.Scored = append(p.Scored, *x.out)
	}
	slices.SortStableFunc(p.Scored, func(a, b Scored) int {
		return cmp.Or(a.Date.Compare(b.Date), cmp.Compare(a.Build, b.Build))
	})
	for _, s := range p.Scored {
		if !s.SetAside {
			robust = append(robust, s)
		}
	}
	p.Builds = len(p.Scored)
	p.Figures = figures(p.Scored, h.opt.Seed)
	p.Robust = figures(robust, h.opt.Seed)
	p.Better = p.Figures.better() && p.Robust.better()
	return p
}

// better reports whether both ratios lie below 1 with their limits.
func (f Figures) better() bool { return f.MAERatio.High < 1 && f.MAERatioRunningMean.High < 1 }
