package calibrate

import (
	"math"

	"gonum.org/v1/gonum/blas/gonum"
)

// factor is a sparse symmetric positive definite matrix, its Cholesky factor
// once factorized, and those elements of its inverse that lie in the pattern,
// once inverted.
type factor struct {
	*sparsity
	x    []float64 // the matrix, then its factor, as the pattern keeps elements
	z    []float64 // of the inverse; the dense block in full
	work []float64 // scratch, by place
	sum  []float64 // likewise
	low  []float64 // scratch of the dense block
}

func newFactor(p *sparsity) *factor {
	return &factor{sparsity: p, x: make([]float64, p.size()), work: make([]float64, len(p.place))}
}

// clear makes the matrix I.
func (f *factor) clear() {
	clear(f.x)
	diag, _, block := f.parts(f.x)
	for j := range diag {
		diag[j] = 1
	}
	for j := range f.dense {
		block[j*f.dense+j] = 1
	}
}

// parts cuts a slice of elements into the sparse diagonal, what is below it,
// and the dense block.
func (p *sparsity) parts(x []float64) (diag, below, block []float64) {
	n := p.sparse + len(p.row)
	return x[:p.sparse], x[p.sparse:n], x[n:]
}

// factorize replaces the matrix by its Cholesky factor and returns ln of its
// determinant. Sparse columns are computed one by one from those left of them,
// in a full column of scratch; then all are taken off the dense block.
func (f *factor) factorize() (logDet float64) {
	diag, below, block := f.parts(f.x)
	work := f.work
	for j := range f.sparse {
		rows, col := f.row[f.start[j]:f.start[j+1]], below[f.start[j]:f.start[j+1]]
		for t, r := range rows {
			work[r] = col[t]
		}
		d := diag[j]
		for a := f.leftStart[j]; a < f.leftStart[j+1]; a++ {
			e, end := f.left[a], f.start[f.column[a]+1]
			l := below[e]
			d -= l * l
			at := f.row[e+1 : end]
			other := below[e+1 : end][:len(at)]
			for t, r := range at {
				work[r] -= l * other[t]
			}
		}
		root := math.Sqrt(d)
		logDet += math.Log(d)
		diag[j] = root
		inv := 1 / root
		for t, r := range rows {
			col[t] = work[r] * inv
		}
	}
	m, n := f.dense, int32(f.sparse)
	for j := range f.sparse {
		rows, col := f.row[f.border[j]:f.start[j+1]], below[f.border[j]:f.start[j+1]]
		run := isRun(rows)
		for t, r := range rows {
			into := block[int(r-n)*m : int(r-n)*m+m]
			l := col[t]
			if run {
				axpy(-l, col[:t+1], into[rows[0]-n:])
				continue
			}
			to := rows[:t+1]
			from := col[:len(to)]
			for s, c := range to {
				into[c-n] -= l * from[s]
			}
		}
	}
	return logDet + cholesky(block, m)
}

// solve replaces y, by place, by the matrix's inverse times y.
func (f *factor) solve(y []float64) {
	diag, below, block := f.parts(f.x)
	for j := range f.sparse { // L z = y
		z := y[j] / diag[j]
		y[j] = z
		if z == 0 {
			continue
		}
		col := below[f.start[j]:f.start[j+1]]
		for t, r := range f.row[f.start[j]:f.start[j+1]] {
			y[r] -= col[t] * z
		}
	}
	m := f.dense
	rest := y[f.sparse:]
	for i := range m {
		row := block[i*m : i*m+i+1]
		s := rest[i]
		for j, l := range row[:i] {
			s -= l * rest[j]
		}
		rest[i] = s / row[i]
	}
	for i := m - 1; i >= 0; i-- { // Lᵀ y = z
		row := block[i*m : i*m+i+1]
		rest[i] /= row[i]
		for j, l := range row[:i] {
			rest[j] -= l * rest[i]
		}
	}
	for j := f.sparse - 1; j >= 0; j-- {
		s := y[j]
		col := below[f.start[j]:f.start[j+1]]
		for t, r := range f.row[f.start[j]:f.start[j+1]] {
			s -= col[t] * y[r]
		}
		y[j] = s / diag[j]
	}
}

