package model

import (
	"fmt"
	"time"
)

// Kind is a kind of row, and of CSV file.
type Kind string

// The kinds, in the order an import loads them.
const (
	Parts    Kind = "parts"
	Products Kind = "products"
	Fills    Kind = "fills"
	Checks   Kind = "checks"
	Builds   Kind = "builds"
)

// Kinds lists every kind in the order an import loads them: what predicts
// comes before what is predicted.
var Kinds = []Kind{Parts, Products, Fills, Checks, Builds}

// Noun is the word for n rows of the kind: "build" for one, "builds" for more.
func (k Kind) Noun(n int) string {
	noun := map[Kind]string{Parts: "part", Products: "product", Fills: "test fill", Checks: "cord check", Builds: "build"}[k]
	if n != 1 {
		noun += "s"
	}
	return noun
}

// IDColumn is the column that identifies a row of the kind; a parts list is one
// of its product.
func (k Kind) IDColumn() string {
	return map[Kind]string{Parts: "product", Products: "product", Fills: "fill", Checks: "check", Builds: "build"}[k]
}

// Row is one row of any kind: *Build, *Fill, *Check, *ProductLine or *Part.
type Row interface {
	Kind() Kind
	// Key identifies the row among its kind.
	Key() string
	// From says which file and line the row came from.
	From() Origin
}

// Origin is where a row was read.
type Origin struct {
	File string // as the user gave it
	Line int    // physical line, 1-based
}

// From returns the origin itself, so that embedding it makes a Row.
func (o Origin) From() Origin { return o }

// String is FILE:LINE.
func (o Origin) String() string { return fmt.Sprintf("%s:%d", o.File, o.Line) }

// Build is one finished whip. Masses are in grams, lengths in millimetres;
// a figure that was not recorded is NaN, a date the zero time.
type Build struct {
	Origin
	ID   string
	Date time.Time // finished
	Labels

	PredictedWeightG  float64 // as planned, with the factors below already in it
	PredictedLengthMM float64
	PredictedShotG    float64
	PredictedStrandMM float64 // always the base figure
	Calibration       int     // whose factors the plan contains; 0: none
	ShotFactor        float64 // contained in PredictedShotG
	BodyFactor        float64 // contained in PredictedWeightG less PredictedShotG
	LengthFactor      float64 // contained in PredictedLengthMM

	WeightG      float64
	LengthMM     float64
	ShotUsedG    float64
	StrandCutMM  float64 // longest strand of the overlay as cut
	StrandLeftMM float64 // what was left of it
	LoadLengthMM float64
	Started      time.Time // when the plan was fixed
	Humidity     float64   // % RH, kept, not used
	SetAside     string    // reason to leave the row out of fits, by hand
	Note         string
}

// Kind is Builds.
func (*Build) Kind() Kind { return Builds }

// Key is the build's id.
func (b *Build) Key() string { return b.ID }

// Fill is a test fill: a measured length of core cord, filled and weighed.
type Fill struct {
	Origin
	ID             string
	Date           time.Time
	Labels         // maker, core batch, shot batch
	FilledLengthMM float64
	ShotMassG      float64
	PredictedShotG float64 // NaN: to be worked out from builds or parts
	Note           string
}

// Kind is Fills.
func (*Fill) Kind() Kind { return Fills }

// Key is the fill's id.
func (f *Fill) Key() string { return f.ID }

// Check is a cord check: a measured length of strand cord, weighed.
type Check struct {
	Origin
	ID              string
	Date            time.Time
	Labels          // strand batch
	CheckedLengthMM float64
	CheckedMassG    float64
	PredictedMassG  float64 // NaN: to be worked out from the parts list
	Note            string
}

// Kind is Checks.
func (*Check) Kind() Kind { return Checks }

// Key is the check's id.
func (c *Check) Key() string { return c.ID }

// ProductLine is an item of the shop's range with what is promised today.
type ProductLine struct {
	Origin
	Product      string
	Description  string
	WeightLowG   float64
	WeightHighG  float64
	LengthLowMM  float64
	LengthHighMM float64
}

// Kind is Products.
func (*ProductLine) Kind() Kind { return Products }

// Key is the product's name.
func (p *ProductLine) Key() string { return p.Product }
