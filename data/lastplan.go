package data

import (
	"context"
	"database/sql"
	_ "embed"
	"errors"
	"fmt"
)

//go:embed query/build_last_plan.sql
var buildLastPlan string

// LastPlan returns what was planned for a product's latest build with a planned
// weight or length, dated through the reader's date at the latest, without the
// factors in it; false where there is none.
func (o *Observations) LastPlan(ctx context.Context, product string) (b Base, ok bool, err error) {
	targets := []any{&field{"weight_base_g", &b.WeightG}, &field{"length_base_mm", &b.LengthMM},
		&field{"shot_base_g", &b.ShotG}, &field{"strand_base_mm", &b.StrandMM}}
	err = o.log.db.QueryRowContext(ctx, buildLastPlan, o.through, product).Scan(targets...)
	if errors.Is(err, sql.ErrNoRows) {
		return Base{}, false, nil
	}
	if err != nil {
		return Base{}, false, fmt.Errorf("data: last plan of %q: %w", product, err)
	}
	return b, true, nil
}
