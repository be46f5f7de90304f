package report

import (
	"trueplait/calibrate"
	"trueplait/model"
)

// Reading is what an entry says, before it is saved.
type Reading struct {
	Row      model.Row            // in g and mm, with what its open plan gives it
	Today    []calibrate.Expected // how far it is from today's prediction
	Warnings []string             // what looks wrong about it; it can be saved all the same
	ShotFrom string               // "the tub, 2412 g before and 2228.5 g after"; "": shot was typed
}

// Saved is what an entry that was saved has changed.
type Saved struct {
	Row         model.Row
	Again       bool // it was there already: the same entry sent twice
	Amended     bool // it replaced a row, which is kept in the history
	Calibration int  // the number of the one that was fitted and saved after it
	Changes     []calibrate.Change
	BaseLoadGMM float64  // what a packing of 1 puts into a core, g/mm; NaN: not known
	Reminders   []Advice // what to measure next
	Warnings    []string
}
