package calibrate

import (
	"time"

	"trueplait/model"
)

// Line is one product's builds in one quantity and on one scale, in order of
// date, then id: how they scatter, what stands out, and what can be promised.
//
// Figures in the unit of X: % on the ratio scale, g or mm as measured. A
// figure that the builds do not support is NaN.
type Line struct {
	Product  string
	Quantity model.Quantity
	Scale    Scale
	Builds   []LineBuild // those judged, at least one
	LeftOut  []SetAside  // slips of units and builds set aside by hand

	Mean          float64
	SD            float64 // of all builds about their mean, n−1 degrees of freedom
	SDMovingRange float64 // MRBar/d2: from one build to the next
	MRBar         float64 // mean of |x_i − x_i−1|
	Upper, Lower  float64 // Mean ± 3 SDMovingRange
	MRUpper       float64 // D4 MRBar
	EWMAUpper     float64 // limits of the weighted mean at the last build
	EWMALower     float64
	Signals       []Signal    // in order of builds, then of Rules
	EWMASignals   []string    // builds whose weighted mean is beyond its own limits
	Capability    *Capability // nil without limits to judge by
	Tolerance     Tolerance
	Normality     Normality
	BatchShare    float64      // share of the variance that batches explain; NaN where it cannot be told
	BatchEffect   model.Effect // which batches those are
	NEff          float64      // about how many independent builds these are worth; NaN unless BatchShare is over a fifth
	Warnings      []string
}

// Scale is what a line is judged on.
type Scale string

// The scales.
const (
	RatioScale    Scale = "ratio"    // measured/base, %: the hands
	MeasuredScale Scale = "measured" // g or mm: the customer's limits
)

// LineBuild is one build of a line.
type LineBuild struct {
	ID     string
	Date   time.Time
	Labels model.Labels
	X      float64 // % of base, g or mm
	EWMA   float64 // weighted mean up to this build
}

// Signal is a build at which a pattern is complete that chance seldom makes.
type Signal struct {
	Build   string
	At      int // index of Build
	From    int // index of the pattern's first build; At for one that stands alone
	Rule    Rule
	Changed string // what is new or other there, against the build before; "": nothing the log shows
}
