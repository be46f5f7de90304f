package data

import (
	"context"
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

//go:embed query/open_builds_finished.sql
var openBuildsFinished string

//go:embed query/open_build_shadow.sql
var openBuildShadow string

//go:embed query/open_build_keep.sql
var openBuildKeep string

//go:embed query/open_build_remove.sql
var openBuildRemove string

//go:embed query/build_known.sql
var buildKnown string

// Why a plan is not saved, changed or dropped.
var (
	ErrBuildKnown = errors.New("the log has that build already: give the plan another id")
	ErrPlanKnown  = errors.New("is planned already, otherwise: finish that build first, or give the plan another id")
	ErrNoPlan     = errors.New("no open plan of that build")
)

// planFields are what a plan states, all but the time it was saved, in the
// order of its queries.
func planFields(p *model.OpenBuild) []field {
	return []field{
		{"id", &p.ID},
		{"started", &p.Started},
		{"product", &p.Product},
		{"maker", &p.Maker},
		{"core_batch", &p.CoreBatch},
		{"strand_batch", &p.StrandBatch},
		{"shot_batch", &p.ShotBatch},
		{"predicted_weight_g", &p.PredictedWeightG},
		{"predicted_length_mm", &p.PredictedLengthMM},
		{"predicted_shot_g", &p.PredictedShotG},
		{"predicted_strand_mm", &p.PredictedStrandMM},
		{"calibration", &p.Calibration},
		{"shot_factor", &p.ShotFactor},
		{"body_factor", &p.BodyFactor},
		{"length_factor", &p.LengthFactor},
		{"load_length_mm", &p.LoadLengthMM},
		{"target_weight_g", &p.TargetWeightG},
	}
}

// planScanners are the targets of a query of plans.
func planScanners(p *model.OpenBuild) []any {
	out := []any{&p.Saved}
	for _, f := range planFields(p) {
		out = append(out, &f)
	}
	return out
}

// SavePlan opens a build: the row that later brings the same id takes from the
// plan what it leaves blank, see [File.Finish]. The same plan again, saved at
// whatever time, is the same plan.
//
// Errors: [ErrBuildKnown], [ErrPlanKnown], and a plan without id or product.
func (l *Log) SavePlan(ctx context.Context, plan model.OpenBuild) error {
	if err := checkPlan(plan); err != nil {
		return err
	}
	return l.within(ctx, plan.Saved, func(im *Import) error {
		var builds int
		if err := im.get(ctx, "save plan", buildKnown, &builds, plan.ID); err != nil {
			return err
		}
		if builds > 0 {
			return fmt.Errorf("build %q: %w", plan.ID, ErrBuildKnown)
		}
		known, err := im.openPlan(ctx, plan.ID)
		switch {
		case errors.Is(err, ErrNoPlan):
			return im.addPlan(ctx, plan)
		case err != nil:
			return err
		}
		if differ := differences(&plan, &known); differ != nil {
			return fmt.Errorf("build %q (%s): %w", plan.ID, strings.Join(differ, "; "), ErrPlanKnown)
		}
		return nil
	})
}

// ReplacePlan gives an open plan other figures and labels; what it said before
// goes into the history. A plan that says what the open one says changes
// nothing.
//
// Errors: [ErrNoPlan], and a plan without id or product.
func (l *Log) ReplacePlan(ctx context.Context, plan model.OpenBuild) error {
	if err := checkPlan(plan); err != nil {
		return err
	}
	return l.within(ctx, plan.Saved, func(im *Import) error {
		known, err := im.openPlan(ctx, plan.ID)
		if err != nil || differences(&plan, &known) == nil {
			return err
		}
		if err := im.endPlan(ctx, plan.ID, false); err != nil {
			return err
		}
		return im.addPlan(ctx, plan)
	})
}

// DropPlan gives an open plan up. It goes into the history: no build takes from
// it, and its id may be planned anew.
//
// Errors: [ErrNoPlan].
func (l *Log) DropPlan(ctx context.Context, id string, now time.Time) error {
	return l.within(ctx, now, func(im *Import) error {
		if _, err := im.openPlan(ctx, id); err != nil {
			return err
		}
		return im.endPlan(ctx, id, true)
	})
}

// checkPlan makes sure of what every plan needs.
func checkPlan(plan model.OpenBuild) error {
	if plan.ID == "" || plan.Product == "" {
		return fmt.Errorf("plan of build %q, product %q: name both", plan.ID, plan.Product)
	}
	return nil
}

// openPlan reads the open plan of a build; [ErrNoPlan] without one.
func (im *Import) openPlan(ctx context.Context, id string) (model.OpenBuild, error) {
	var plan model.OpenBuild
	if err := im.each(ctx, "open plan", openBuildKnown, planScanners(&plan), func() {}, id); err != nil {
		return plan, err
	}
	if plan.ID == "" {
		return plan, fmt.Errorf("build %q: %w", id, ErrNoPlan)
	}
	return plan, nil
}

// addPlan opens a build.
func (im *Import) addPlan(ctx context.Context, plan model.OpenBuild) error {
	args := []any{im.now}
	for _, f := range planFields(&plan) {
		v, err := f.value()
		if err != nil {
			return im.fail("save plan", err)
		}
		args = append(args, v)
	}
	_, err := im.exec(ctx, "save plan", openBuildAdd, args...)
	return err
}

// endPlan moves an open plan into the history.
func (im *Import) endPlan(ctx context.Context, id string, dropped bool) error {
	if _, err := im.exec(ctx, "end plan", openBuildKeep, id, im.now, dropped); err != nil {
		return err
	}
	_, err := im.exec(ctx, "end plan", openBuildRemove, id)
	return err
}

// differences says column by column where a plan states something else than
// the open one of its id; nil: nowhere.
func differences(plan, known *model.OpenBuild) []string {
	var out []string
	already := planFields(known)
	for i, here := range planFields(plan) {
		if h, a := here.text(), already[i].text(); h != a {
			out = append(out, fmt.Sprintf("%s %q there, %q here", here.name, a, h))
		}
	}
	return out
}

// OpenBuilds lists the plans that wait for their builds, in the order they
// were saved.
func (l *Log) OpenBuilds(ctx context.Context) ([]model.OpenBuild, error) {
	return l.plans(ctx, openBuildsQuery)
}

// FinishedPlans lists the plans whose builds came in, by id: what those builds
// left blank was taken from them.
func (l *Log) FinishedPlans(ctx context.Context) ([]model.OpenBuild, error) {
	return l.plans(ctx, openBuildsFinished)
}

// plans runs a query of plans.
func (l *Log) plans(ctx context.Context, query string) ([]model.OpenBuild, error) {
	var plan model.OpenBuild
	var out []model.OpenBuild
	err := each(ctx, l.db, query, planScanners(&plan), func() error {
		out = append(out, plan)
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("data: plans: %w", err)
	}
	return out, nil
}
