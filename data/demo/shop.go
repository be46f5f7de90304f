package demo

import (
	"fmt"
	"time"

	"trueplait/model"
)

// maker is one of the people at the benches.
type maker struct {
	name    string
	share   float64       // of the shop's builds
	lag     time.Duration // how long after the others a new batch comes to this bench
	apart   bool          // buys cord and shot alone
	saves   bool          // plans with saved factors once the shop has them
	weighs  func(g float64) cell
	loads   func(g float64) cell
	tapes   func(mm float64) cell
	offcuts func(mm float64) cell // strands as cut and as left; nil: not measured
	cutsTo  float64               // strands are cut to a multiple of this, mm
}

const day = 24 * time.Hour

// makers lists the four. Shares add up to 1.
func makers() []maker {
	return []maker{
		{name: "Arlo", share: 0.36, saves: true, weighs: grams, loads: tenthGrams, tapes: centimetres, offcuts: centimetres, cutsTo: 50},
		{name: "Brid", share: 0.28, lag: 9 * day, saves: true, weighs: ounces, loads: tenthGrams, tapes: inches, offcuts: inches, cutsTo: 2 * model.MMPerInch},
		{name: "Corin", share: 0.22, lag: 17 * day, weighs: poundsOunces, loads: hundredthOunces, tapes: feetInches, offcuts: inchMarks, cutsTo: 2 * model.MMPerInch},
		{name: "Tamsin", share: 0.14, apart: true, weighs: tenthOunces, loads: grains, tapes: millimetres},
	}
}

// laws are the shop's truths without the effects, which are drawn.
func laws() map[model.Quantity]Law {
	return map[model.Quantity]Law{
		model.Shot: {Mean: -0.08, Scatter: 0.025, SD: map[model.Effect]float64{
			model.Maker: 0.03, model.CoreBatch: 0.06, model.ShotBatch: 0.02}},
		model.Body: {Mean: 0.03, Scatter: 0.015, SD: map[model.Effect]float64{
			model.Maker: 0.02, model.StrandBatch: 0.04, model.Product: 0.01}},
		model.Length: {Mean: -0.03, Scatter: 0.012, SD: map[model.Effect]float64{
			model.Maker: 0.025, model.StrandBatch: 0.02, model.Product: 0.015}},
		model.Strand: {Mean: 0.02, Scatter: 0.010, SD: map[model.Effect]float64{
			model.Maker: 0.015, model.StrandBatch: 0.01, model.Product: 0.01}},
	}
}

// changeRate is what the second reel of the newest core batch holds over the
// first.
const changeRate = 1.09

// The shop's days.
var (
	opening   = time.Date(2023, 1, 9, 0, 0, 0, 0, time.UTC)
	closing   = time.Date(2025, 6, 20, 0, 0, 0, 0, time.UTC)
	strandsOn = time.Date(2024, 3, 1, 0, 0, 0, 0, time.UTC)  // strands are measured from here on
	factorsOn = time.Date(2024, 7, 1, 0, 0, 0, 0, time.UTC)  // saved factors are used from here on
	lastCore  = time.Date(2024, 12, 2, 0, 0, 0, 0, time.UTC) // the open core batch
	changed   = time.Date(2025, 3, 3, 0, 0, 0, 0, time.UTC)  // its second reel
)

// supply is one thing bought batch by batch.
type supply struct {
	labels []string
	opened []time.Time
}

// batches spreads n purchases evenly from the first day to the last.
func batches(format string, n int, last time.Time) supply {
	var s supply
	days := int(last.Sub(opening) / day)
	for i := range n {
		s.labels = append(s.labels, fmt.Sprintf(format, i+1))
		s.opened = append(s.opened, opening.AddDate(0, 0, days*i/max(n-1, 1)))
	}
	return s
}

// at is the label of the batch in use on a day.
func (s supply) at(date time.Time) string {
	label := s.labels[0]
	for i, opened := range s.opened {
		if !date.Before(opened) {
			label = s.labels[i]
		}
	}
	return label
}

// newest is the last batch bought.
func (s supply) newest() string { return s.labels[len(s.labels)-1] }

// supplies are what one buyer buys.
type supplies struct {
	core, strand, shot supply
}

// offcut is a core batch that was enough for one whip.
const offcut = "HC05 offcut"

// purchases are the shop's and those of the maker who buys alone.
func purchases() (shop, apart supplies) {
	shop = supplies{
		core:   batches("HC%02d", 12, lastCore),
		strand: batches("NC%02d", 9, time.Date(2025, 2, 10, 0, 0, 0, 0, time.UTC)),
		shot:   batches("L%d", 3, time.Date(2024, 9, 16, 0, 0, 0, 0, time.UTC)),
	}
	apart = supplies{
		core:   batches("TH%d", 3, time.Date(2024, 8, 19, 0, 0, 0, 0, time.UTC)),
		strand: batches("TN%d", 3, time.Date(2024, 10, 7, 0, 0, 0, 0, time.UTC)),
		shot:   batches("TL%d", 1, opening),
	}
	return shop, apart
}
