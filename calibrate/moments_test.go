package calibrate

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"

	"trueplait/model"
)

// dense is a small system row by row: the design of each effect, a column for
// every blank of its own, and y. Cells have one row.
func dense(s *system) (z []*mat.Dense, y *mat.VecDense) {
	n := len(s.cells)
	y = mat.NewVecDense(n, nil)
	for k := range s.effects {
		d := mat.NewDense(n, len(s.levels)+n, nil)
		for i := range s.cells {
			if l := s.cells[i].at[k]; l >= 0 {
				d.Set(i, int(l), 1)
			} else {
				d.Set(i, len(s.levels)+i, 1)
			}
			y.SetVec(i, s.cells[i].mean)
		}
		z = append(z, d)
	}
	return z, y
}

// How often each τ² is in a sum of squares within levels, against the trace it
// comes from: the squared length of what is left of an effect's design once the
// levels' means are taken off.
func TestMoments_Expected(t *testing.T) {
	s := crossedSystem(2) // a tenth of the labels are blank
	z, y := dense(s)
	index := newByLevel(s)
	for k := range s.effects {
		sum, expected := s.within(k, index)
		left := func(x mat.Matrix) float64 {
			var zz, inverse, part, fit mat.Dense
			zz.Mul(z[k].T(), z[k])
			inverse.CloneFrom(&zz)
			for i := range zz.RawMatrix().Rows { // diagonal
				if n := zz.At(i, i); n > 0 {
					inverse.Set(i, i, 1/n)
				}
			}
			part.Mul(z[k].T(), x)
			part.Mul(&inverse, &part)
			fit.Mul(z[k], &part)
			fit.Sub(x, &fit)
			norm := mat.Norm(&fit, 2)
			return norm * norm
		}
		checkNear(t, fmt.Sprintf("sum of squares within %s", s.effects[k]), sum, left(y), 1e-12)
		for j := range s.effects {
			if j != k {
				checkNear(t, fmt.Sprintf("%s within %s", s.effects[j], s.effects[k]), expected[j], left(z[j]), 1e-9)
			}
		}
		var unit mat.Dense
		unit.CloneFrom(eye(len(s.cells)))
		checkNear(t, fmt.Sprintf("scatter within %s", s.effects[k]), expected[len(s.effects)], left(&unit), 1e-9)
	}
}

func eye(n int) *mat.Dense {
	d := mat.NewDense(n, n, nil)
	for i := range n {
		d.Set(i, i, 1)
	}
	return d
}

// Levels of equal size: the estimates of analysis of variance.
func TestMoments_Balanced(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 3))
	const levels, each = 8, 5
	var cells []model.Cell
	between, within, grand := 0.0, 0.0, 0.0
	for i := range levels {
		u, mean, square := 0.05*r.NormFloat64(), 0.0, 0.0
		for range each {
			y := u + 0.03*r.NormFloat64()
			mean += y / each
			square += y * y
		}
		cells = append(cells, model.Cell{Labels: model.Labels{Maker: fmt.Sprint(i)}, N: each, Mean: mean, SS: square - each*mean*mean})
		within += square - each*mean*mean
		grand += mean / levels
	}
	for _, c := range cells {
		between += each * (c.Mean - grand) * (c.Mean - grand)
	}
	mse := within / (levels * (each - 1))
	tau := (between/(levels-1) - mse) / each
	got := newSystem([]model.Effect{model.Maker}, cells, nil).moments([]int{0})
	checkNear(t, "θ", got[0], math.Sqrt(tau/mse), 1e-12)
}

// One row a level and one level: nothing to tell spreads from, but a start.
func TestMoments_Nothing(t *testing.T) {
	s := newSystem([]model.Effect{model.Maker}, []model.Cell{{Labels: model.Labels{Maker: "a"}, N: 1}, {Labels: model.Labels{Maker: "b"}, N: 1}}, nil)
	if got := s.moments([]int{0}); !(got[0] >= 0) || math.IsInf(got[0], 0) {
		t.Errorf("θ = %v", got)
	}
}
