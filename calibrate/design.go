package calibrate

import (
	"math"
	"runtime"
	"slices"
)

// design says where nodes go when rows are many. How much an axis needs
// depends on its standard deviation in ln θ: a wide one a lattice of its own
// shape, a narrow one a few points, and a sharp one none but the mode's, for
// what a spread does to a band is second order in it.
type design struct {
	sharp, wide float64 // standard deviations
	step        float64 // of the lattice, in standard deviations
	reach       float64 // nodes farther out than so many are left out
}

// designPoint is a node in deviates on the axes, with its share of a standard
// normal's weight.
type designPoint struct {
	z      [maxEffects]float64
	weight float64
}

// points places the nodes for the given axes. Wide axes get a lattice; narrow
// ones the points of a formula of degree 5 for k normal deviates, with weights
//
//	1 + k(k−7)/18 at 0, (4−k)/18 at ±√3 on an axis, 1/36 at (±√3, ±√3)
//
// for k axes: McNamee & Stenger (1967), Numer Math 10:327. None is negative up
// to k = 4, when those on the axes vanish.
func (d design) points(axes []axis) []designPoint {
	var narrow, wide []int
	for a := range axes {
		switch sd := math.Max(axes[a].up, axes[a].down); {
		case sd > d.wide:
			wide = append(wide, a)
		case sd > d.sharp:
			narrow = append(narrow, a)
		}
	}
	k := float64(len(narrow))
	root := math.Sqrt(3)
	points := []designPoint{{weight: 1 + k*(k-7)/18}}
	for i, a := range narrow {
		for _, za := range [2]float64{-root, root} {
			p := designPoint{weight: (4 - k) / 18}
			p.z[a] = za
			if k < 4 {
				points = append(points, p)
			}
			for _, b := range narrow[:i] {
				for _, zb := range [2]float64{-root, root} {
					q := designPoint{p.z, 1. / 36}
					q.z[b] = zb
					points = append(points, q)
				}
			}
		}
	}
	for _, a := range wide {
		var more []designPoint
		for _, p := range points {
			for i := -math.Floor(d.reach / d.step); i*d.step <= d.reach; i++ {
				q := p
				q.z[a] = i * d.step
				q.weight *= math.Exp(-q.z[a] * q.z[a] / 2)
				if q.distance() <= d.reach {
					more = append(more, q)
				}
			}
		}
		points = more
	}
	return points
}

// distance is from the mode, in standard deviations.
func (p *designPoint) distance() float64 {
	sum := 0.0
	for _, z := range p.z {
		sum += z * z
	}
	return math.Sqrt(sum)
}

// design evaluates the posterior at the points of a design. A skewed axis is
// straightened: z deviates map to
//
//	ln θ = mode + a (e^{cz} − 1)/c,  e^{2c} = up/down
//
// which has fallen by 2 at z = ±2, as a normal has. What is not normal even so
// is allowed for: a node's weight is the posterior's density over the normal's.
func (x *explorer) design(d design) []node {
	points := d.points(x.axes)
	nodes := make([]node, len(points))
	workers := min(runtime.GOMAXPROCS(0), len(points))
	inParallel(workers, func(w int) {
		at := &explorer{sys: x.sys}
		phi := make([]float64, len(x.mode))
		for i := w; i < len(points); i += workers {
			if points[i].z == [maxEffects]float64{} {
				nodes[i] = x.peak
				nodes[i].weight = points[i].weight
				continue
			}
			copy(phi, x.mode)
			log := 0.0
			for a := range x.axes {
				z := points[i].z[a]
				log += x.axes[a].move(phi, z) + z*z/2
			}
			l := at.at(phi)
			nodes[i] = at.node
			nodes[i].weight = points[i].weight * math.Exp(l-x.top+log)
		}
	})
	const faint = 1e-5 // of the weight at the mode; 0 is beyond the limits of ln θ
	return slices.DeleteFunc(nodes, func(n node) bool { return n.weight < faint*points[0].weight })
}

// move goes z deviates along the axis and returns ln of how much the map
// stretches there, less a constant.
func (a *axis) move(phi []float64, z float64) (stretch float64) {
	c := math.Log(a.up/a.down) / 2
	by := z * (a.up + a.down) / 2 // where c is 0
	if math.Abs(c) > 1e-6 {
		by = 2 * a.up * math.Expm1(c*z) / math.Expm1(2*c)
	}
	for i, d := range a.direction {
		phi[i] += by * d
	}
	return c * z
}
