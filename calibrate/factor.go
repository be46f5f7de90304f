package calibrate

import (
	"math"
	"runtime"
	"slices"

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
	inBands(m, f.products, func(from, to int) {
		for j := range f.sparse {
			rows, col := f.row[f.border[j]:f.start[j+1]], below[f.border[j]:f.start[j+1]]
			run := isRun(rows)
			for t := firstFrom(rows, n+int32(from)); t < len(rows) && rows[t] < n+int32(to); t++ {
				into := block[int(rows[t]-n)*m:][:m]
				l := col[t]
				if run {
					axpy(-l, col[:t+1], into[rows[0]-n:])
					continue
				}
				before := rows[:t+1]
				other := col[:len(before)]
				for s, c := range before {
					into[c-n] -= l * other[s]
				}
			}
		}
	})
	return logDet + cholesky(block, m)
}

// firstFrom is the number of rows before least.
func firstFrom(rows []int32, least int32) int {
	if len(rows) == 0 || rows[0] >= least {
		return 0
	}
	if isRun(rows) {
		return min(int(least-rows[0]), len(rows))
	}
	i, _ := slices.BinarySearch(rows, least)
	return i
}

// inBands hands n rows to do, from one to another. Where there are many products
// to work out it cuts them into bands, for several goroutines, of which each band
// stays in the fastest memory meanwhile; what do works out for a row must not
// depend on where they are cut.
func inBands(n, products int, do func(from, to int)) {
	const (
		band   = 32
		enough = 1 << 20 // a fraction of a millisecond
	)
	if products < enough {
		do(0, n)
		return
	}
	bands := (n + band - 1) / band
	workers := min(runtime.GOMAXPROCS(0), bands)
	inParallel(workers, func(w int) {
		for b := w; b < bands; b += workers {
			do(b*band, min(n, b*band+band))
		}
	})
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
	f.sumBlock(below, zBelow, zBlock)
	l := f.work // L_kj/L_jj by place k; 0 for rows that column j has not
	clear(l)
	sum := f.sum // Σ_k Z_ik L_kj/L_jj by place i; of no meaning for those rows
	for j := f.sparse - 1; j >= 0; j-- {
		from, border, end := f.start[j], f.border[j], f.start[j+1]
		rows := f.row[from:end]
		inv := 1 / diag[j]
		z := zBelow[from:end]
		for t, r := range rows {
			l[r] = below[int(from)+t] * inv
			sum[r] = z[t] * inv
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
		d := inv * inv
		for t, r := range rows {
			z[t] = -sum[r]
			d += l[r] * sum[r]
			l[r] = 0
		}
		zDiag[j] = d
	}
}

// sumBlock puts Σ_k Z_ik L_kj over the rows k of the dense block into the place of
// Z_ij, i in the block too; 0 into those of other rows i.
func (f *factor) sumBlock(below, zBelow, zBlock []float64) {
	m, n := f.dense, int32(f.sparse)
	clear(zBelow)
	inBands(m, 2*f.products, func(from, to int) {
		for j := range f.sparse {
			border, end := f.border[j], f.start[j+1]
			rows, col, z := f.row[border:end], below[border:end], zBelow[border:end]
			run := isRun(rows)
			for t := firstFrom(rows, n+int32(from)); t < len(rows) && rows[t] < n+int32(to); t++ {
				zk := zBlock[int(rows[t]-n)*m:][:m]
				if run {
					z[t] = dot(col, zk[rows[0]-n:])
					continue
				}
				for s, r := range rows {
					z[t] += col[s] * zk[r-n]
				}
			}
		}
	})
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
// its eigenvalues are at least 1 and it cannot fail. The columns are worked out
// some at a time, for all rows below them.
func cholesky(a []float64, m int) (logDet float64) {
	const columns = 64
	row := func(i, from, to int) {
		ri := a[i*m : i*m+i+1]
		for j := from; j < to; j++ {
			rj := a[j*m : j*m+j+1]
			ri[j] = (ri[j] - dot(rj[:j], ri)) / rj[j]
		}
	}
	for from := 0; from < m; from += columns {
		to := min(from+columns, m)
		for i := from; i < to; i++ {
			row(i, from, i)
			ri := a[i*m : i*m+i+1]
			x := ri[i] - dot(ri[:i], ri)
			ri[i] = math.Sqrt(x)
			logDet += math.Log(x)
		}
		inBands(m-to, (m-to)*columns*to, func(first, end int) {
			for i := first; i < end; i++ {
				row(to+i, from, to)
			}
		})
	}
	return logDet
}

// invertFactored writes the inverse of L·Lᵀ into inv; low is scratch.
func invertFactored(l, inv, low []float64, m int) {
	inBands(m, m*m*m/6, func(first, end int) { // L⁻¹ into low, some columns of it at a time
		for i := first; i < m; i++ {
			to := min(i+1, end)
			ri := low[i*m+first : i*m+to]
			clear(ri)
			d := 1 / l[i*m+i]
			for k := first; k < i; k++ {
				if x := l[i*m+k]; x != 0 {
					axpy(-x*d, low[k*m+first:k*m+min(k+1, end)], ri)
				}
			}
			if i < end {
				ri[i-first] = d
			}
		}
	})
	clear(inv)
	inBands(m, m*m*m/6, func(first, end int) { // L⁻ᵀL⁻¹, some rows of it at a time
		for k := first; k < m; k++ {
			rk := low[k*m : k*m+k+1]
			for i := first; i < min(k+1, end); i++ {
				if x := rk[i]; x != 0 {
					axpy(x, rk[:i+1], inv[i*m:])
				}
			}
		}
	})
	for i := range m {
		for j := range i {
			inv[j*m+i] = inv[i*m+j]
		}
	}
}
