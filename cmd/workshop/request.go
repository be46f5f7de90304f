package workshop

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"trueplait/calibrate"
	"trueplait/data"
	"trueplait/ingest"
	"trueplait/model"
)

// The masses that questions ask for.
const (
	targetWeight = "target_weight"
	within       = "within"
	around       = "around"
)

// request reads what was typed into a question, and collects what is wrong
// with it.
type request struct {
	text     map[string]string
	problems []model.Problem
}

func (r *request) get(column string) string { return strings.TrimSpace(r.text[column]) }

func (r *request) refuse(column, message string) {
	r.problems = append(r.problems, model.Problem{Column: column, Text: r.get(column), Message: message})
}

// err is nil, or all that is wrong.
func (r *request) err() error {
	if r.problems == nil {
		return nil
	}
	return &model.Refused{Problems: r.problems}
}

// mass reads a mass above zero; NaN where it is blank.
func (r *request) mass(column string) float64 {
	if r.get(column) == "" {
		return model.Unknown
	}
	g, err := ingest.ParseMass(r.get(column), ingest.DecimalAuto)
	switch {
	case err != nil:
		r.refuse(column, err.Error())
	case !(g > 0):
		r.refuse(column, "must be above zero")
	}
	return g
}

// number reads a bare number or a percentage inside (low, high).
func (r *request) number(column string, standard, low, high float64) float64 {
	text := r.get(column)
	if text == "" {
		return standard
	}
	digits, percent := strings.CutSuffix(text, "%")
	x, err := strconv.ParseFloat(strings.TrimSpace(digits), 64)
	if percent {
		x /= 100
	}
	if err != nil || !(x > low && x < high) {
		r.refuse(column, fmt.Sprintf("is not between %g and %g: write it like %g %%", low*100, high*100, standard*100))
	}
	return x
}

// count reads a whole number from 1 to most.
func (r *request) count(column string, standard, most int) int {
	if r.get(column) == "" {
		return standard
	}
	n, err := strconv.Atoi(r.get(column))
	if err != nil || n < 1 || n > most {
		r.refuse(column, fmt.Sprintf("is not a whole number from 1 to %d", most))
	}
	return n
}

// labels reads the product, which is needed, the maker and the batches.
func (r *request) labels() model.Labels {
	var l model.Labels
	for _, e := range model.Effects {
		l.Set(e, r.get(string(e)))
	}
	if l.Product == "" {
		r.refuse("product", "is blank: choose one")
	}
	return l
}

// Plan works out a plan from what was typed. A maker or batch that the log does
// not know is one that it has seen nothing of.
func (b *Bench) Plan(ctx context.Context, text map[string]string) (*calibrate.Plan, error) {
	b.log.Lock()
	defer b.log.Unlock()
	return b.plan(ctx, text)
}

// plan is Plan for those who hold the log.
func (b *Bench) plan(ctx context.Context, text map[string]string) (*calibrate.Plan, error) {
	s := b.state.Load()
	r := &request{text: text}
	l := r.labels()
	opt := calibrate.PlanOptions{TargetG: r.mass(targetWeight), ShortRisk: r.number("short_risk", 0.01, 0, 0.5)}
	design := s.designs[l.Product]
	if l.Product != "" && design == nil {
		r.refuse("product", "has no parts list"+Nearest(l.Product, s.plannable()))
	}
	if err := r.err(); err != nil {
		return nil, err
	}
	l, from, err := b.workshop.Complete(ctx, l)
	if err != nil {
		return nil, err
	}
	opt.Labels = levels(s, l, s.Today)
	plan := s.Calibration.Plan(design, opt)
	plan.LabelsFrom = from
	return plan, nil
}

// plannable are the products that have a parts list.
func (s *state) plannable() []string {
	var out []string
	for _, p := range s.Products {
		if p.Planned {
			out = append(out, p.Name)
		}
	}
	return out
}

// OpenBuild opens a build with the figures of a plan.
func (b *Bench) OpenBuild(ctx context.Context, id string, text map[string]string, replace bool) (*calibrate.Plan, error) {
	ctx, done := b.write(ctx)
	defer done()
	if id = strings.TrimSpace(id); id == "" {
		return nil, &model.Refused{Problems: []model.Problem{{Column: "build", Message: "is blank: give the build a name or number"}}}
	}
	plan, err := b.plan(ctx, text)
	if err != nil {
		return nil, err
	}
	if err := b.workshop.OpenBuild(ctx, id, plan, replace); err != nil {
		return nil, planRefused(id, err)
	}
	return plan, b.note(ctx, b.state.Load().Calibration)
}

// planRefused puts what the log says against a plan in the words of an entry.
func planRefused(id string, err error) error {
	for _, known := range []error{data.ErrBuildKnown, data.ErrPlanKnown, data.ErrNoPlan} {
		if errors.Is(err, known) {
			return &model.Refused{Problems: []model.Problem{{Column: "build", Text: id, Message: known.Error()}}}
		}
	}
	return err
}

// DropBuild drops an open plan.
func (b *Bench) DropBuild(ctx context.Context, id string) error {
	ctx, done := b.write(ctx)
	defer done()
	at, err := b.workshop.opt.Clock()
	if err != nil {
		return err
	}
	if err := b.workshop.Log.DropPlan(ctx, id, at); err != nil {
		return planRefused(id, err)
	}
	return b.note(ctx, b.state.Load().Calibration)
}

// Promise works out a promise from what was typed.
func (b *Bench) Promise(ctx context.Context, text map[string]string) (*calibrate.Promise, error) {
	b.log.Lock()
	defer b.log.Unlock()
	s := b.state.Load()
	const mostOf = 1000
	r := &request{text: text}
	l := r.labels()
	opt := calibrate.PromiseOptions{
		Coverage: r.number("coverage", promised, 0, 1), Of: r.count("of", 1, mostOf),
		WithinG: r.mass(within), AroundG: r.mass(around),
	}
	if r.get(around) != "" && r.get(within) == "" {
		r.refuse(within, "is blank: how far from that weight is still good")
	}
	var unknown *unknownLabel
	if err := b.workshop.Known(ctx, l); errors.As(err, &unknown) {
		r.refuse(string(unknown.effect), fmt.Sprintf("is not in the log%s", Nearest(unknown.label, unknown.names)))
	} else if err != nil {
		return nil, err
	}
	if err := r.err(); err != nil {
		return nil, err
	}
	planned, ok, err := b.workshop.Planned(ctx, l.Product)
	if err != nil {
		return nil, err
	}
	if !ok {
		r.refuse("product", "has no planned figures: import its parts list, or a build with its plan")
		return nil, r.err()
	}
	l, from, err := b.workshop.Complete(ctx, l)
	if err != nil {
		return nil, err
	}
	opt.Labels = levels(s, l, s.Today)
	promise, err := s.Calibration.Promise(ctx, b.workshop.Src, planned, opt)
	if err != nil {
		return nil, err
	}
	promise.LabelsFrom = from
	return promise, nil
}

// Lines judges one product, or with "" all.
func (b *Bench) Lines(ctx context.Context, product string) ([]calibrate.Line, error) {
	b.log.Lock()
	defer b.log.Unlock()
	var lines []*model.ProductLine
	for _, p := range b.state.Load().Products {
		if p.Line != nil {
			lines = append(lines, p.Line)
		}
	}
	return calibrate.Consistency(ctx, b.workshop.Src, lines, calibrate.ConsistencyOptions{Product: product})
}