// invert works out the elements of the inverse that lie in the pattern, from
// the last column to the first:
//
//	Z_ij = −Σ_k Z_ik L_kj/L_jj,  Z_jj = 1/L_jj² − Σ_k Z_kj L_kj/L_jj,  k > j
//
// with no element outside the pattern needed. Takahashi, Fagan & Chin (1973);
// Erisman & Tinney (1975), Commun ACM 18:177.
func (f *factor) invert() {
	m := f.dense
	if f.z == nil {
		f.z, f.low, f.sum = make([]float64, len(f.x)), make([]float64, m*m), make([]float64, len(f.place))
	}
	diag, below, block := f.parts(f.x)
	zDiag, zBelow, zBlock := f.parts(f.z)
	invertFactored(block, zBlock, f.low, m)
	n := int32(f.sparse)
	l := f.work // L_kj/L_jj by place k; 0 for rows that column j has not
	clear(l)
	sum := f.sum // Σ_k Z_ik L_kj/L_jj by place i; of no meaning for those rows
	for j := f.sparse - 1; j >= 0; j-- {
		from, border, end := f.start[j], f.border[j], f.start[j+1]
		rows := f.row[from:end]
		inv := 1 / diag[j]
		for t, r := range rows {
			l[r] = below[int(from)+t] * inv
			sum[r] = 0
		}
		for _, k := range f.row[from:border] {
			// Column k has every later row of column j, and may have others.
			lk := l[k]
			own := lk * zDiag[k]
			at := f.row[f.start[k]:f.start[k+1]]
			zk := zBelow[f.start[k]:f.start[k+1]][:len(at)]
			for s, r := range at {
				own += l[r] * zk[s]
				sum[r] += lk * zk[s]
			}
			sum[k] += own
		}
		inBlock := f.row[border:end]
		run := isRun(inBlock)
		for _, k := range inBlock {
			zk := zBlock[int(k-n)*m : int(k-n)*m+m]
			if run {
				sum[k] += dot(l[inBlock[0]:inBlock[len(inBlock)-1]+1], zk[inBlock[0]-n:])
				continue
			}
			own := 0.0
			for _, r := range inBlock {
				own += l[r] * zk[r-n]
			}
			sum[k] += own
		}
		d := inv * inv
		z := zBelow[from:end]
		for t, r := range rows {
			z[t] = -sum[r]
			d += l[r] * sum[r]
			l[r] = 0
		}
		zDiag[j] = d
	}
}

// eachInverse calls use with every element of the inverse that is kept, one of
// each two that mirror each other.
func (f *factor) eachInverse(use func(i, j int32, z float64)) {
	diag, below, block := f.parts(f.z)
	for j, z := range diag {
		r := f.order[j]
		use(r, r, z)
		for e := f.start[j]; e < f.start[j+1]; e++ {
			use(f.order[f.row[e]], r, below[e])
		}
	}
	last := f.order[f.sparse:]
	for i, r := range last {
		for j, c := range last[:i+1] {
			use(r, c, block[i*f.dense+j])
		}
	}
}

// isRun reports whether rows follow each other without a gap, as they do where
// every batch has met every maker; the library's loops are faster then.
func isRun(rows []int32) bool {
	n := len(rows)
	return n > 8 && int(rows[n-1]-rows[0]) == n-1
}

// axpy adds a·x to y.
func axpy(a float64, x, y []float64) { gonum.Implementation{}.Daxpy(len(x), a, x, 1, y, 1) }

// dot is the inner product of x and the start of y.
func dot(x, y []float64) float64 { return gonum.Implementation{}.Ddot(len(x), x, 1, y, 1) }

// cholesky replaces the lower half of a (m × m, symmetric positive definite)
// by its Cholesky factor and returns ln|a|. A is I plus a Gram matrix here, so
// its eigenvalues are at least 1 and it cannot fail.
func cholesky(a []float64, m int) (logDet float64) {
	for i := range m {
		ri := a[i*m : i*m+i+1]
		for j := range i {
			rj := a[j*m : j*m+j+1]
			ri[j] = (ri[j] - dot(rj[:j], ri)) / rj[j]
		}
		x := ri[i] - dot(ri[:i], ri)
		ri[i] = math.Sqrt(x)
		logDet += math.Log(x)
	}
	return logDet
}

// invertFactored writes the inverse of L·Lᵀ into inv; low is scratch.
func invertFactored(l, inv, low []float64, m int) {
	for i := range m { // L⁻¹ into low, by rows
		ri := low[i*m : i*m+i+1]
		clear(ri)
		d := 1 / l[i*m+i]
		for k := range i {
			if x := l[i*m+k]; x != 0 {
				axpy(-x*d, low[k*m:k*m+k+1], ri)
			}
		}
		ri[i] = d
	}
	clear(inv)
	for k := range m { // L⁻ᵀL⁻¹, a row of L⁻¹ at a time
		rk := low[k*m : k*m+k+1]
		for i, x := range rk {
			if x != 0 {
				axpy(x, rk[:i+1], inv[i*m:])
			}
		}
	}
	for i := range m {
		for j := range i {
			inv[j*m+i] = inv[i*m+j]
		}
	}
}
