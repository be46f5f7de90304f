package model

import "time"

// OpenBuild is a plan that waits for its build. It is no row of the log: no
// fit reads it and no export writes it. What is not known yet is blank or NaN.
type OpenBuild struct {
	ID      string
	Saved   time.Time
	Started time.Time // when the plan was fixed
	Labels            // of these, the product is needed

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
