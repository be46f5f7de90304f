package workshop

import (
	"context"

	"trueplait/calibrate"
	"trueplait/model"
)

// OpenBuild opens a build of the given id with a plan's figures, to be finished
// by the row that brings its measurements. What the figures contain is stated,
// so that the build is compared with the base figures then. With replace it
// takes the place of the open plan of that id.
func (w *Workshop) OpenBuild(ctx context.Context, id string, plan *calibrate.Plan, replace bool) error {
	at, err := w.opt.Clock()
	if err != nil {
		return err
	}
	weight, shot, length := plan.Calibrated.Weight.Median, plan.Calibrated.Shot.Median, plan.Calibrated.Length.Median
	open := model.OpenBuild{
		ID: id, Saved: at, Started: at, Labels: plan.Labels,
		PredictedWeightG: weight, PredictedLengthMM: length, PredictedShotG: shot, PredictedStrandMM: plan.Base.StrandMM,
		Calibration:   plan.Calibration,
		ShotFactor:    shot / plan.Base.ShotG,
		BodyFactor:    (weight - shot) / plan.Base.BodyG,
		LengthFactor:  length / plan.Base.LengthMM,
		LoadLengthMM:  plan.LoadLengthMM(),
		TargetWeightG: plan.TargetG,
	}
	splits, err := w.Log.Splits(ctx)
	if err != nil {
		return err
	}
	for _, e := range model.Effects {
		label := model.Unsplit(open.Labels.Get(e), e, splits)
		if label == model.NewLevel { // not bought yet, so not recorded
			label = ""
		}
		open.Labels.Set(e, label)
	}
	if replace {
		return w.Log.ReplacePlan(ctx, open)
	}
	return w.Log.SavePlan(ctx, open)
}
