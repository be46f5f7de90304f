package calibrate

import (
	"cmp"
	"container/heap"
	"math"
	"slices"
)

// sparsity is where the Cholesky factor of a sparse symmetric matrix can have
// elements whatever its values: worked out once, used at every θ.
//
// Rows are eliminated in the order of least degree, on the elimination graph
// itself: each row's neighbours become neighbours of each other (George & Liu
// 1989, SIAM Review 31:1). Batches that follow each other in time are
// neighbours of few, so they go first and fill in little. What is left once
// the graph is nearly complete, makers and products that every batch has met,
// is one dense block.
//
// Elements are kept in one slice: the diagonal of the sparse columns, their
// elements below it, column by column, and the dense block row by row.
type sparsity struct {
	order  []int32 // rows as they are eliminated
	place  []int32 // of each row in that order
	sparse int     // columns that come first
	dense  int     // rows of the dense block, which come last
	large  bool    // a factor would be too large: this is the diagonal alone
	start  []int32 // column j has row[start[j]:start[j+1]]
	border []int32 // from border[j] on they lie in the dense block
	row    []int32 // by place, ascending in each column

	products int // that take the sparse columns off the dense block

	// The elements of each sparse row: where they are in row, and in which
	// column.
	leftStart    []int32
	left, column []int32
}

// fullEnough is the share of the rows left that the row of least degree must
// have for neighbours before the rest is taken for a dense block.
const fullEnough = 0.7

// newSparsity takes the neighbours of each row, ascending and without itself,
// and uses them up.
func newSparsity(near [][]int32) *sparsity {
	order, columns, small := eliminate(near)
	p := &sparsity{order: order, place: make([]int32, len(near)), large: !small}
	for i, r := range order {
		p.place[r] = int32(i)
	}
	p.sparse = len(columns)
	p.dense = len(near) - p.sparse
	p.start = make([]int32, p.sparse+1)
	p.border = make([]int32, p.sparse)
	more := make([][]int32, p.sparse) // rows that columns have from gaps closed before them
	for j, column := range columns {
		rows := slices.Grow(p.row, len(column)+len(more[j]))[len(p.row):]
		for _, r := range column {
			rows = append(rows, p.place[r])
		}
		rows = append(rows, more[j]...)
		slices.Sort(rows)
		rows = slices.Compact(rows)
		b, _ := slices.BinarySearch(rows, int32(p.sparse))
		rows = append(rows[:b], filled(rows[b:])...)
		if b > 0 && len(rows) > len(column) { // what the column has, the first of its rows must have
			up := rows[0]
			more[up] = append(more[up], rows[b:]...)
		}
		more[j] = nil
		p.border[j] = int32(len(p.row) + b)
		p.products += (len(rows) - b) * (len(rows) - b) / 2
		p.row = append(p.row, rows...)
		p.start[j+1] = int32(len(p.row))
	}
	p.rows()
	return p
}

// filled closes the gaps of ascending rows where they are few: zeros in a run
// cost less than the way around them.
func filled(rows []int32) []int32 {
	if n := len(rows); n > 0 {
		if span := rows[n-1] - rows[0] + 1; int(span) > n && float64(n) > fullEnough*float64(span) {
			first := rows[0]
			rows = make([]int32, span)
			for i := range rows {
				rows[i] = first + int32(i)
			}
		}
	}
	return rows
}

