package data

import (
	"context"
	_ "embed"
	"fmt"
)

//go:embed query/build_last_plan.sql
var buildLastPlan string

// LastPlan returns what was planned for a product's latest build with a planned
// weight or length, dated through the reader's date at the latest, without the
// factors in it; false where there is none.
func (o *Observations) LastPlan(ctx context.Context, product string) (b Base, ok bool, err error) {
	plans, err := o.lastPlans(ctx, product)
	if err != nil {
		return b, false, fmt.Errorf("data: last plan of %q: %w", product, err)
	}
	b, ok = plans[product]
	return b, ok, nil
}

// LastPlans returns the last plan of every product that has one.
func (o *Observations) LastPlans(ctx context.Context) (map[string]Base, error) {
	plans, err := o.lastPlans(ctx, "")
	if err != nil {
		return nil, fmt.Errorf("data: last plans: %w", err)
	}
	return plans, nil
}

// lastPlans are those of one product, or of every one where it is "".
func (o *Observations) lastPlans(ctx context.Context, product string) (map[string]Base, error) {
	var of string
	var b Base
	targets := []any{&of, &field{"weight_base_g", &b.WeightG}, &field{"length_base_mm", &b.LengthMM},
		&field{"shot_base_g", &b.ShotG}, &field{"strand_base_mm", &b.StrandMM}}
	out := map[string]Base{}
	err := each(ctx, o.log.db, buildLastPlan, targets, func() error {
		out[of] = b
		return nil
	}, o.through, product)
	return out, err
}
