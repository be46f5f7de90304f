package model

import "time"

// Fitted holds the fitted values that residuals are taken from.
type Fitted struct {
	Mean   float64
	Sigma  float64            // scatter that the fit found: where a search for it may begin
	Levels []LevelEffect      // levels not listed count as 0
	Theta2 map[Effect]float64 // (τ/σ)² of the effects in the fit
}

// LevelEffect is the fitted value of one level.
type LevelEffect struct {
	Effect Effect
	Level  string
	Value  float64
	Rows   int // that the fit used
}

// Residuals names a quantity, its fitted effects and the rows its fit left
// out.
type Residuals struct {
	Quantity Quantity
	Fitted   Fitted
	Aside    []RowKey
}

// Screen is what a scan of all eligible rows found.
//
// For a row t = √w (y − mean − effects), w = 1/(1 + Σ θ² of its blank labels);
// scale = 1.4826 × median |t − median t| over the rows not in aside, at least
// MinScale.
type Screen struct {
	N       int // eligible rows
	Scale   float64
	Flagged []Flagged // |t| > FlagAt × Scale, or a lone row far off; by |t| falling, then date, then id
}

// The settings of the robust screen.
const (
	MinScale = 0.003 // log units: no scale or tape in a shop reads finer
	FlagAt   = 4.5   // scales
	LoneAt   = 1.35  // ratio to what the other effects say
)

// Flagged is a row that stands out.
type Flagged struct {
	Key    RowKey
	Date   time.Time
	Labels Labels
	Ratio  float64 // measured/base
	T      float64 // robust residual, log units

	// Lone is the effect of which this row is the only eligible row of its
	// level and |y − mean − other effects| > ln LoneAt; "" where none.
	Lone Effect

	// Place is the row's place, from 1, among the eligible rows of its maker
	// and of each of its batches by date then id. Places may be left out for
	// labels that only one flagged row has.
	Place map[Effect]int
}
