package demo

import (
	"time"

	"trueplait/model"
)

// Truth is what the generator put into the log.
type Truth struct {
	// Laws are by quantity: shot, body, length and strand. The weight is body
	// and shot together.
	Laws map[model.Quantity]Law

	Planted []Planted // wrong figures, in order of builds
	Change  Change
	Apart   string   // the maker who shares no batch with the others
	Custom  string   // the build made to a customer's own size
	ByHand  []string // builds the shop set aside itself
}

// Law is how ln(measured/base) comes about: the mean, plus the effect of each
// label, plus normal scatter from build to build. Cord checks have no maker and
// no product.
type Law struct {
	Mean    float64
	Effects []model.LevelEffect // centred per effect, spread as SD says
	SD      map[model.Effect]float64
	Scatter float64 // standard deviation
}

// Effect is the effect of one level, 0 for a level the law does not know.
func (l Law) Effect(e model.Effect, level string) float64 {
	for _, u := range l.Effects {
		if u.Effect == e && u.Level == level {
			return u.Value
		}
	}
	return 0
}

// Planted is a figure that was written down wrongly.
type Planted struct {
	Build    string
	Quantity model.Quantity // the measured column: weight, length or shot
	Text     string         // as written
	Wrong    float64        // what the text says, g or mm
	Right    float64        // what was measured, g or mm

	// Guess is what a unit slip looks like, as model.GuessSlip words it; ""
	// for a typing error.
	Guess string

	// Only is the batch that has no other row, where that is so.
	Only string
}

// Change is a change nobody recorded: the core cord under one label is no
// longer the same.
type Change struct {
	CoreBatch string
	Build     string // the first build after it
	Date      time.Time
	Factor    float64 // load after/load before
	Builds    int     // builds of the batch from Build on
}
