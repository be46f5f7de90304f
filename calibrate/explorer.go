package calibrate

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// explorer looks for the θ that count. It knows the posterior's mode in ln θ
// and its axes there: the directions of the curvature, with the distances at
// which the density has really fallen as a normal's has at one standard
// deviation, for posteriors are skewed.
type explorer struct {
	sys  *system
	mode []float64
	top  float64 // log posterior at the mode
	axes []axis
	sol  *solution
	node node
	peak node // at the mode
}

// axis is a direction in ln θ, with a standard deviation each way.
type axis struct {
	direction []float64
	up, down  float64
}

// newExplorer begins at near, a guess of θ or nil; sol is a solution that is no
// longer needed, or nil.
func newExplorer(s *system, near []float64, sol *solution) *explorer {
	x := &explorer{sys: s, mode: make([]float64, len(s.effects)), sol: sol}
	phi := make([]float64, len(s.effects))
	for k, t := range near {
		if t == 0 || s.n <= manyStarts {
			t = math.Max(t, 0.1)
		}
		phi[k] = math.Log(t)
	}
	var curvature *mat.SymDense
	var value float64
	x.mode, value, curvature = descend(phi, x.slopes, x.curvature, 1e-3)
	x.top = -value
	x.at(x.mode)
	x.peak = x.node
	x.findAxes(curvature)
	return x
}

// at is the log posterior of ln θ with σ summed out, −Inf outside the limits;
// the node is left in x.
func (x *explorer) at(phi []float64) float64 {
	theta := make([]float64, len(phi))
	for k, p := range phi {
		if p < minLogTheta || p > maxLogTheta {
			return math.Inf(-1)
		}
		theta[k] = math.Exp(p)
	}
	if x.sol == nil || !alike(theta, x.sol.theta) {
		x.sol = x.sys.solve(theta, x.sol)
	}
	x.node.theta = theta
	var l float64
	x.node.sigma, l = x.sol.sigmaNodes(nil)
	return l
}

// alike reports whether a and b are the same but for the rounding of logarithms.
func alike(a, b []float64) bool {
	return slices.EqualFunc(a, b, func(x, y float64) bool { return math.Abs(x-y) <= 1e-13*y })
}

// slopes is −at with its gradient by ln θ in g. Given σ it is that of the
// criterion's two parts and of the priors; over σ it is their mean.
func (x *explorer) slopes(phi, g []float64) float64 {
	l := x.at(phi)
	if math.IsInf(l, -1) {
		return math.Inf(1)
	}
	quad := make([]float64, len(g))
	x.sol.slopes(g, quad)
	for k, t := range x.node.theta {
		if prior := x.sys.borrowed.ofSpread(k); prior != nil {
			g[k] /= 2
			for _, s := range x.node.sigma {
				g[k] += s.weight * (quad[k]/(2*s.sigma*s.sigma) + prior.slope(phi[k]+s.log))
			}
			continue
		}
		g[k] = g[k]/2 - 1 // −1: the density is that of ln θ
		for _, s := range x.node.sigma {
			z := t * s.sigma / priorSpread
			g[k] += s.weight * (quad[k]/(2*s.sigma*s.sigma) + 5*z*z/(4+z*z))
		}
	}
	x.sol.meanSlopes(g, x.node.sigma)
	return -l
}

// curvature is the expected one of −at where slopes was called last.
func (x *explorer) curvature() *mat.SymDense {
	k := len(x.mode)
	info := x.sol.information()
	det, quad := make([]float64, k), make([]float64, k)
	x.sol.slopes(det, quad)
	h := mat.NewSymDense(k, nil)
	for i := range k {
		for j := range i {
			h.SetSym(i, j, info[i][j]/2)
		}
		d := info[i][i]/2 + det[i]
		prior := x.sys.borrowed.ofSpread(i)
		for _, s := range x.node.sigma {
			if prior != nil {
				d += s.weight * (quad[i]/(s.sigma*s.sigma) + prior.bend(math.Log(x.node.theta[i])+s.log))
				continue
			}
			z := x.node.theta[i] * s.sigma / priorSpread
			d += s.weight * (quad[i]/(s.sigma*s.sigma) + 40*z*z/((4+z*z)*(4+z*z)))
		}
		h.SetSym(i, i, d)
	}
	return h
}

