package ingest

import (
	"math"

	"trueplait/model"
)

// form is what a kind of row consists of: its columns in the order of an
// export, each tied to a field of one row that is filled over and over.
// Reading fills that row and copies it out; writing copies a row in.
type form struct {
	kind    model.Kind
	columns []column
	check   func(*Reader)                // looks at the filled row as a whole
	clear   func()                       // blanks the row
	fill    func(model.Row) bool         // copies a row in; false: it is of another kind
	copy    func(model.Origin) model.Row // copies the row out
}

// newForm ties columns to the fields of row, whose origin is at origin.
func newForm[T any, Row interface {
	*T
	model.Row
}](row Row, origin *model.Origin, check func(*Reader), columns ...column) *form {
	for _, c := range columns {
		c.cell.clear()
	}
	blank := *row
	return &form{
		kind:    row.Kind(),
		columns: columns,
		check:   check,
		clear:   func() { *row = blank },
		fill: func(r model.Row) bool {
			given, ok := r.(Row)
			if ok {
				*row = *given
			}
			return ok
		},
		copy: func(from model.Origin) model.Row {
			*origin = from
			made := *row
			return Row(&made)
		},
	}
}

// forms returns the forms of every kind, for one reader or writer.
func forms() []*form {
	return []*form{partForm(), productForm(), fillForm(), checkForm(), buildForm()}
}

func buildForm() *form {
	b := new(model.Build)
	check := func(r *Reader) {
		r.warnOfFuture("date", b.Date)
		r.warnOfFuture("started", b.Started)
		if b.PredictedWeightG <= b.PredictedShotG {
			r.refuse("predicted_weight", troublef(ErrRow, "is %s g, not above predicted_shot, %s g: check both and their units",
				rounded(b.PredictedWeightG), rounded(b.PredictedShotG)))
		}
		if b.StrandLeftMM >= b.StrandCutMM {
			r.refuse("strand_left", troublef(ErrRow, "is %s mm, not below strand_cut, %s mm: check both and their units",
				rounded(b.StrandLeftMM), rounded(b.StrandCutMM)))
		}
		if b.WeightG <= b.ShotUsedG {
			r.warn("weight", troublef(ErrOdd, "is %s g, not above shot_used, %s g: the build is kept, its body is left out of fits",
				rounded(b.WeightG), rounded(b.ShotUsedG)))
		}
		if r.clean() && !model.Known(b.WeightG) && !model.Known(b.LengthMM) && !model.Known(b.ShotUsedG) {
			r.refuse("", troublef(ErrRow, "weight, length and shot_used are all blank: a build needs one of them"))
		}
	}
	return newForm(b, &b.Origin, check,
		required(label("build", &b.ID)),
		required(date("date", &b.Date)),
		required(level("maker", &b.Maker)),
		required(level("product", &b.Product)),
		level("core_batch", &b.CoreBatch),
		level("strand_batch", &b.StrandBatch),
		level("shot_batch", &b.ShotBatch),
		amount("predicted_weight", &b.PredictedWeightG, gram, positive),
		amount("predicted_length", &b.PredictedLengthMM, millimetre, positive),
		amount("predicted_shot", &b.PredictedShotG, gram, positive),
		amount("predicted_strand", &b.PredictedStrandMM, millimetre, positive),
		whole("calibration", &b.Calibration, math.MaxInt32),
		amount("shot_factor", &b.ShotFactor, one, positive),
		amount("body_factor", &b.BodyFactor, one, positive),
		amount("length_factor", &b.LengthFactor, one, positive),
		amount("weight", &b.WeightG, gram, positive),
		amount("length", &b.LengthMM, millimetre, positive),
		amount("shot_used", &b.ShotUsedG, gram, positive),
		amount("strand_cut", &b.StrandCutMM, millimetre, positive),
		amount("strand_left", &b.StrandLeftMM, millimetre, notNegative),
		amount("load_length", &b.LoadLengthMM, millimetre, positive),
		date("started", &b.Started),
		amount("humidity", &b.Humidity, percent, upTo(100)),
		note("set_aside", &b.SetAside),
		note("note", &b.Note),
	)
}

