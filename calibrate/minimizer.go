package calibrate

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// minimizer finds the θ of least criterion.
type minimizer struct {
	sys   *system
	sol   *solution
	least []float64 // where θ cannot be told from 0; nil: not known
}

func (m *minimizer) at(theta []float64) float64 {
	if m.sol == nil || !slices.Equal(theta, m.sol.theta) {
		m.sol = m.sys.solve(theta, m.sol)
	}
	return m.sol.criterion()
}

// manyStarts rows leave the criterion one minimum.
const manyStarts = 1000

// begin is the place to start from: a guess, kept away from zero where nothing
// moves, or one of no knowledge.
func (m *minimizer) begin(guess []float64, free []int) []float64 {
	theta := make([]float64, len(m.sys.effects))
	for _, i := range free {
		theta[i] = 0.8
		if guess != nil {
			theta[i] = math.Max(guess[i], 0.05)
		}
	}
	return theta
}

// scan returns the best of all combinations of three values: with few rows
// there may be more than one minimum.
func (m *minimizer) scan(free []int) []float64 {
	theta := make([]float64, len(m.sys.effects))
	best, at := theta, math.Inf(1)
	var walk func(i int)
	walk = func(i int) {
		if i == len(free) {
			if d := m.at(theta); d < at {
				best, at = slices.Clone(theta), d
			}
			return
		}
		for _, x := range []float64{0.2, 0.8, 3} {
			theta[free[i]] = x
			walk(i + 1)
		}
	}
	walk(0)
	return best
}

// score improves a start for many rows by a few steps of Fisher's scoring for θ²,
//
//	θ² ← θ² − H⁻¹∇d,  H = information in θ²
//
// of which one is enough where the levels' rows are balanced, wherever it
// begins: there variances are linear in squares, which is why they are moved
// and not θ. A step is halved while it makes the criterion worse; a variance
// that it would make negative, or next to nothing, becomes a tenth of the
// standard deviation that H gives it.
// It stops where a step would lower the criterion by less than enough.
func (m *minimizer) score(theta []float64, free []int, enough float64) []float64 {
	const (
		steps = 8
		least = 0.1 // of a variance's standard deviation
	)
	n := len(free)
	theta = slices.Clone(theta)
	m.least = make([]float64, len(theta))
	d, next := m.at(theta), slices.Clone(theta)
	slope := make([]float64, len(theta))
	h, g, step := mat.NewSymDense(max(n, 1), nil), mat.NewVecDense(max(n, 1), nil), mat.NewVecDense(max(n, 1), nil)
	for range steps {
		info := m.sol.information()
		m.sol.gradient(slope)
		for i, k := range free {
			x := theta[k] * theta[k]
			g.SetVec(i, slope[k]/(2*x)) // by θ² instead of ln θ
			for j, l := range free[:i+1] {
				h.SetSym(i, j, info[k][l]/(4*x*theta[l]*theta[l]))
			}
		}
		var chol mat.Cholesky
		var cov mat.SymDense
		if n == 0 || !chol.Factorize(h) || chol.SolveVecTo(step, g) != nil || chol.InverseTo(&cov) != nil {
			break
		}
		for i, k := range free {
			m.least[k] = math.Sqrt(math.Sqrt(2 * cov.At(i, i)))
		}
		if mat.Dot(g, step) < enough {
			break
		}
		scale, dn := 1.0, d
		for range 10 {
			for i, k := range free {
				x := theta[k]*theta[k] - scale*step.AtVec(i)
				next[k] = math.Sqrt(math.Max(x, least*m.least[k]*m.least[k]))
			}
			if dn = m.at(next); dn < d {
				break
			}
			scale /= 2
		}
		if !(dn < d) {
			break
		}
		d = dn
		copy(theta, next)
	}
	return theta
}

// descend minimizes over the free effects from theta on; the curvature is that
// of the free θ.
func (m *minimizer) descend(theta []float64, free []int) (at []float64, d float64, curvature *mat.SymDense) {
	done := 1e-12
	if m.sys.n > manyStarts {
		done = 1e-6 // what is left after that is a millionth of θ
	}
	at = append([]float64(nil), theta...)
	all := make([]float64, len(theta))
	x := make([]float64, len(free))
	for i, k := range free {
		x[i] = theta[k]
	}
	x, d, curvature = descend(x, func(x, g []float64) float64 {
		for i, k := range free {
			at[k] = x[i]
		}
		d := m.at(at)
		if len(free) > 0 {
			m.sol.gradient(all)
		}
		for i, k := range free {
			if g[i] = 0; x[i] != 0 {
				g[i] = all[k] / x[i]
			}
		}
		return d
	}, func() *mat.SymDense { return m.curvature(free) }, done)
	for i, k := range free {
		at[k] = math.Abs(x[i])
	}
	return at, d, curvature
}

// curvature is the expected one of the criterion in the free θ. With d = f(θ²),
// ∂²d/∂θ² is the information over θ² and, where the slope is not zero, 2f'.
func (m *minimizer) curvature(free []int) *mat.SymDense {
	o := m.sol
	info := o.information()
	slope := make([]float64, len(o.theta))
	o.gradient(slope)
	h := mat.NewSymDense(len(free), nil)
	for i, k := range free {
		for j, l := range free[:i+1] {
			x := o.theta[k] * o.theta[l]
			switch {
			case i == j && x == 0:
				h.SetSym(i, i, 1)
			case i == j:
				h.SetSym(i, i, (info[k][k]+slope[k])/x)
			case x != 0:
				h.SetSym(i, j, info[k][l]/x)
			}
		}
	}
	return h
}

// zeros sets small components to zero where the criterion is no worse there.
// It does not try where the curvature says that the criterion, about a
// quadratic in θ², would be clearly worse whatever the others did.
func (m *minimizer) zeros(theta []float64, best float64, free []int, curvature *mat.SymDense) ([]float64, float64) {
	const (
		small  = 0.3
		worse  = 4 // of the criterion
		enough = 1e-10
	)
	var chol mat.Cholesky
	var cov mat.SymDense
	sure := len(free) > 0 && chol.Factorize(curvature) && chol.InverseTo(&cov) == nil
	for a, k := range free {
		if theta[k] == 0 || theta[k] > small || sure && theta[k]*theta[k] > 8*worse*cov.At(a, a) {
			continue
		}
		try := append([]float64(nil), theta...)
		try[k] = 0
		if d := m.at(try); d <= best+enough {
			theta, best = try, d
			continue
		}
		var rest []int
		for _, i := range free {
			if i != k && try[i] != 0 {
				rest = append(rest, i)
			}
		}
		if x, d, _ := m.descend(try, rest); d <= best+enough {
			theta, best = x, d
		}
	}
	return theta, best
}
