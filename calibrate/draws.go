package calibrate

import (
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
)

// Numbers of draws, up to the 64 bits of a word: for the traces of slopes, and
// for the variances of contrasts. A variance is off by √(2/64) of what is left to chance in it, its
// square root by 9 %.
const (
	slopeDraws    = 16
	contrastDraws = 64
	drawSeed      = 7
)

// draws are draws of b given the rows at one θ, less their mean:
//
//	A x = y,  y = ΛZᵀW^½ε₁ + ε₂
//
// so that the covariance of x is A⁻¹, each at the price of one solve. Only
// second moments are taken from them, so ε are signs, ±1, the same ones each
// time.
//
// What the rows of a few levels I say directly is not left to chance. Given all
// other levels, the covariance of x_I is (A_II)⁻¹ exactly, so only what the
// others add is estimated:
//
//	Var x_I = A_II⁻¹ + Var(x_I − A_II⁻¹ y_I)
//
// Sidén, Lindgren, Bolin & Villani (2018), J Comput Graph Stat 27:898.
type draws struct {
	*equations
	x, y []float32 // by level, then draw
	byLevel
}

// byLevel lists the cells of each level.
type byLevel struct {
	start, cell []int32
}

func newByLevel(s *system) byLevel {
	b := byLevel{start: make([]int32, len(s.levels)+1)}
	for i := range s.cells {
		for _, l := range s.cells[i].at {
			if l >= 0 {
				b.start[l+1]++
			}
		}
	}
	for l := range s.levels {
		b.start[l+1] += b.start[l]
	}
	b.cell = make([]int32, b.start[len(s.levels)])
	next := append([]int32(nil), b.start...)
	for i := range s.cells {
		for _, l := range s.cells[i].at {
			if l >= 0 {
				b.cell[next[l]] = int32(i)
				next[l]++
			}
		}
	}
	return b
}

// cellsOf are the cells of a level.
func (b *byLevel) cellsOf(l int32) []int32 { return b.cell[b.start[l]:b.start[l+1]] }

// newDraws solves for the draws that contrasts are estimated from.
func newDraws(e *equations) *draws {
	q := len(e.diagonal)
	d := &draws{equations: e, x: make([]float32, q*contrastDraws), y: make([]float32, q*contrastDraws), byLevel: newByLevel(e.sys)}
	workers := runtime.GOMAXPROCS(0)
	inParallel(workers, func(w int) {
		for block := w; block < contrastDraws/width; block += workers {
			y, x := e.signed(block), make(lanes, q)
			e.solve(y, x, rough)
			for l := range x {
				for j := range width {
					at := l*contrastDraws + block*width + j
					d.x[at], d.y[at] = float32(x[l][j]), float32(y[l][j])
				}
			}
		}
	})
	return d
}

// signs are four vectors of ±1, one of each for every level: block b of a
// stream takes bits 4b to 4b + 3 of each word.
func (e *equations) signs(block int) lanes {
	source := rand.NewPCG(drawSeed, 1)
	y := make(lanes, len(e.diagonal))
	for l := range y {
		y[l] = flipped(1, source.Uint64()>>(block*width))
	}
	return y
}

// signed is ΛZᵀW^½ε₁ + ε₂ of four draws.
func (e *equations) signed(block int) lanes {
	source := rand.NewPCG(drawSeed, 2)
	y := make(lanes, len(e.diagonal))
	for i := range e.sys.cells {
		c := &e.sys.cells[i]
		f := flipped(math.Sqrt(c.n*e.weight[c.blank]), source.Uint64()>>(block*width))
		for _, l := range c.at {
			if l >= 0 {
				u := &y[l]
				u[0] += f[0]
				u[1] += f[1]
				u[2] += f[2]
				u[3] += f[3]
			}
		}
	}
	for l, own := range e.signs(block) {
		t := e.theta[e.sys.levels[l].effect]
		for j := range width {
			y[l][j] = t*y[l][j] + own[j]
		}
	}
	return y
}

// flipped is x with the sign of each of the four lowest bits.
func flipped(x float64, signs uint64) (f [width]float64) {
	b := math.Float64bits(x)
	for j := range f {
		f[j] = math.Float64frombits(b ^ signs>>j<<63)
	}
	return f
}

// variances estimates the diagonal of A⁻¹.
func (d *draws) variances() []float64 {
	z := make([]float64, len(d.diagonal))
	for l, a := range d.diagonal {
		sum := 0.0
		for k := l * contrastDraws; k < (l+1)*contrastDraws; k++ {
			r := float64(d.x[k]) - float64(d.y[k])/a
			sum += r * r
		}
		z[l] = 1/a + sum/contrastDraws
	}
	return z
}

// together is the weight Σ n w of the rows that two levels share.
func (d *draws) together(i, j int32) float64 {
	k, l := d.sys.levels[i].effect, d.sys.levels[j].effect
	if k == l {
		return 0
	}
	if d.start[i+1]-d.start[i] > d.start[j+1]-d.start[j] {
		i, j, l = j, i, k
	}
	sum := 0.0
	for _, c := range d.cellsOf(i) {
		if c := &d.sys.cells[c]; c.at[l] == j {
			sum += c.n * d.weight[c.blank]
		}
	}
	return sum
}

// local is the part of a contrast that draws tell of: its levels whose spread
// is not 0, and what is worked out of them.
type local struct {
	levels []int32
	c      []float64 // by which b enters
	a      []float64 // A_II, then its Cholesky factor
	own    []float64 // A_II⁻¹c
	h      float64   // cᵀA⁻¹c
}

// look works out the variance of a contrast.
func (d *draws) look(c *contrast, o *local) {
	o.levels, o.c = o.levels[:0], o.c[:0]
	for a, l := range c.levels {
		if t := d.theta[d.sys.levels[l].effect]; t > 0 {
			o.levels, o.c = append(o.levels, l), append(o.c, t*c.weight(a))
		}
	}
	m := len(o.levels)
	o.a = slices.Grow(o.a[:0], m*m)[:m*m]
	for a, i := range o.levels {
		o.a[a*m+a] = d.diagonal[i]
		for b, j := range o.levels[:a] {
			o.a[a*m+b] = d.theta[d.sys.levels[i].effect] * d.theta[d.sys.levels[j].effect] * d.together(i, j)
		}
	}
	cholesky(o.a, m)
	// cᵀx less what y_I says of it, A_II⁻¹c weighing y.
	o.own = append(o.own[:0], o.c...)
	own := o.own
	forward(o.a, own)
	o.h = 0
	for _, x := range own {
		o.h += x * x
	}
	backward(o.a, own)
	for k := range contrastDraws {
		rest := 0.0
		for a, i := range o.levels {
			at := int(i)*contrastDraws + k
			rest += o.c[a]*float64(d.x[at]) - own[a]*float64(d.y[at])
		}
		o.h += rest * rest / contrastDraws
	}
}