// normalAxis is the standard deviation in ln θ below which skewness is not worth
// measuring: hundreds of levels stand behind it.
const normalAxis = 0.05

// findAxes takes the directions of the curvature and measures along each.
func (x *explorer) findAxes(curvature *mat.SymDense) {
	k := len(x.mode)
	if k == 0 {
		return
	}
	var eig mat.EigenSym
	vectors, values := mat.NewDense(k, k, nil), make([]float64, k)
	if eig.Factorize(curvature, true) {
		eig.VectorsTo(vectors)
		eig.Values(values)
	} else {
		for i := range k {
			vectors.Set(i, i, 1)
		}
	}
	for a := range k {
		d := mat.Col(nil, a, vectors)
		sd := math.Min(1/math.Sqrt(math.Max(values[a], 0.01)), 4)
		if sd < normalAxis {
			x.axes = append(x.axes, axis{d, sd, sd})
			continue
		}
		if sd < ownAxis && x.sys.n > manyStarts {
			x.axes = append(x.axes, skewAxis(d, sd))
			continue
		}
		x.axes = append(x.axes, axis{d, x.deviation(d, sd), x.deviation(d, -sd)})
	}
}

// ownAxis is the standard deviation in ln θ below which, with many rows, the
// skewness is that of a spread of so many levels.
const ownAxis = 0.3

// skewAxis is an axis with the skewness of ln θ where θ² is known as the
// variance of ν normal deviates is, ν = 1/(2 sd²): the log density has fallen by
// ν(x + (e^{−2x} − 1)/2) at a distance of x.
func skewAxis(direction []float64, sd float64) axis {
	nu := 1 / (2 * sd * sd)
	half := func(sign float64) float64 { // of the distance where it has fallen by 2
		x := 2 * sd * sign
		for range 20 { // Newton's steps
			x -= (nu*(x+math.Expm1(-2*x)/2) - 2) / (nu * -math.Expm1(-2*x))
		}
		return math.Abs(x) / 2
	}
	up, down := half(1), half(-1)
	main := 0.0
	for _, x := range direction {
		if math.Abs(x) > math.Abs(main) {
			main = x
		}
	}
	if main < 0 {
		up, down = down, up
	}
	return axis{direction, up, down}
}

// deviation measures a standard deviation in a direction: half the distance at
// which the log density has fallen by 2. sd is a guess, with the sign of the
// side.
func (x *explorer) deviation(direction []float64, sd float64) float64 {
	phi := make([]float64, len(x.mode))
	for range 6 {
		for i := range phi {
			phi[i] = x.mode[i] + 2*sd*direction[i]
		}
		fall := math.Max(x.top-x.at(phi), 0.1)
		sd *= math.Max(math.Sqrt(2/fall), 0.3)
		if fall > 1.5 && fall < 2.7 {
			break
		}
	}
	return math.Abs(sd)
}

// lattice is the cut for few rows.
type lattice struct {
	step float64 // between nodes, in the posterior's own standard deviations
	drop float64 // nodes whose log density is this far below the mode's are left out
}

// lattice fills the space around the mode with nodes a fixed number of standard
// deviations apart, until what is outside no longer counts.
func (x *explorer) lattice(cut lattice) []node {
	k := len(x.mode)
	var nodes []node
	queue := [][maxEffects]int{{}}
	seen := map[[maxEffects]int]bool{queue[0]: true}
	phi := make([]float64, k)
	const most = 20000 // a guard against a posterior flat in every direction
	for len(queue) > 0 && len(nodes) < most {
		z := queue[0]
		queue = queue[1:]
		copy(phi, x.mode)
		for a, ax := range x.axes {
			for i, d := range ax.direction {
				phi[i] += float64(z[a]) * cut.step * (ax.up + ax.down) / 2 * d
			}
		}
		l := x.at(phi)
		if !(l > x.top-cut.drop) {
			continue
		}
		x.node.weight = math.Exp(l - x.top)
		nodes = append(nodes, x.node)
		for a := range k {
			for _, d := range [2]int{-1, 1} {
				next := z
				next[a] += d
				if !seen[next] {
					seen[next] = true
					queue = append(queue, next)
				}
			}
		}
	}
	return nodes
}
