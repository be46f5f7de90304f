package calibrate

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// The parts of the slopes that are solved for, against dense P and V_k.
func TestSlopes_Working(t *testing.T) {
	s := crossedSystem(2)
	theta := []float64{1.3, 2.1, 0.4, 0.9}
	z, y := dense(s)
	n := len(s.cells)
	v := eye(n)
	vk := make([]*mat.Dense, len(z))
	for k := range z {
		vk[k] = &mat.Dense{}
		vk[k].Mul(z[k], z[k].T())
		var scaled mat.Dense
		scaled.Scale(theta[k]*theta[k], vk[k])
		v.Add(v, &scaled)
	}
	var p, inverse mat.Dense
	if err := inverse.Inverse(v); err != nil {
		t.Fatal(err)
	}
	one := mat.NewVecDense(n, nil)
	for i := range n {
		one.SetVec(i, 1)
	}
	var w mat.VecDense
	w.MulVec(&inverse, one)
	p.Outer(-1/mat.Dot(one, &w), &w, &w)
	p.Add(&inverse, &p)
	var py mat.VecDense
	py.MulVec(&p, y)

	x := newSlopes(forced(s), []bool{true, true, true, true})
	o := x.sys.solve(theta, nil)
	got := x.working(o)
	for k := range z {
		var q, pq mat.VecDense
		q.MulVec(vk[k], &py)
		pq.MulVec(&p, &q)
		checkNear(t, fmt.Sprintf("yᵀPVPy of %s", s.effects[k]), got.quad[k], mat.Dot(&py, &q), 1e-9)
		for j := range k + 1 {
			var r mat.VecDense
			r.MulVec(vk[j], &py)
			checkNear(t, fmt.Sprintf("yᵀPVPVPy of %s and %s", s.effects[k], s.effects[j]), got.both[k][j], mat.Dot(&r, &pq), 1e-9)
		}
	}
	// The traces are left to chance: as far off as the information they carry
	// allows, over the draws.
	traces := x.traces(o)
	for k := range z {
		var pv, square mat.Dense
		pv.Mul(&p, vk[k])
		square.Mul(&pv, &pv)
		checkNear(t, fmt.Sprintf("tr PV of %s", s.effects[k]), traces[k], mat.Trace(&pv), 3*math.Sqrt(2*mat.Trace(&square)/slopeDraws))
	}
}

// A cell of several rows is those rows.
func TestSlopes_Pooled(t *testing.T) {
	s := crossedSystem(2)
	apart := forced(s)
	pooled := *apart
	pooled.cells = nil
	at := map[[maxEffects]int32]int{}
	for _, c := range s.cells {
		i, ok := at[c.at]
		if !ok {
			at[c.at] = len(pooled.cells)
			pooled.cells = append(pooled.cells, c)
			continue
		}
		pooled.cells[i].add(c)
	}
	if len(pooled.cells) == len(s.cells) {
		t.Fatal("no two rows alike")
	}
	theta := []float64{1.3, 2.1, 0.4, 0.9}
	of := func(s *system) working { return newSlopes(s, make([]bool, 4)).working(s.solve(theta, nil)) }
	want, got := of(apart), of(&pooled)
	for k := range theta {
		checkNear(t, "yᵀPVPy", got.quad[k], want.quad[k], 1e-10)
		for j := range k + 1 {
			checkNear(t, "yᵀPVPVPy", got.both[k][j], want.both[k][j], 1e-10)
		}
	}
}
