package model

// Part is one row of a product's parts list. Which figures a part needs
// depends on its role; those it does not state are NaN (or 0 for counts).
type Part struct {
	Origin
	Product  string
	Position int // place in the product's list, from 1, as in the file
	Name     string
	Role     Role
	Material string

	Count              int     // multiplies mass; 0: not stated, 1
	DiameterMM         float64 // outside, at the start
	TipDiameterMM      float64 // outside, at the end
	LengthMM           float64
	StartMM            float64 // distance from the butt; NaN: 0
	LoadLengthMM       float64
	BoreMM             float64 // inside of the loaded core
	Shot               string  // "9 lead"
	ShotDiameterMM     float64
	DensityGCM3        float64
	Strands            int
	StrandWidthMM      float64
	StrandThicknessMM  float64
	DropAngleDeg       float64
	TailMM             float64
	UnloadedDiameterMM float64
	SheathAngleDeg     float64
	SheathThicknessMM  float64
	MassPerLengthGM    float64 // g/m
	MassG              float64
	Fraction           float64
}

// Kind is Parts.
func (*Part) Kind() Kind { return Parts }

// Key is the product: a file states the whole list of each product in it.
func (p *Part) Key() string { return p.Product }

// Role is what a part does in the whip.
type Role string

// The roles of parts.
const (
	Rod     Role = "rod"
	Core    Role = "core"
	Plait   Role = "plait"
	Wrap    Role = "wrap"
	Fall    Role = "fall"
	Cracker Role = "cracker"
	Knot    Role = "knot"
	Finish  Role = "finish"
	Other   Role = "other"
)

// Roles lists every role.
var Roles = []Role{Rod, Core, Plait, Wrap, Fall, Cracker, Knot, Finish, Other}
