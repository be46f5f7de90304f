package data

import (
	"context"
	"database/sql/driver"
	_ "embed"
	"errors"
	"fmt"
	"strings"
	"time"

	"trueplait/model"
)

//go:embed query/open_build_add.sql
var openBuildAdd string

//go:embed query/open_build_known.sql
var openBuildKnown string

//go:embed query/open_builds.sql
var openBuildsQuery string

//go:embed query/open_build_finish.sql
var openBuildFinish string

//go:embed query/open_build_shadow.sql
var openBuildShadow string

//go:embed query/build_known.sql
var buildKnown string

//go:embed query/build_misplanned.sql
var buildMisplanned string

//go:embed query/build_misplanned_remove.sql
var buildMisplannedRemove string

//go:embed query/build_from_plan.sql
var buildFromPlan string

// OpenBuild is a plan that waits for its build. It is no row of the log: no
// fit reads it and no export writes it. What is not known yet is blank or NaN.
type OpenBuild struct {
	ID           string
	Saved        time.Time
	Started      time.Time // when the plan was fixed
	model.Labels           // of these, the product is needed

	PredictedWeightG  float64 // as planned, with the factors below already in it
	PredictedLengthMM float64
	PredictedShotG    float64
	PredictedStrandMM float64 // always the base figure
	Calibration       int     // whose factors the plan contains; 0: none
	ShotFactor        float64
	BodyFactor        float64
	LengthFactor      float64
	LoadLengthMM      float64
	TargetWeightG     float64 // weight asked for
}

// Why a plan is not saved.
var (
	ErrBuildKnown = errors.New("the log has that build already: give the plan another id")
	ErrPlanKnown  = errors.New("is planned already, otherwise: finish that build first, or give the plan another id")
)

// fields are what a plan states, all but the time it was saved, in the order of
// its queries.
func (b *OpenBuild) fields() []field {
	return []field{
		{"id", &b.ID},
		{"started", &b.Started},
		{"product", &b.Product},
		{"maker", &b.Maker},
		{"core_batch", &b.CoreBatch},
		{"strand_batch", &b.StrandBatch},
		{"shot_batch", &b.ShotBatch},
		{"predicted_weight_g", &b.PredictedWeightG},
		{"predicted_length_mm", &b.PredictedLengthMM},
		{"predicted_shot_g", &b.PredictedShotG},
		{"predicted_strand_mm", &b.PredictedStrandMM},
		{"calibration", &b.Calibration},
		{"shot_factor", &b.ShotFactor},
		{"body_factor", &b.BodyFactor},
		{"length_factor", &b.LengthFactor},
		{"load_length_mm", &b.LoadLengthMM},
		{"target_weight_g", &b.TargetWeightG},
	}
}

// scanners returns the targets of a query of plans.
func (b *OpenBuild) scanners() []any {
	out := []any{&b.Saved}
	for _, f := range b.fields() {
		out = append(out, &f)
	}
	return out
}

// SavePlan opens a build: the row that later brings the same id takes from the
// plan what it leaves blank, see [File.Finish]. The same plan again, saved at
// whatever time, is the same plan.
//
// Errors: [ErrBuildKnown], [ErrPlanKnown], and a plan without id or product.
func (l *Log) SavePlan(ctx context.Context, plan OpenBuild) error {
	if plan.ID == "" || plan.Product == "" {
		return fmt.Errorf("plan of build %q, product %q: name both", plan.ID, plan.Product)
	}
	im, err := l.Begin(ctx, plan.Saved)
	if err != nil {
		return err
	}
	if err := im.plan(ctx, plan); err != nil {
		return errors.Join(err, im.Rollback())
	}
	return im.Commit(ctx)
}

// plan is SavePlan within a transaction.
func (im *Import) plan(ctx context.Context, plan OpenBuild) error {
	const what = "save plan"
	var builds int
	if err := im.get(ctx, what, buildKnown, &builds, plan.ID); err != nil {
		return err
	}
	if builds > 0 {
		return fmt.Errorf("build %q: %w", plan.ID, ErrBuildKnown)
	}
	var known OpenBuild
	if err := im.each(ctx, what, openBuildKnown, known.scanners(), func() {}, plan.ID); err != nil {
		return err
	}
	if known.ID != "" {
		return plan.compare(&known)
	}
	args := []any{im.now}
	for _, f := range plan.fields() {
		var v driver.Value
		v, err := f.value()
		if err != nil {
			return im.fail(what, err)
		}
		args = append(args, v)
	}
	_, err := im.exec(ctx, what, openBuildAdd, args...)
	return err
}

// compare is nil if the plan states what the open one of its id states.
func (b *OpenBuild) compare(known *OpenBuild) error {
	var differ []string
	already := known.fields()
	for i, here := range b.fields() {
		if h, a := here.text(), already[i].text(); h != a {
			differ = append(differ, fmt.Sprintf("%s %q there, %q here", here.name, a, h))
		}
	}
	if differ == nil {
		return nil
	}
	return fmt.Errorf("build %q (%s): %w", b.ID, strings.Join(differ, "; "), ErrPlanKnown)
}

// OpenBuilds lists the plans that wait for their builds, in the order they
// were saved.
func (l *Log) OpenBuilds(ctx context.Context) ([]OpenBuild, error) {
	var b OpenBuild
	var out []OpenBuild
	err := each(ctx, l.db, openBuildsQuery, b.scanners(), func() error {
		out = append(out, b)
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("data: open plans: %w", err)
	}
	return out, nil
}

// takePlans fills in what builds leave blank from the plans of their ids,
// before anything else is looked up or compared: a row that relies on its plan
// and one that states the same are the same build. A row of another product or
// maker than its open plan's is left out and listed.
func (f *File) takePlans(ctx context.Context, _ FinishOptions, out *Outcome) error {
	if f.table.kind != model.Builds {
		return nil
	}
	var c Conflict
	var here, plan model.Labels
	planMaker := field{"maker", &plan.Maker}
	targets := []any{&c.Line, &c.ID, &here.Product, &here.Maker, &plan.Product, &planMaker}
	err := f.im.each(ctx, f.name, buildMisplanned, targets, func() {
		next := Conflict{ID: c.ID, Line: c.Line, InPlan: true}
		if here.Product != plan.Product {
			next.Columns = append(next.Columns, Difference{"product", here.Product, plan.Product})
		}
		if plan.Maker != "" && here.Maker != plan.Maker {
			next.Columns = append(next.Columns, Difference{"maker", here.Maker, plan.Maker})
		}
		out.Conflicts = append(out.Conflicts, next)
	})
	if err != nil {
		return err
	}
	for _, query := range []string{buildMisplannedRemove, buildFromPlan} {
		if _, err := f.im.exec(ctx, f.name, query); err != nil {
			return err
		}
	}
	return nil
}

// finishPlans closes the plans whose builds came in.
func (f *File) finishPlans(ctx context.Context, _ FinishOptions, out *Outcome) error {
	if f.table.kind != model.Builds || out.New == 0 {
		return nil
	}
	_, err := f.im.exec(ctx, f.name, openBuildFinish, f.im.now, f.number)
	return err
}
