package report

import (
	"strconv"
	"strings"
	"time"

	"trueplait/model"
)

// Fact is what a row says in one column.
type Fact struct {
	Column string // as in files: "shot_used"
	Name   string // as spoken: "shot used"
	Text   string // to be read: "83.4 g (2 7/8 oz)"
	Exact  string // as a file would state it, to the last digit: "83.42 g"
}

// Facts lists what a row says, in the order of its columns. Blank columns are
// left out. Parts have none.
func Facts(row model.Row, u Units) []Fact {
	f := facts{units: u}
	switch r := row.(type) {
	case *model.Build:
		f.build(r)
	case *model.Fill:
		f.text("fill", r.ID)
		f.date("date", r.Date)
		f.labels(r.Labels, model.Maker, model.CoreBatch, model.ShotBatch)
		f.length("filled_length", r.FilledLengthMM)
		f.mass("shot_mass", r.ShotMassG)
		f.mass("predicted_shot", r.PredictedShotG)
		f.text("note", r.Note)
	case *model.Check:
		f.text("check", r.ID)
		f.date("date", r.Date)
		f.labels(r.Labels, model.StrandBatch)
		f.length("checked_length", r.CheckedLengthMM)
		f.mass("checked_mass", r.CheckedMassG)
		f.mass("predicted_mass", r.PredictedMassG)
		f.text("note", r.Note)
	case *model.ProductLine:
		f.text("product", r.Product)
		f.text("description", r.Description)
		f.mass("weight_low", r.WeightLowG)
		f.mass("weight_high", r.WeightHighG)
		f.length("length_low", r.LengthLowMM)
		f.length("length_high", r.LengthHighMM)
	}
	return f.list
}

// facts gathers the facts of one row.
type facts struct {
	units Units
	list  []Fact
}

func (f *facts) build(b *model.Build) {
	f.text("build", b.ID)
	f.date("date", b.Date)
	f.labels(b.Labels, model.Maker, model.Product, model.CoreBatch, model.StrandBatch, model.ShotBatch)
	f.mass("weight", b.WeightG)
	f.length("length", b.LengthMM)
	f.mass("shot_used", b.ShotUsedG)
	f.length("strand_cut", b.StrandCutMM)
	f.length("strand_left", b.StrandLeftMM)
	f.length("load_length", b.LoadLengthMM)
	f.number("humidity", b.Humidity, " %")
	f.date("started", b.Started)
	f.mass("predicted_weight", b.PredictedWeightG)
	f.length("predicted_length", b.PredictedLengthMM)
	f.mass("predicted_shot", b.PredictedShotG)
	f.length("predicted_strand", b.PredictedStrandMM)
	if b.Calibration > 0 {
		f.text("calibration", strconv.Itoa(b.Calibration))
	}
	f.number("shot_factor", b.ShotFactor, "")
	f.number("body_factor", b.BodyFactor, "")
	f.number("length_factor", b.LengthFactor, "")
	f.text("set_aside", b.SetAside)
	f.text("note", b.Note)
}

func (f *facts) add(column, text, exact string) {
	f.list = append(f.list, Fact{column, Spoken(column), text, exact})
}

func (f *facts) text(column, s string) {
	if s != "" {
		f.add(column, label(s), s)
	}
}

func (f *facts) date(column string, t time.Time) {
	if !t.IsZero() {
		f.add(column, date(t), date(t))
	}
}

func (f *facts) labels(l model.Labels, of ...model.Effect) {
	for _, e := range of {
		f.text(string(e), l.Get(e))
	}
}

func (f *facts) mass(column string, g float64) {
	if model.Known(g) {
		f.add(column, Mass(g, f.units), Exact(g)+" g")
	}
}

func (f *facts) length(column string, mm float64) {
	if model.Known(mm) {
		f.add(column, Length(mm, f.units), Exact(mm)+" mm")
	}
}

// number adds a figure that has no dimension. Four digits of a factor are more
// than a shop knows.
func (f *facts) number(column string, x float64, unit string) {
	if model.Known(x) {
		f.add(column, strconv.FormatFloat(x, 'g', 4, 64)+unit, Exact(x)+unit)
	}
}

// Exact prints the fewest decimals that give x back.
func Exact(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// Spoken is the name of a column as it stands in a sentence: "shot used".
func Spoken(column string) string { return strings.ReplaceAll(column, "_", " ") }

// Amount shows a value of a dimension: grams and millimetres in the units of u,
// anything else as the number it is.
func Amount(x float64, of model.Dimension, u Units) string {
	switch of {
	case model.MassDimension:
		return Mass(x, u)
	case model.LengthDimension:
		return Length(x, u)
	}
	return strconv.FormatFloat(x, 'g', 4, 64)
}
