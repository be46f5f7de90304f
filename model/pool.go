package model

// LeastPool is the fewest workshops whose figures are put together: among
// fewer, what one of them shared could be guessed from the mean (common
// practice of statistical offices, from memory).
const LeastPool = 5

// Parameter is what a fit of a quantity estimates and workshops compare: its
// mean, its scatter, or the spread of an effect, which goes by the effect's
// name. All are natural logarithms: of a factor, or of a standard deviation in
// log units.
type Parameter string

// The parameters that are no effect's spread.
const (
	MeanParameter    Parameter = "mean"     // μ, the log of the overall factor
	ScatterParameter Parameter = "residual" // ln σ
)

// SpreadParameter is ln τ of an effect.
func SpreadParameter(e Effect) Parameter { return Parameter(e) }

// Shared is all that a workshop lets the others know of one parameter: what its
// own fit says, which borrows nothing.
type Shared struct {
	Quantity  Quantity
	Parameter Parameter
	Value     float64 // the posterior's mean
	SE        float64 // the posterior's standard deviation
}

// Pool is what the workshops of a shared log have in common, without anybody's
// rows: moments over the workshops that shared a fit. The one that borrows is
// not among them, or it would learn from itself.
type Pool struct {
	Workshops  int // that shared anything
	Parameters []Pooled
}

// Pooled are the moments of one parameter over the k workshops that shared it.
type Pooled struct {
	Quantity  Quantity
	Parameter Parameter
	Workshops int     // k
	Mean      float64 // of the values
	Variance  float64 // of the values, about their mean: Σ(x − x̄)²/(k − 1)
	SquaredSE float64 // mean of their squared standard errors
}

// Get returns the moments of one parameter; false: nobody shared it.
func (p *Pool) Get(q Quantity, of Parameter) (Pooled, bool) {
	for _, x := range p.Parameters {
		if x.Quantity == q && x.Parameter == of {
			return x, true
		}
	}
	return Pooled{}, false
}
