package data

import (
	"context"
	_ "embed"

	"trueplait/model"
)

//go:embed query/open_build_count.sql
var openBuildCount string

//go:embed query/build_misplanned.sql
var buildMisplanned string

//go:embed query/build_misplanned_remove.sql
var buildMisplannedRemove string

//go:embed query/build_from_plan.sql
var buildFromPlan string

//go:embed query/open_build_finish.sql
var openBuildFinish string

// takePlans fills in what builds leave blank from the plans of their ids,
// before anything else is looked up or compared: a row that relies on its plan
// and one that states the same are the same build. A row of another product or
// maker than its open plan's is left out and listed.
func (f *File) takePlans(ctx context.Context, _ FinishOptions, out *Outcome) error {
	if f.table.kind != model.Builds {
		return nil
	}
	if err := f.im.get(ctx, f.name, openBuildCount, &f.plans); err != nil || f.plans == 0 {
		return err
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
	if len(out.Conflicts) > 0 {
		if _, err := f.im.exec(ctx, f.name, buildMisplannedRemove); err != nil {
			return err
		}
	}
	_, err = f.im.exec(ctx, f.name, buildFromPlan)
	return err
}

// finishPlans closes the plans whose builds came in.
func (f *File) finishPlans(ctx context.Context, _ FinishOptions, out *Outcome) error {
	if f.plans == 0 || out.New == 0 {
		return nil
	}
	_, err := f.im.exec(ctx, f.name, openBuildFinish, f.im.now, f.number)
	return err
}
