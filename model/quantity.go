package model

// Quantity is something the log compares: planned against measured.
type Quantity string

// The five calibrated quantities, in the order they are shown.
const (
	Shot   Quantity = "shot"   // mass of shot in the core, g
	Body   Quantity = "body"   // finished mass less shot, g
	Weight Quantity = "weight" // finished mass as a whole, g
	Length Quantity = "length" // finished length, mm
	Strand Quantity = "strand" // length the longest overlay strand uses up, mm
)

// Quantities lists all five in the order of results.
var Quantities = []Quantity{Shot, Body, Weight, Length, Strand}

// Effects returns what may move a quantity: the columns whose levels share a
// factor.
func (q Quantity) Effects() []Effect {
	switch q {
	case Shot:
		return []Effect{Maker, CoreBatch, ShotBatch}
	case Weight:
		return []Effect{Maker, StrandBatch, CoreBatch, Product}
	default:
		return []Effect{Maker, StrandBatch, Product}
	}
}

// Dimension says whether the quantity is weighed or measured with a tape.
func (q Quantity) Dimension() Dimension {
	if q == Length || q == Strand {
		return LengthDimension
	}
	return MassDimension
}

// FactorName is the maker's word for the correction of the quantity.
func (q Quantity) FactorName() string {
	switch q {
	case Shot:
		return "packing"
	case Body:
		return "cord mass"
	case Length:
		return "stretch"
	case Strand:
		return "take-up"
	}
	return "weight"
}

// Effect is a column of labels that may carry a steady deviation.
type Effect string

// The effects of the mixed models.
const (
	Maker       Effect = "maker"
	CoreBatch   Effect = "core_batch"
	StrandBatch Effect = "strand_batch"
	ShotBatch   Effect = "shot_batch"
	Product     Effect = "product"
)

// Effects lists every effect, in the order of columns.
var Effects = []Effect{Maker, CoreBatch, StrandBatch, ShotBatch, Product}

// Word is the effect as it stands in a sentence: "core batch".
func (e Effect) Word() string {
	switch e {
	case CoreBatch:
		return "core batch"
	case StrandBatch:
		return "strand batch"
	case ShotBatch:
		return "shot batch"
	}
	return string(e)
}

// CheckLevel is the level of maker and product that cord checks take part
// with: no one plaited them.
const CheckLevel = "(check)"

// NewLevel is the reserved word for a maker or batch that has no row yet.
const NewLevel = "new"

// Labels say whose hands and which purchases went into a row. An empty label
// is unrecorded.
type Labels struct {
	Maker       string
	CoreBatch   string
	StrandBatch string
	ShotBatch   string
	Product     string
}

// Get returns the label of one effect, "" where unrecorded.
func (l Labels) Get(e Effect) string {
	switch e {
	case Maker:
		return l.Maker
	case CoreBatch:
		return l.CoreBatch
	case StrandBatch:
		return l.StrandBatch
	case ShotBatch:
		return l.ShotBatch
	case Product:
		return l.Product
	}
	return ""
}

// Set writes the label of one effect.
func (l *Labels) Set(e Effect, label string) {
	switch e {
	case Maker:
		l.Maker = label
	case CoreBatch:
		l.CoreBatch = label
	case StrandBatch:
		l.StrandBatch = label
	case ShotBatch:
		l.ShotBatch = label
	case Product:
		l.Product = label
	}
}