func fillForm() *form {
	f := new(model.Fill)
	check := func(r *Reader) { r.warnOfFuture("date", f.Date) }
	return newForm(f, &f.Origin, check,
		required(label("fill", &f.ID)),
		required(date("date", &f.Date)),
		level("maker", &f.Maker),
		required(level("core_batch", &f.CoreBatch)),
		level("shot_batch", &f.ShotBatch),
		required(amount("filled_length", &f.FilledLengthMM, millimetre, positive)),
		required(amount("shot_mass", &f.ShotMassG, gram, positive)),
		amount("predicted_shot", &f.PredictedShotG, gram, positive),
		note("note", &f.Note),
	)
}

func checkForm() *form {
	c := new(model.Check)
	check := func(r *Reader) { r.warnOfFuture("date", c.Date) }
	return newForm(c, &c.Origin, check,
		required(label("check", &c.ID)),
		required(date("date", &c.Date)),
		required(level("strand_batch", &c.StrandBatch)),
		required(amount("checked_length", &c.CheckedLengthMM, millimetre, positive)),
		required(amount("checked_mass", &c.CheckedMassG, gram, positive)),
		amount("predicted_mass", &c.PredictedMassG, gram, positive),
		note("note", &c.Note),
	)
}

func productForm() *form {
	p := new(model.ProductLine)
	check := func(r *Reader) {
		if p.WeightLowG > p.WeightHighG {
			r.refuse("weight_low", troublef(ErrRow, "is over weight_high: check both and their units"))
		}
		if p.LengthLowMM > p.LengthHighMM {
			r.refuse("length_low", troublef(ErrRow, "is over length_high: check both and their units"))
		}
	}
	return newForm(p, &p.Origin, check,
		required(level("product", &p.Product)),
		note("description", &p.Description),
		amount("weight_low", &p.WeightLowG, gram, positive),
		amount("weight_high", &p.WeightHighG, gram, positive),
		amount("length_low", &p.LengthLowMM, millimetre, positive),
		amount("length_high", &p.LengthHighMM, millimetre, positive),
	)
}

// More than any whip has. Planning one takes time and memory that go with its
// strands, which are dropped pair by pair, and with the cube of its layers,
// each of which is held against those below it.
const (
	maxParts   = 200 // of a product
	maxStrands = 1000
	maxCount   = 1000
)

// partForm leaves to the formulas of package model what a role needs beside
// its name: that depends on tables which a file does not hold.
func partForm() *form {
	p := new(model.Part)
	placed := map[string]int{} // parts read so far, by product
	check := func(r *Reader) {
		switch {
		case !r.clean():
		case placed[p.Product] == maxParts:
			r.refuse("product", troublef(ErrRow, "has more than %d parts: check that the list is not there twice", maxParts))
		default:
			placed[p.Product]++
			p.Position = placed[p.Product]
		}
	}
	return newForm(p, &p.Origin, check,
		required(level("product", &p.Product)),
		required(label("part", &p.Name)),
		required(role("role", &p.Role)),
		label("material", &p.Material),
		whole("count", &p.Count, maxCount),
		amount("diameter", &p.DiameterMM, millimetre, positive),
		amount("tip_diameter", &p.TipDiameterMM, millimetre, positive),
		amount("length", &p.LengthMM, millimetre, positive),
		amount("start", &p.StartMM, millimetre, notNegative),
		amount("load_length", &p.LoadLengthMM, millimetre, positive),
		amount("bore", &p.BoreMM, millimetre, positive),
		label("shot", &p.Shot),
		amount("shot_diameter", &p.ShotDiameterMM, millimetre, positive),
		amount("density", &p.DensityGCM3, gramPerCM3, positive),
		whole("strands", &p.Strands, maxStrands),
		amount("strand_width", &p.StrandWidthMM, millimetre, positive),
		amount("strand_thickness", &p.StrandThicknessMM, millimetre, positive),
		amount("drop_angle", &p.DropAngleDeg, degree, upTo(90)),
		amount("tail", &p.TailMM, millimetre, notNegative),
		amount("unloaded_diameter", &p.UnloadedDiameterMM, millimetre, positive),
		amount("sheath_angle", &p.SheathAngleDeg, degree, upTo(90)),
		amount("sheath_thickness", &p.SheathThicknessMM, millimetre, positive),
		amount("mass_per_length", &p.MassPerLengthGM, gramPerMetre, positive),
		amount("mass", &p.MassG, gram, positive),
		amount("fraction", &p.Fraction, one, upTo(1)),
	)
}
