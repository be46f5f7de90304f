package model

import "time"

// Summary counts the rows of a log.
type Summary struct {
	Builds, Fills, Checks int
	Through               time.Time // the last row's date; zero: no rows

	// Weighed builds have a finished weight and its base; of those, Split ones
	// have shot used and planned as well, so that body can be told from shot.
	Weighed, Split int

	// Unpredicted rows are kept but state no prediction to compare with.
	UnpredictedBuilds, UnpredictedFills, UnpredictedChecks int

	// BaseLoadGMM is the planner's load of the core, g/mm: the median of
	// predicted shot over the length it fills, builds and test fills together;
	// NaN where no row states both.
	BaseLoadGMM float64
}

// WeightInParts reports whether weight is predicted as the sum of shot and
// body: at least 8 builds, and half of those weighed, tell the two apart.
func (s Summary) WeightInParts() bool { return s.Split >= 8 && 2*s.Split >= s.Weighed }
