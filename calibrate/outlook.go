package calibrate

import (
	"slices"

	"trueplait/model"
)

// outlook is what is known of one quantity's factor for the labels of a
// promise, node by node of the posterior, and what rows to come would add.
//
// At a node, spreads held, a row to come narrows a factor whatever it will say:
// with h the factor's variance, r the row's before it is measured and c their
// covariance, all over σ²,
//
//	h after n such rows = h − n c²/(1 + n r)
//
// which is what n more rows in the system's cells would give.
type outlook struct {
	post  *Posterior
	at    []estimate // the factor
	check []kinship  // a cord check of the strand batch; nil where none informs
}

// kinship is what a row to come has to do with a factor, over σ².
type kinship struct {
	row  float64 // the row's variance, its own scatter apart
	both float64 // its covariance with the factor
}

// newOutlook solves the posterior's nodes for the factor of labels.
func newOutlook(q model.Quantity, post *Posterior, labels model.Labels) *outlook {
	o := &outlook{post: post, at: make([]estimate, len(post.nodes))}
	own := post.sys.contrast(labels)
	check := post.sys.contrast(model.Labels{Maker: model.CheckLevel, Product: model.CheckLevel, StrandBatch: labels.StrandBatch})
	shared := own.unseen & check.unseen & post.sys.bit(model.StrandBatch)
	if q == model.Body {
		o.check = make([]kinship, len(post.nodes))
	}
	post.eachSolution(func(i int, sol *solution) {
		mean, h := sol.estimate(own)
		o.at[i] = sol.pulled(estimate{mean: mean + post.sys.centre, h: h}, &own)
		if o.check != nil {
			o.check[i] = sol.kinship(own, check, shared)
		}
	})
	return o
}

// bit is the bit of an effect in a set of them; 0 where the system has none.
func (s *system) bit(e model.Effect) uint8 {
	if k := slices.Index(s.effects, e); k >= 0 {
		return 1 << k
	}
	return 0
}

// kinship relates a row to a factor. Both have a mean; shared are the effects
// of which they have the same level never seen. What is seen is polarized:
// 2 cov(f, r) = var f + var r − var(f − r).
func (o *solution) kinship(factor, row contrast, shared uint8) kinship {
	_, r := o.estimate(row)
	difference := contrast{levels: slices.Concat(factor.levels, row.levels)}
	for i := range difference.levels {
		difference.weights = append(difference.weights, 1)
		if i >= len(factor.levels) {
			difference.weights[i] = -1
		}
	}
	factor.unseen, row.unseen = 0, 0
	_, seenFactor := o.estimate(factor)
	_, seenRow := o.estimate(row)
	_, apart := o.estimate(difference)
	both := (seenFactor + seenRow - apart) / 2
	for k, t := range o.theta {
		if shared&(1<<k) != 0 {
			both += t * t
		}
	}
	return kinship{r, both}
}

// after is the next build's ratio once more rows are in: own ones, with the
// labels of the promise, and cord checks. Nodes, their weights and their means
// stay, and so does the share of h that a borrowed mean takes off.
func (o *outlook) after(own, checks int) *Mixture {
	at := make([]estimate, len(o.at))
	for i, e := range o.at {
		h := e.h
		if o.check != nil {
			k, n := o.check[i], float64(checks)
			h -= n * k.both * k.both / (1 + n*k.row)
		}
		h /= 1 + float64(own)*h // a row of its own: r = c = h
		at[i] = estimate{e.mean, h + 1, e.shift, e.less * h / e.h}
	}
	return o.post.mixture(at)
}

// median is the middle of what the factor may be, in log units.
func (o *outlook) median() float64 { return o.post.mixture(o.at).Quantile(0.5) }

// scatterOnly is a ratio of which all but the scatter sigma is known.
func scatterOnly(mean, sigma float64) *Mixture {
	return newMixture([]normal{{mean, sigma, 1, sigma}})
}
