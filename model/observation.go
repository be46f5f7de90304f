package model

import "time"

// RowKey names a row: its kind (builds, fills or checks) and id.
type RowKey struct {
	Kind Kind
	ID   string
}

// Cell sums up the observations of one kind that share every label.
type Cell struct {
	Kind   Kind   // builds, fills or checks
	Labels Labels // effects of the quantity only, "" for blank
	N      int
	Mean   float64 // of y
	SS     float64 // sum of squares of y about Mean
}

// Observation is one row's y and what it came from.
type Observation struct {
	Key      RowKey
	Date     time.Time
	Started  time.Time // zero: not recorded
	Labels   Labels
	Measured float64 // g or mm
	Base     float64 // planner's figure without correction, g or mm
	Planned  float64 // planner's figure as used, g or mm
	ShotBase float64 // of weight: the part of Base that is shot; NaN where unknown and for other quantities
	Y        float64 // ln(Measured/Base)
	Excluded Reason  // "": eligible
}

// Reason says why a row is left out of a fit.
type Reason string

// The reasons. What is shown to the maker is worked out from them and the
// row's ratio.
const (
	UnitSlip   Reason = "unit slip"                     // the ratio of a measured column looks like another unit
	ByHand     Reason = "set aside by hand"             // the log says so
	NoBody     Reason = "weight is not above shot used" // body cannot be worked out
	FarOut     Reason = "far from the rest"             // robust residual over 4.5 scales
	OnlyRow    Reason = "check this row"                // the only row of its level, and far off
	SlipInPart Reason = "unit slip in weight or shot"   // body: one of the two it is worked out from
	AsideShot  Reason = "set aside in shot"             // body: its shot was set aside
)

// Excluded is an observation no fit may use.
type Excluded struct {
	Key    RowKey
	Date   time.Time
	Ratio  float64 // measured/base
	Reason Reason
	Note   string // the maker's own words, where set aside by hand
}
