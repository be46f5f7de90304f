package calibrate

import "math"

// criterion is the profiled REML criterion at the solution's θ,
//
//	d(θ) = ln|A| + ln Rx² + (N−1)(1 + ln(2π r²/(N−1))) − Σ n ln w
//
// Bates, Maechler, Bolker, Walker (2015), J Stat Softw 67(1), eq. 41, with the
// row weights of blank labels in it.
func (o *solution) criterion() float64 {
	df := o.sys.n - 1
	return o.logDet + math.Log(o.rx2) + df*(1+math.Log(2*math.Pi*o.r2/df)) - o.logW
}

// slopes writes the derivatives of the criterion's two parts by ln θ,
//
//	det_k = ∂(ln|A| + ln Rx² − Σ n ln w)/∂ ln θ_k,  quad_k = ∂r²/∂ ln θ_k
//
// With V_k = ∂V/∂θ_k² they are 2θ_k² tr(P V_k) and −2θ_k² yᵀPV_kPy: the levels
// contribute 1 − (A⁻¹)_jj − v_j²/Rx² and b_j², and rows with a blank label
// w − w²h and their squared weighted residuals.
func (o *solution) slopes(det, quad []float64) {
	s := o.sys
	o.needInverse()
	clear(det)
	clear(quad)
	for i, l := range s.levels {
		z := o.z[o.sparsity.at(int32(i), int32(i))]
		det[l.effect] += 2 * (1 - z - o.v[i]*o.v[i]/o.rx2)
		quad[l.effect] -= 2 * o.b[i] * o.b[i]
	}
	for k, t := range o.theta {
		if t == 0 {
			det[k], quad[k] = 0, 0
		}
	}
	o.needBlanks()
	for blank, d := range o.blanks {
		for k, t := range o.theta {
			if blank&(1<<k) != 0 {
				det[k] += 2 * t * t * d.det
				quad[k] += 2 * t * t * d.quad
			}
		}
	}
}

// blankSlope is what rows with the same blanks contribute to the slopes of
// each of these effects, over 2θ².
type blankSlope struct{ det, quad float64 }

// needBlanks works out the slopes by blanks.
func (o *solution) needBlanks() {
	if o.blanked {
		return
	}
	o.blanked = true
	s := o.sys
	clear(o.blanks[:])
	for _, i := range s.blank {
		c := &s.cells[i]
		w := o.weight[c.blank]
		lift := 1.0
		for k, l := range c.at {
			if l >= 0 {
				lift -= o.theta[k] * o.v[l]
			}
		}
		e := c.mean - o.mean - o.at(c)
		out := &o.blanks[c.blank]
		out.det += c.n * (w - w*w*lift*lift/o.rx2)
		out.quad -= w * w * (c.n*e*e + c.ss)
	}
	// What is left of h, Σ n (Λz)ᵀA⁻¹Λz, is a sum over ZᵀWZ.
	for i := range s.terms[s.noBlank:] {
		t := &s.terms[s.noBlank+i]
		w := o.weight[t.blank]
		x := t.n * w * w * o.theta[t.k] * o.theta[t.l] * o.z[t.at]
		if t.k != t.l {
			x *= 2 // the element and its mirror image
		}
		o.blanks[t.blank].det -= x
	}
}

// information is what is expected of the criterion's second derivatives by
// ln θ, with σ profiled out and without what the slopes add to it. With
// M = ΛZᵀV⁻¹ZΛ = I − A⁻¹ it is
//
//	4 Σ_{i of k, j of l} M_ij² − 4 tr_k M tr_l M/(N−1)
//
// with the levels that blanks are of their own, of which M is nearly diagonal.
// Elements outside the factor's pattern are small and left out, and μ̂'s part.
func (o *solution) information() (info [maxEffects][maxEffects]float64) {
	s := o.sys
	o.needInverse()
	o.needBlanks()
	var trace [maxEffects]float64
	add := func(i, j int32, z float64) {
		k, l := s.levels[i].effect, s.levels[j].effect
		if i == j {
			trace[k] += 1 - z
			info[k][k] += 4 * (1 - z) * (1 - z)
			return
		}
		info[k][l] += 4 * z * z
		info[l][k] += 4 * z * z
	}
	o.eachInverse(add)
	for _, w := range s.whole {
		if w.blank == 0 {
			continue
		}
		m := o.blanks[w.blank].det / w.n // of a row; over θ_k θ_l
		for k, x := range o.theta {
			if w.blank&(1<<k) == 0 {
				continue
			}
			trace[k] += w.n * x * x * m
			for l, y := range o.theta {
				if w.blank&(1<<l) != 0 {
					info[k][l] += 4 * w.n * (x * y * m) * (x * y * m)
				}
			}
		}
	}
	for k := range info {
		for l := range info {
			info[k][l] -= 4 * trace[k] * trace[l] / math.Max(s.n-1, 1)
		}
	}
	return info
}

// gradient writes θ_k ∂d/∂θ_k into g.
func (o *solution) gradient(g []float64) {
	quad := make([]float64, len(g))
	o.slopes(g, quad)
	for k := range g {
		g[k] += (o.sys.n - 1) * quad[k] / o.r2
	}
}
