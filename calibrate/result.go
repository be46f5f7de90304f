package calibrate

import (
	"time"

	"trueplait/model"
)

// Calibration is a dated set of factors with their uncertainty.
type Calibration struct {
	Number                int       // 0: not saved
	Through               time.Time // last row's date; zero: no rows
	Builds, Fills, Checks int
	Summary               model.Summary
	Quantities            []QuantityFit // in the order of model.Quantities

	// Correlation is that of the scatter of shot and body, shrunk; 0 where it
	// cannot be told.
	Correlation float64

	// Pool is what the fits borrowed of it, if there was one; nil: they stand on
	// their own rows.
	Pool *model.Pool
}

// Quantity returns the fit of q.
func (c *Calibration) Quantity(q model.Quantity) *QuantityFit {
	for i := range c.Quantities {
		if c.Quantities[i].Quantity == q {
			return &c.Quantities[i]
		}
	}
	return nil
}

// QuantityFit is what was learnt about one quantity.
type QuantityFit struct {
	Quantity  model.Quantity
	Rows      int            // observations in the fit
	Effects   []model.Effect // those with at least one recorded label
	Method    string         // "exact" or "large"
	SetAside  []SetAside     // by date, then id
	Shifts    []Shift        // kept, and reported
	REML      *REML          // nil for fewer than 2 rows or no scatter at all
	Overall   Interval       // exp(μ)
	Factors   []Factor       // combinations seen, then those asked for
	Makers    []MakerFactor  // makers who can be told from their batches, compared
	Drift     []Drift
	Unlinked  []Unlinked // makers whose factors cannot be told from their batches'
	Warnings  []string
	Posterior *Posterior `json:"-"` // what predictions integrate over; nil without rows
}

// Interval is a median with equal-tailed limits; NaN where there is none.
type Interval struct {
	Median, Low, High float64
}

// Width is High less Low.
func (i Interval) Width() float64 { return i.High - i.Low }

// SetAside is a row left out of a fit, and why.
type SetAside struct {
	Key    model.RowKey
	Date   time.Time
	Ratio  float64 // measured/base
	Reason model.Reason
	Text   string // the reason in words for the maker
}

// Shift is a run of rows that stand out together: a change, not an error.
type Shift struct {
	Effect      model.Effect
	Level       string
	First, Last model.RowKey
	Date        time.Time // of First
	Rows        int
	Ratio       float64 // exp of the mean residual: 1.08 is 8 % more than the fit says
}

// REML is the exact restricted maximum likelihood fit, for those who want to
// compare it with established mixed-model software.
type REML struct {
	Criterion float64 // −2 × restricted log-likelihood with lme4's constants
	Mean      float64 // μ̂, log units
	MeanSE    float64
	SD        map[model.Effect]float64 // τ; NaN where it cannot be estimated
	Residual  float64                  // σ
	BLUP      []BLUP                   // every level, zeros too
}

// BLUP is the predicted deviation of one level.
type BLUP struct {
	Effect model.Effect
	Level  string
	Rows   int
	Value  float64
	SE     float64 // √Var(û − u), μ̂'s uncertainty included
}

// Factor is the factor of one combination of labels.
type Factor struct {
	Labels model.Labels
	Rows   int // observations in the fit with just these labels
	Interval
}

// MakerFactor is how far one maker is off the average of the shop's makers who
// share batches, batches allowed for: exp(u − ū).
type MakerFactor struct {
	Maker string
	Rows  int
	Interval
}

// Unlinked is a group of makers who share no batch with the others.
type Unlinked struct {
	Makers []string
}

// Drift is a signal that a maker's hands or a batch in use have changed.
type Drift struct {
	Effect    model.Effect
	Level     string
	AtBuild   string    // where the signal came
	Since     string    // the build with which the change most likely began
	SinceDate time.Time // that build's
	Direction string    // "up" or "down"
	Grade     string    // "watch" or "act"
	Ongoing   bool      // a watch that has not died away by the last row
}

// Proof is what a rolling origin says of the predictions.
type Proof struct {
	Cutoffs    []time.Time
	Quantities []QuantityProof // weight, length, shot
}

// QuantityProof compares predictors of one quantity on the same builds.
type QuantityProof struct {
	Quantity model.Quantity
	Builds   int // scored
	LeftOut  int
	Figures
	Robust Figures // the same without rows set aside
	Better bool
	Scored []Scored // in order of prediction
}

// Figures are the scores of one set of builds. Errors are predicted less
// measured, in g or mm; MAPE is a fraction of the measured value.
type Figures struct {
	N                   int
	Scores              map[Predictor]Score
	Coverage            Coverage // of the calibrated 95 % band
	MeanWidth           float64
	IntervalScore       float64
	MAERatio            Ratio // calibrated / planner
	MAERatioRunningMean Ratio // calibrated / running mean
}

// Predictor is a way to predict a build before it is made.
type Predictor string

// The predictors compared.
const (
	Planner     Predictor = "planner"      // base prediction
	AsPlanned   Predictor = "as_planned"   // the figure really used
	LastRatio   Predictor = "last_ratio"   // same maker's last measured/base
	RunningMean Predictor = "running_mean" // exp of the mean y so far
	Calibrated  Predictor = "calibrated"   // predictive median
)

// Predictors lists them in the order of the tables.
var Predictors = []Predictor{Planner, AsPlanned, LastRatio, RunningMean, Calibrated}

// Score sums up the errors of one predictor.
type Score struct {
	Bias, MAE, RMSE, MAPE float64
}

// Coverage is the share of builds inside their band, with limits.
type Coverage struct {
	Nominal, Achieved, Low, High float64
}

// Ratio is a ratio of mean absolute errors with 95 % percentile limits.
type Ratio struct {
	Value, Low, High float64
}

// Scored is one build as it was predicted from earlier rows only.
type Scored struct {
	Build     string
	Date      time.Time
	Labels    model.Labels
	Measured  float64
	Predicted map[Predictor]float64
	Low, High float64 // calibrated 95 % band
	SetAside  bool    // set aside in the fit of all rows
}
