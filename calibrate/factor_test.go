package calibrate

import (
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"
)

// sparseMatrix is a random one, I plus a Gram matrix of rows that meet few
// others, as shops make them: a chain of batches, and a border that meets all.
type sparseMatrix struct {
	near  [][]int32
	dense []float64
	n     int
}

func drawMatrix(t *rapid.T) sparseMatrix {
	n := rapid.IntRange(0, 40).Draw(t, "rows")
	border := rapid.IntRange(0, min(n, 12)).Draw(t, "border")
	links := rapid.IntRange(0, 60).Draw(t, "links")
	r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
	m := sparseMatrix{near: make([][]int32, n), dense: make([]float64, n*n), n: n}
	for i := range n {
		m.dense[i*n+i] = 1
	}
	link := func(rows ...int) {
		x := make([]float64, len(rows))
		for i := range x {
			x[i] = r.NormFloat64()
		}
		for a, i := range rows {
			for b, j := range rows {
				m.dense[i*n+j] += x[a] * x[b]
				if i != j && !slices.Contains(m.near[i], int32(j)) {
					m.near[i] = append(m.near[i], int32(j))
				}
			}
		}
	}
	for range links {
		i, j := r.IntN(max(n, 1)), r.IntN(max(n, 1))
		if n > 0 && i != j {
			link(i, j)
		}
	}
	for i := range n - border {
		for j := n - border; j < n; j++ {
			link(i, j)
		}
	}
	for i := range m.near {
		slices.Sort(m.near[i])
	}
	return m
}

// fill puts the matrix where the pattern keeps it.
func (m sparseMatrix) fill(t *rapid.T, f *factor) {
	f.clear()
	for i := range m.n {
		for j := range i + 1 {
			if x := m.dense[i*m.n+j]; i == j || slices.Contains(m.near[i], int32(j)) {
				f.x[f.at(int32(i), int32(j))] = x
			} else if x != 0 {
				t.Fatalf("element %d, %d has no place", i, j)
			}
		}
	}
}

// The sparse factor against the dense one: determinant, solutions, and every
// element of the inverse that is kept; those of neighbours always are.
func TestFactor_Dense(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawMatrix(t)
		n := m.n
		near := make([][]int32, n)
		for i := range near {
			near[i] = slices.Clone(m.near[i])
		}
		f := newFactor(newSparsity(near))
		m.fill(t, f)
		l, inv := slices.Clone(m.dense), make([]float64, n*n)
		want := cholesky(l, n)
		invertFactored(l, inv, make([]float64, n*n), n)
		if got := f.factorize(); math.Abs(got-want) > 1e-9*(1+math.Abs(want)) {
			t.Fatalf("ln of the determinant %.12g, want %.12g", got, want)
		}
		f.invert()
		kept := 0
		f.eachInverse(func(i, j int32, z float64) {
			kept++
			if math.Abs(z-inv[int(i)*n+int(j)]) > 1e-9 {
				t.Fatalf("inverse at %d, %d is %.12g, want %.12g", i, j, z, inv[int(i)*n+int(j)])
			}
		})
		if kept < n {
			t.Fatalf("%d elements of %d rows", kept, n)
		}
		y, want2 := make([]float64, n), make([]float64, n)
		for i := range n {
			y[f.place[i]] = float64(i%7) - 3
			for j := range n {
				want2[i] += inv[i*n+j] * (float64(j%7) - 3)
			}
		}
		f.solve(y)
		for i := range n {
			if math.Abs(y[f.place[i]]-want2[i]) > 1e-9 {
				t.Fatalf("solution %d is %.12g, want %.12g", i, y[f.place[i]], want2[i])
			}
		}
	})
}

// What is large enough to be cut into bands comes out the same to the bit on one
// core as on several, and is what the library finds: a matrix of batches that
// have met all makers, or some, and the dense algebra alone.
func TestFactor_Bands(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 1))
	const batches, makers = 400, 150
	n := batches + makers
	dense, near := mat.NewSymDense(n, nil), make([][]int32, n)
	for i := range n {
		dense.SetSym(i, i, 1)
	}
	for i := range batches {
		for m := batches; m < n; m++ {
			if i%2 == 0 && r.IntN(3) == 0 {
				continue
			}
			near[i], near[m] = append(near[i], int32(m)), append(near[m], int32(i))
			dense.SetSym(i, m, dense.At(i, m)+1)
			dense.SetSym(i, i, dense.At(i, i)+1)
			dense.SetSym(m, m, dense.At(m, m)+1)
		}
	}
	pattern := newSparsity(near)
	if pattern.dense < makers || pattern.products < 1<<21 {
		t.Fatalf("dense block of %d, %d products: too small a matrix", pattern.dense, pattern.products)
	}
	of := func(cores int) (logDet float64, z []float64, f *factor) {
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(cores))
		f = newFactor(pattern)
		f.clear()
		for i := range n {
			for j := range i + 1 {
				if x := dense.At(i, j); x != 0 {
					f.x[f.at(int32(i), int32(j))] = x
				}
			}
		}
		logDet = f.factorize()
		f.invert()
		return logDet, f.z, f
	}
	one, z1, f := of(1)
	several, z3, _ := of(3)
	if one != several || !slices.Equal(z1, z3) {
		t.Error("one core finds other figures than three")
	}
	var chol mat.Cholesky
	var inv mat.SymDense
	if !chol.Factorize(dense) || chol.InverseTo(&inv) != nil {
		t.Fatal("not positive definite")
	}
	if math.Abs(one-chol.LogDet()) > 1e-9*one {
		t.Errorf("ln of the determinant %.12g, want %.12g", one, chol.LogDet())
	}
	f.eachInverse(func(i, j int32, z float64) {
		if want := inv.At(int(i), int(j)); math.Abs(z-want) > 1e-10 {
			t.Fatalf("inverse at %d, %d is %.12g, want %.12g", i, j, z, want)
		}
	})
	a, low, got := make([]float64, n*n), make([]float64, n*n), make([]float64, n*n)
	for i := range n {
		for j := range n {
			a[i*n+j] = dense.At(i, j)
		}
	}
	if logDet := cholesky(a, n); math.Abs(logDet-one) > 1e-9*one {
		t.Errorf("ln of the dense determinant %.12g, want %.12g", logDet, one)
	}
	invertFactored(a, got, low, n)
	for i := range n {
		for j := range n {
			if math.Abs(got[i*n+j]-inv.At(i, j)) > 1e-10 {
				t.Fatalf("dense inverse at %d, %d is %.12g, want %.12g", i, j, got[i*n+j], inv.At(i, j))
			}
		}
	}
}

// Batches in a chain with makers of their own fill in little: elements grow
// with the length of the chain, not with its square, nor with the makers.
func TestSparsity_Chain(t *testing.T) {
	elements := func(batches int) int {
		const makers = 40
		near := make([][]int32, batches+makers)
		link := func(i, j int) {
			near[i], near[j] = append(near[i], int32(j)), append(near[j], int32(i))
		}
		for b := range batches {
			if b > 0 {
				link(b-1, b)
			}
			link(b, batches+b*makers/batches)
		}
		for i := range near {
			slices.Sort(near[i])
		}
		return newSparsity(near).size()
	}
	if few, many := elements(1000), elements(4000); many > 8*4000 || few > 8*1000 {
		t.Errorf("%d elements of 1,000 batches, %d of 4,000", few, many)
	}
}