// eliminate returns the order of elimination and, for the rows that come
// first, the neighbours each had when its turn came. It stops, with the rows
// as they are and no neighbours, as soon as it sees that the factor would be
// too large.
func eliminate(near [][]int32) (order []int32, columns [][]int32, small bool) {
	// Rows of very many neighbours go last without a look at their degree, which
	// would cost more to follow than it saves: Amestoy, Davis & Duff (1996),
	// SIAM J Matrix Anal Appl 17:886, sec. 5, with their limit, or twenty times the
	// median's where that is less: makers meet many batches, batches few makers.
	many := max(16, min(int(10*math.Sqrt(float64(len(near)))), 20*medianDegree(near)))
	late := make([]bool, len(near))
	var queue degreeQueue
	var cost exactCost
	for i, n := range near {
		if late[i] = len(n) > many; !late[i] {
			cost.left += len(n)
			queue = append(queue, degree{int32(i), int32(len(n))})
		}
	}
	if !cost.block(len(near) - len(queue)) {
		return alone(len(near))
	}
	heap.Init(&queue)
	done := make([]bool, len(near))
	for len(queue) > 0 {
		d := heap.Pop(&queue).(degree)
		v := d.row
		if done[v] || int(d.n) != len(near[v]) {
			continue // out of date: it is in the queue once more
		}
		if left := len(near) - len(order) - 1; float64(len(near[v])) > fullEnough*float64(left) {
			break
		}
		if !cost.column(len(near[v])) {
			return alone(len(near))
		}
		done[v] = true
		order = append(order, v)
		columns = append(columns, near[v])
		for _, u := range near[v] {
			if !late[u] {
				cost.left -= len(near[u])
				near[u] = joined(near[u], near[v], u, v)
				cost.left += len(near[u])
				cost.steps += len(near[u])
				heap.Push(&queue, degree{u, int32(len(near[u]))})
			}
		}
	}
	for i := range near {
		if !done[i] {
			order = append(order, int32(i))
		}
	}
	if !cost.block(len(near) - len(columns)) {
		return alone(len(near))
	}
	// Rows that nearly all others meet come last, side by side: columns then
	// have a run of them.
	slices.SortStableFunc(order[len(columns):], func(a, b int32) int { return cmp.Compare(len(near[a]), len(near[b])) })
	return order, columns, true
}

// medianDegree is the middle number of neighbours.
func medianDegree(near [][]int32) int {
	if len(near) == 0 {
		return 0
	}
	n := make([]int, len(near))
	for i := range near {
		n[i] = len(near[i])
	}
	slices.Sort(n)
	return n[len(n)/2]
}

// joined is a and b, both ascending, without x and y.
func joined(a, b []int32, x, y int32) []int32 {
	out := make([]int32, 0, len(a)+len(b))
	for len(a)+len(b) > 0 {
		var next int32
		switch {
		case len(b) == 0 || len(a) > 0 && a[0] < b[0]:
			next, a = a[0], a[1:]
		case len(a) == 0 || b[0] < a[0]:
			next, b = b[0], b[1:]
		default:
			next, a, b = a[0], a[1:], b[1:]
		}
		if next != x && next != y {
			out = append(out, next)
		}
	}
	return out
}

// degree is a row with its number of neighbours.
type degree struct{ row, n int32 }

type degreeQueue []degree

func (q degreeQueue) Len() int { return len(q) }
func (q degreeQueue) Less(i, j int) bool {
	return cmp.Or(cmp.Compare(q[i].n, q[j].n), cmp.Compare(q[i].row, q[j].row)) < 0
}
func (q degreeQueue) Swap(i, j int) { q[i], q[j] = q[j], q[i] }
func (q *degreeQueue) Push(x any)   { *q = append(*q, x.(degree)) }
func (q *degreeQueue) Pop() any {
	last := (*q)[len(*q)-1]
	*q = (*q)[:len(*q)-1]
	return last
}

// rows lists the elements of each sparse row.
func (p *sparsity) rows() {
	p.leftStart = make([]int32, p.sparse+1)
	for j := range p.sparse {
		for _, r := range p.row[p.start[j]:p.border[j]] {
			p.leftStart[r+1]++
		}
	}
	for j := range p.sparse {
		p.leftStart[j+1] += p.leftStart[j]
	}
	n := p.leftStart[p.sparse]
	p.left, p.column = make([]int32, n), make([]int32, n)
	next := slices.Clone(p.leftStart)
	for j := range p.sparse {
		for e := p.start[j]; e < p.border[j]; e++ {
			r := p.row[e]
			p.left[next[r]], p.column[next[r]] = e, int32(j)
			next[r]++
		}
	}
}

// size is the number of elements kept.
func (p *sparsity) size() int { return p.sparse + len(p.row) + p.dense*p.dense }

// at is where the element of rows i and j is kept; −1 where there is none.
func (p *sparsity) at(i, j int32) int32 {
	i, j = p.place[i], p.place[j]
	if i < j {
		i, j = j, i // i is the later one
	}
	n := int32(p.sparse)
	switch {
	case j >= n:
		return n + int32(len(p.row)) + (i-n)*int32(p.dense) + j - n
	case i == j:
		return j
	}
	e, found := slices.BinarySearch(p.row[p.start[j]:p.start[j+1]], i)
	if !found {
		return -1
	}
	return n + p.start[j] + int32(e)
}
