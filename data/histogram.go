package data

import (
	"cmp"
	"context"
	"database/sql"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"trueplait/model"
)

// histogram counts the residuals that a fit used, in bins floor(t/width), and
// has those of some bins one by one.
type histogram struct {
	width float64
	read  reading
	out   float64 // the |t| from which rows stand out

	n, kept int               // rows, and those that the fit used
	bins    []bin             // in order
	far     map[int64]float64 // t of the rows that stand out, by their numbers
}

// reading says which bins are read: up to so many from one in the middle, and
// those from first to last on both sides of it.
type reading struct{ middle, near, first, last float64 }

// Readings that need no guess.
var (
	readNothing = reading{near: -1, first: math.Inf(1)}
	readAll     = reading{near: math.Inf(1)}
)

// bin is a bin with something in it.
type bin struct {
	at    float64 // floor(t/width)
	n     int
	sizes []float64 // all of them, where they are read; in order
}

// readNear returns the reading of what lies near a spread, which is off by slack
// at most.
func readNear(s spread, width, slack float64) reading {
	m := s.middle.at()
	r := reading{middle: math.Floor(m / width)}
	from := func(x float64) float64 { return x/width - r.middle } // in bins
	r.near = max(math.Ceil(from(s.middle.high.high+slack)), math.Ceil(-from(s.middle.low.low-slack)))
	r.first = math.Floor(from(m+s.deviation.low.low-slack)) - 1
	r.last = math.Ceil(from(m+s.deviation.high.high+slack)) + 1
	return r
}

// scan fills h from the rows.
func (h *histogram) scan(ctx context.Context, conn *session, q model.Quantity, f model.Fitted) error {
	lone := slices.ContainsFunc(f.Levels, func(l model.LevelEffect) bool { return l.Rows <= 1 })
	args := append(chosen(q.Effects(), string(q), f.Mean), h.width,
		h.read.middle, h.read.near, h.read.first, h.read.last, h.out, lone, math.Log(model.LoneAt))
	h.far = map[int64]float64{}
	var at sql.NullFloat64
	var n int
	var sizes, far []float64
	var rows []int64
	targets := []any{&at, &n, &list[float64]{&sizes, parseFloat}, &list[int64]{&rows, parseInt}, &list[float64]{&far, parseFloat}}
	err := each(ctx, conn, residualScan, targets, func() error {
		h.n += n
		for i, row := range rows {
			h.far[row] = far[i]
		}
		if at.Valid {
			h.kept += n
			h.add(at.Float64, n, sizes)
		}
		return nil
	}, args...)
	for i := range h.bins {
		slices.Sort(h.bins[i].sizes)
	}
	return err
}

// add adds to a bin, the last one or one behind it: bins come in order, and
// one may come from several servers.
func (h *histogram) add(at float64, n int, sizes []float64) {
	if len(h.bins) == 0 || h.bins[len(h.bins)-1].at != at {
		h.bins = append(h.bins, bin{at: at})
	}
	b := &h.bins[len(h.bins)-1]
	b.n += n
	b.sizes = append(b.sizes, sizes...)
}

// list reads a list of numbers.
type list[T int64 | float64] struct {
	into  *[]T
	parse func(string) (T, error)
}

func parseFloat(s string) (float64, error) { return strconv.ParseFloat(s, 64) }
func parseInt(s string) (int64, error)     { return strconv.ParseInt(s, 10, 64) }

// Scan implements [sql.Scanner]: DuckDB gives a list, PostgreSQL its text,
// {1,2.5}. No list is an empty one.
func (l *list[T]) Scan(src any) error {
	*l.into = (*l.into)[:0]
	switch src := src.(type) {
	case nil:
	case []any:
		for _, x := range src {
			*l.into = append(*l.into, x.(T))
		}
	case string:
		for text := range strings.SplitSeq(strings.Trim(src, "{}"), ",") {
			x, err := l.parse(text)
			if err != nil {
				return fmt.Errorf("data: list %q: %w", src, err)
			}
			*l.into = append(*l.into, x)
		}
	default:
		return fmt.Errorf("data: no way to read a list from a %T", src)
	}
	return nil
}

// ends are the ends of a bin.
func (h *histogram) ends(b *bin) size { return size{b.at * h.width, (b.at + 1) * h.width} }

// spread returns the spread of the sizes, as far as they tell. It is 0 where
// there are none.
func (h *histogram) spread() (s spread) {
	if h.kept == 0 {
		return s
	}
	s.middle = h.middle()
	s.deviation = h.deviation(s.middle.at())
	return s
}

// middle returns the middle of the sizes.
func (h *histogram) middle() middle {
	rank := func(k int) size {
		for i := range h.bins {
			b := &h.bins[i]
			if k < b.n && b.sizes != nil {
				return size{b.sizes[k], b.sizes[k]}
			}
			if k < b.n {
				return h.ends(b)
			}
			k -= b.n
		}
		return size{model.Unknown, model.Unknown}
	}
	return middle{rank((h.kept - 1) / 2), rank(h.kept / 2)}
}

// distance is how far sizes lie from a middle: one that was read, or all of a
// bin.
type distance struct {
	at   float64 // of a bin, that of its middle
	ends size
	n    int
}

// deviation returns the middle of the sizes' distances from m. One that was read
// is known where every bin that was not lies on one side of it.
func (h *histogram) deviation(m float64) middle {
	var all []distance
	for i := range h.bins {
		b := &h.bins[i]
		for _, t := range b.sizes {
			d := math.Abs(t - m)
			all = append(all, distance{d, size{d, d}, 1})
		}
		if b.sizes == nil {
			ends := h.ends(b)
			d := math.Abs(ends.at() - m)
			all = append(all, distance{d, size{max(0, d-h.width/2), d + h.width/2}, b.n})
		}
	}
	slices.SortFunc(all, func(a, b distance) int { return cmp.Compare(a.at, b.at) })
	rank := func(k int) size {
		i := 0
		for i < len(all)-1 && k >= all[i].n {
			k -= all[i].n
			i++
		}
		d := all[i]
		for j, other := range all {
			if j < i && other.ends.high > d.at || j > i && other.ends.low < d.at {
				return size{d.at - h.width, d.at + h.width}
			}
		}
		return d.ends
	}
	return middle{rank((h.kept - 1) / 2), rank(h.kept / 2)}
}
