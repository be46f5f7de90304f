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
	driftRows  = 10_000 // newest rows looked at
	driftWidth = 1_000  // more levels in use at once are not followed row by row
	driftCap   = 3      // of one error, so that a single row cannot signal alone
	driftSlack = 0.5    // k
	driftWatch = 5      // h
	driftAct   = 8
)

// drifts looks for changes of hands and of the batches in use. Rows, in order,
// are predicted one step ahead with the fit's spreads held; the errors, as
// normal deviates capped at ±3, run through a two-sided cumulative sum per
// maker and per batch of a maker's last build. A change most likely began with
// the build after the sum was last zero.
func (f *remlFit) drifts(q model.Quantity, rows []model.Observation) []Drift {
	if f == nil {
		return nil
	}
	rows = rows[max(0, len(rows)-driftRows):]
	z := f.stepAhead(rows)
	if z == nil {
		return nil
	}
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

// stepAhead returns the standardized one-step-ahead error of every row, or nil
// where too many levels are in use at once. With the spreads known, μ and the
// effects are a belief that each row updates; a level is followed from its
// first row to its last, which keeps the belief as small as the shop's bench.
// Rows of one date are predicted before any of them is learnt from.
func (f *remlFit) stepAhead(rows []model.Observation) []float64 {
	s := f.sys
	const vague = 1e6 // prior variance of μ, in σ²: it is flat
	days := s.days(rows)
	width := 0
	for open, i := 0, 0; i < len(days); i++ {
		open += len(days[i].opens)
		width = max(width, open)
		open -= len(days[i].closes)
	}
	if width > driftWidth {
		return nil
	}
	sigma := math.Sqrt(f.r2 / (s.n - 1))
	b := newBelief(f.theta, make([]int32, len(s.levels)), width, vague)
	var free []int32
	for i := width; i > 0; i-- {
		free = append(free, int32(i))
	}
	z := make([]float64, 0, len(rows))
	for _, d := range days {
		for _, l := range d.opens {
			b.slot[l] = free[len(free)-1]
			free = free[:len(free)-1]
			b.open(b.slot[l])
		}
		for i := range d.rows {
			e := b.next(&d.rows[i])
			z = append(z, (d.rows[i].mean-e.mean)/(sigma*math.Sqrt(e.h)))
		}
		for i := range d.rows {
			b.learn(&d.rows[i])
		}
		for _, l := range d.closes {
			b.close(b.slot[l])
			free = append(free, b.slot[l])
		}
	}
	return z
}

// workday is the rows of one date, the levels they are the first to have, and
// those they are the last to have.
type workday struct {
	rows          []cell
	opens, closes []int32
}

// days cuts rows, in order, into dates.
func (s *system) days(rows []model.Observation) []workday {
	var days []workday
	last := make([]int, len(s.levels)) // 1 + number of the day; 0: none yet
	for i := range rows {
		if i == 0 || !rows[i].Date.Equal(rows[i-1].Date) {
			days = append(days, workday{})
		}
		d := &days[len(days)-1]
		c := s.cell(&model.Cell{Labels: rows[i].Labels, N: 1, Mean: rows[i].Y})
		d.rows = append(d.rows, c)
		for _, l := range c.at {
			if l < 0 {
				continue
			}
			if last[l] == 0 {
				d.opens = append(d.opens, l)
			}
			last[l] = len(days)
		}
	}
	for l, day := range last {
		if day > 0 {
			days[day-1].closes = append(days[day-1].closes, int32(l))
		}
	}
	return days
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
