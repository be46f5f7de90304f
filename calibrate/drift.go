package calibrate

import (
	"cmp"
	"math"
	"slices"

	"trueplait/model"
)

// Settings of the search for a change. h = 5 with k = 1/2 gives one false
// signal in about 465 rows of a level that does not change, and finds a shift
// of one standard deviation after about 10 rows: NIST/SEMATECH e-Handbook,
// 6.3.2.3.1.
const (
	driftRows   = 10_000 // newest rows looked at
	driftLevels = 2_000  // more are not followed row by row
	driftCap    = 3      // of one error, so that a single row cannot signal alone
	driftSlack  = 0.5    // k
	driftWatch  = 5      // h
	driftAct    = 8
)

// drifts looks for changes of hands and of the batches in use. Rows, in order,
// are predicted one step ahead with the fit's spreads held; the errors, as
// normal deviates capped at ±3, run through a two-sided cumulative sum per
// maker and per batch of a maker's last build. A change most likely began with
// the build after the sum was last zero.
func (f *remlFit) drifts(q model.Quantity, rows []model.Observation) []Drift {
	if f == nil || len(f.sys.levels) > driftLevels {
		return nil
	}
	rows = rows[max(0, len(rows)-driftRows):]
	z := f.stepAhead(rows)
	for i := range z {
		z[i] = math.Max(-driftCap, math.Min(driftCap, z[i]))
	}
	var out []Drift
	for _, e := range q.Effects() {
		if e == model.Product || !slices.Contains(f.sys.effects, e) {
			continue
		}
		series := map[string][]int{}
		for i, o := range rows {
			if label := o.Labels.Get(e); label != "" && o.Key.Kind == model.Builds {
				series[label] = append(series[label], i)
			}
		}
		open := openLabels(e, rows)
		for _, label := range sortedKeys(series) {
			if !open[label] {
				continue
			}
			for _, d := range cusum(z, series[label]) {
				out = append(out, Drift{
					Effect: e, Level: label, AtBuild: rows[d.at].Key.ID, Since: rows[d.since].Key.ID,
					SinceDate: rows[d.since].Date, Direction: d.direction, Grade: d.grade, Ongoing: d.ongoing,
				})
			}
		}
	}
	return out
}

// drifts looks for changes among the rows of the fit.
func (s *screened) drifts(q model.Quantity, rows []model.Observation) []Drift {
	out := keySet(s.out)
	kept := slices.DeleteFunc(slices.Clone(rows), func(o model.Observation) bool { return out[o.Key] })
	return s.fit.drifts(q, kept)
}

// openLabels are the makers, or the batches of each maker's last build.
func openLabels(e model.Effect, rows []model.Observation) map[string]bool {
	last := map[string]string{}
	for _, o := range rows {
		if o.Key.Kind == model.Builds {
			last[o.Labels.Maker] = o.Labels.Get(e)
		}
	}
	open := map[string]bool{}
	for _, label := range last {
		open[label] = true
	}
	return open
}

// stepAhead returns the standardized one-step-ahead error of every row. With
// the spreads known, effects and μ are a normal state that each row updates:
// for a row with design x (μ and the levels' θ) and weight w, in units of σ²,
//
//	v = 1/w + xᵀPx,  gain = Px/v,  P ← P − gain (Px)ᵀ
//
// Rows of one date are predicted before any of them is learnt from.
func (f *remlFit) stepAhead(rows []model.Observation) []float64 {
	s := f.sys
	n := len(s.levels) + 1 // μ is last
	sigma := math.Sqrt(f.r2 / (s.n - 1))
	const vague = 1e6 // prior variance of μ, in σ²: it is flat
	p := make([]float64, n*n)
	for i := range n {
		p[i*n+i] = 1
	}
	p[n*n-1] = vague
	state := make([]float64, n)
	px := make([]float64, n)
	z := make([]float64, len(rows))
	for from := 0; from < len(rows); {
		to := from
		for to < len(rows) && rows[to].Date.Equal(rows[from].Date) {
			to++
		}
		for i := from; i < to; i++ {
			c := s.cell(model.Cell{Labels: rows[i].Labels, N: 1, Mean: rows[i].Y})
			mean, v := f.stateOf(&c, state, p, px)
			z[i] = (c.mean - mean) / (sigma * math.Sqrt(v))
		}
		for i := from; i < to; i++ {
			c := s.cell(model.Cell{Labels: rows[i].Labels, N: 1, Mean: rows[i].Y})
			mean, v := f.stateOf(&c, state, p, px)
			for a := range n {
				if px[a] == 0 {
					continue
				}
				gain := px[a] / v
				state[a] += gain * (c.mean - mean)
				row := p[a*n : a*n+n]
				for b, x := range px {
					row[b] -= gain * x
				}
			}
		}
		from = to
	}
	return z
}

// stateOf predicts a row from the state: its mean and its variance over σ²;
// Px is left in px.
func (f *remlFit) stateOf(c *cell, state, p, px []float64) (mean, v float64) {
	n := len(state)
	copy(px, p[(n-1)*n:])
	mean = state[n-1]
	for k, i := range c.at {
		if i < 0 || k >= len(f.theta) {
			continue
		}
		t := f.theta[k]
		mean += t * state[i]
		for b, x := range p[int(i)*n : int(i)*n+n] {
			px[b] += t * x
		}
	}
	v = 1/rowWeight(c.blank, f.theta) + px[n-1]
	for k, i := range c.at {
		if i >= 0 && k < len(f.theta) {
			v += f.theta[k] * px[i]
		}
	}
	return mean, v
}

// change is a signal of a cumulative sum, rows by index.
type change struct {
	since, at        int
	direction, grade string
	ongoing          bool
}

// cusum runs the two-sided sum over the rows of one level and returns its
// excursions beyond the limit for watching, each with the highest grade it
// reached; one that calls for acting resets the sum.
func cusum(z []float64, rows []int) []change {
	var out []change
	for _, side := range []struct {
		sign      float64
		direction string
	}{{1, "up"}, {-1, "down"}} {
		sum, since := 0.0, -1
		var now *change
		end := func() {
			if now != nil {
				out = append(out, *now)
			}
			now, sum, since = nil, 0, -1
		}
		for _, i := range rows {
			sum += side.sign*z[i] - driftSlack
			if sum <= 0 {
				end()
				continue
			}
			if since < 0 {
				since = i
			}
			switch {
			case sum > driftAct:
				now = &change{since: since, at: i, direction: side.direction, grade: "act"}
				end()
			case sum > driftWatch && now == nil:
				now = &change{since: since, at: i, direction: side.direction, grade: "watch"}
			}
		}
		if now != nil {
			now.ongoing = true
		}
		end()
	}
	slices.SortFunc(out, func(a, b change) int { return cmp.Or(cmp.Compare(a.at, b.at), cmp.Compare(a.since, b.since)) })
	return out
}
