package workshop

import (
	"trueplait/calibrate"
	"trueplait/model"
)

// plan is the open plan of a build, nil if there is none.
func (s *state) plan(build string) *model.OpenBuild {
	for i := range s.Open {
		if s.Open[i].ID == build {
			return &s.Open[i]
		}
	}
	return nil
}

// planned is a row with what it leaves blank and its open plan states.
func (s *state) planned(row model.Row) model.Row {
	stated, ok := row.(*model.Build)
	if !ok {
		return row
	}
	p := s.plan(stated.ID)
	if p == nil || p.Product != stated.Product {
		return row
	}
	b := *stated
	for _, e := range model.Effects {
		if b.Labels.Get(e) == "" {
			b.Labels.Set(e, p.Labels.Get(e))
		}
	}
	for _, f := range []struct {
		into *float64
		from float64
	}{
		{&b.PredictedWeightG, p.PredictedWeightG}, {&b.PredictedLengthMM, p.PredictedLengthMM},
		{&b.PredictedShotG, p.PredictedShotG}, {&b.PredictedStrandMM, p.PredictedStrandMM},
		{&b.ShotFactor, p.ShotFactor}, {&b.BodyFactor, p.BodyFactor}, {&b.LengthFactor, p.LengthFactor},
		{&b.LoadLengthMM, p.LoadLengthMM},
	} {
		if !model.Known(*f.into) {
			*f.into = f.from
		}
	}
	if b.Calibration == 0 {
		b.Calibration = p.Calibration
	}
	if b.Started.IsZero() {
		b.Started = p.Started
	}
	return &b
}

// expected compares what a row measured with what today's factors expect.
func (s *state) expected(row model.Row) []calibrate.Expected {
	switch r := row.(type) {
	case *model.Build:
		return s.Calibration.Expect(levels(s, r.Labels, r.Date), s.base(r), map[model.Quantity]float64{
			model.Weight: r.WeightG, model.Length: r.LengthMM, model.Shot: r.ShotUsedG,
			model.Strand: r.StrandCutMM - r.StrandLeftMM,
		})
	case *model.Fill:
		base := first(r.PredictedShotG, r.FilledLengthMM*s.Calibration.Summary.BaseLoadGMM, r.FilledLengthMM*s.shared.ShotGMM)
		return s.Calibration.Expect(levels(s, r.Labels, r.Date),
			map[model.Quantity]float64{model.Shot: base}, map[model.Quantity]float64{model.Shot: r.ShotMassG})
	case *model.Check:
		l := model.Labels{Maker: model.CheckLevel, Product: model.CheckLevel, StrandBatch: level(s, model.StrandBatch, r.StrandBatch, r.Date)}
		base := first(r.PredictedMassG, r.CheckedLengthMM*s.shared.StrandGMM)
		return s.Calibration.Expect(l, map[model.Quantity]float64{model.Body: base}, map[model.Quantity]float64{model.Body: r.CheckedMassG})
	}
	return nil
}

// base are a build's base figures: those planned without the factors in them,
// else those of its product's parts list. The log works out the same, see the
// view build_base.
func (s *state) base(b *model.Build) map[model.Quantity]float64 {
	listed := model.Design{WeightG: model.Unknown, BodyG: model.Unknown, ShotG: model.Unknown, LengthMM: model.Unknown, StrandMM: model.Unknown}
	if d := s.designs[b.Product]; d != nil {
		listed = *d
	}
	shotFactor, bodyFactor, lengthFactor := first(b.ShotFactor, 1), first(b.BodyFactor, 1), first(b.LengthFactor, 1)
	shot := first(b.PredictedShotG/shotFactor, listed.ShotG)
	body := listed.BodyG
	if model.Known(b.PredictedWeightG) {
		body = (b.PredictedWeightG - shot*shotFactor) / bodyFactor
	}
	whole := model.Unknown
	switch {
	case model.Known(shot + body):
		whole = shot + body
	case !model.Known(shot) && shotFactor == bodyFactor:
		whole = b.PredictedWeightG / bodyFactor
	}
	if !model.Known(b.PredictedWeightG) {
		whole = first(whole, listed.WeightG)
	}
	return map[model.Quantity]float64{
		model.Shot: shot, model.Body: body, model.Weight: whole,
		model.Length: first(b.PredictedLengthMM/lengthFactor, listed.LengthMM),
		model.Strand: first(b.PredictedStrandMM, listed.StrandMM),
	}
}

// first is the first figure that is known, NaN if none is.
func first(figures ...float64) float64 {
	for _, x := range figures {
		if model.Known(x) {
			return x
		}
	}
	return model.Unknown
}
