package data

import (
	"context"
	_ "embed"

	"trueplait/model"
)

//go:embed query/build_calibrated.sql
var buildCalibrated string

//go:embed query/factor_given_stage.sql
var factorGivenStage string

//go:embed query/factor_given_unstage.sql
var factorGivenUnstage string

//go:embed query/build_resolve.sql
var buildResolve string

//go:embed query/build_unresolved.sql
var buildUnresolved string

//go:embed query/build_unresolved_remove.sql
var buildUnresolvedRemove string

// resolve looks up the factors that builds contain, by the calibration they
// name, before they are compared with the log's: a build that states its
// factors and one that names where they come from are the same build.
//
// Factors stated win. Where a build states at least one, a factor that neither
// it nor the calibration has is 1 (left NULL); where it states none, the build
// is left out and listed.
func (f *File) resolve(ctx context.Context, _ FinishOptions, out *Outcome) error {
	if f.table.kind != model.Builds {
		return nil
	}
	var calibrated int
	if err := f.im.get(ctx, f.name, buildCalibrated, &calibrated); err != nil || calibrated == 0 {
		return err
	}
	for _, query := range []string{factorGivenStage, buildResolve} {
		if _, err := f.im.exec(ctx, f.name, query); err != nil {
			return err
		}
	}
	var u Unresolved
	missing := make([]bool, 3)
	targets := []any{&u.Line, &u.ID, &u.Calibration, &u.Known, &missing[0], &missing[1], &missing[2]}
	err := f.im.each(ctx, f.name, buildUnresolved, targets, func() {
		next := u
		for i, q := range []model.Quantity{model.Shot, model.Body, model.Length} {
			if missing[i] {
				next.Missing = append(next.Missing, q)
			}
		}
		out.Unresolved = append(out.Unresolved, next)
	})
	if err != nil {
		return err
	}
	if len(out.Unresolved) > 0 {
		if _, err := f.im.exec(ctx, f.name, buildUnresolvedRemove); err != nil {
			return err
		}
	}
	_, err = f.im.exec(ctx, f.name, factorGivenUnstage)
	return err
}
