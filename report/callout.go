package report

import (
	"fmt"
	"slices"

	"github.com/jedib0t/go-pretty/v6/text"

	"trueplait/calibrate"
	"trueplait/model"
)

// remark is what is to be said of a place on the whip.
type remark struct {
	Class       string
	What, Where string
	at          float64 // mm
	part        int     // of the design; -1: the whip as a whole
}

// callout is a remark beside the drawing, with a line to its place.
type callout struct {
	remark
	X, Y   float64 // of the first of its two lines
	Dot    point
	Leader string // path of the line
}

type point struct{ X, Y float64 }

// The layout of callouts, in px.
const (
	leaderBend    = 158.0 // where lines leave for their callouts
	calloutLeft   = 191.0
	calloutHeight = 27.0
	calloutChars  = 20 // that fit in what a callout says
)

// newRemarks says where parts begin, end and lose strands, in order along the
// whip.
func newRemarks(plan *calibrate.Plan, u Units) []remark {
	var out []remark
	for i, p := range plan.Design.Parts {
		if !placed(p) {
			continue
		}
		add := func(class, what string, at float64, where string) {
			out = append(out, remark{class, text.Snip(what, calloutChars, "…"), where, at, i})
		}
		const room = 8 // for what follows the name
		name := text.Snip(label(p.Name), calloutChars-room, "…")
		ends := func() { add("part", name+" ends", p.EndMM, Length(p.EndMM, u)) }
		switch p.Role {
		case model.Rod:
			ends()
		case model.Core:
			if loaded := p.StartMM + p.LoadLengthMM; p.LoadLengthMM > 0 {
				add("part", "shot ends", loaded, Length(loaded, u))
			}
			ends()
		case model.Plait:
			left := strandCount(p)
			add("part", label(p.Name), p.StartMM, count(left, "strand")+" from "+place(p.StartMM, u))
			for _, s := range p.Strands {
				if s.Count < left {
					add("drop", fmt.Sprintf("%s %d → %d", name, left, left-s.Count), s.ToMM, Length(s.ToMM, u))
				}
				left -= s.Count
			}
			ends()
		case model.Knot:
			add("part", label(p.Name), p.StartMM, "at "+place(p.StartMM, u))
		case model.Cracker, model.Fall, model.Wrap, model.Other:
			add("part", label(p.Name), (p.StartMM+p.EndMM)/2, place(p.StartMM, u)+" to "+place(p.EndMM, u))
		}
	}
	if balance := plan.Calibrated.BalanceMM; model.Known(balance) {
		out = append(out, remark{"balance", "balances here", Length(balance, u), balance, -1})
	}
	slices.SortStableFunc(out, func(a, b remark) int {
		switch {
		case a.at < b.at:
			return -1
		case a.at > b.at:
			return 1
		}
		return 0
	})
	return out
}

// place names a place on the whip in one unit.
func place(mm float64, u Units) string {
	if mm == 0 {
		return "the butt"
	}
	return Length(mm, one(u))
}

// call puts remarks beside the drawing, each as near to its place as the
// others let it.
func (d *drawing) call(remarks []remark, parts []model.DesignPart) {
	wanted := make([]float64, len(remarks))
	for i, r := range remarks {
		wanted[i] = d.y(r.at)
	}
	const half = calloutHeight / 2
	for i, y := range apart(wanted, calloutHeight, drawingTop+half-6, d.Height-half) {
		r := remarks[i]
		dot := point{middle + d.tip(r, parts), d.y(r.at)}
		d.Callouts = append(d.Callouts, callout{
			remark: r, X: calloutLeft, Y: y - 2, Dot: dot,
			Leader: fmt.Sprintf("M%.1f %.1fH%.1fL%.1f %.1fh4", dot.X, dot.Y, max(leaderBend, dot.X), calloutLeft-7, y),
		})
	}
}

// tip is how far from the middle a remark points, in px.
func (d *drawing) tip(r remark, parts []model.DesignPart) float64 {
	if r.part < 0 {
		return d.surface(parts, r.at)
	}
	switch p := parts[r.part]; p.Role {
	case model.Knot:
		return d.surface(parts, r.at) + knotWidth/2
	case model.Wrap, model.Other:
		return d.bracket(parts, p)
	default:
		return d.half(p, r.at)
	}
}

// apart moves places, which are in order, as little as it takes (least
// squares) for neighbours to be gap apart and all to lie between low and high:
// isotonic regression of place less rank times gap by pooling adjacent
// violators.
func apart(places []float64, gap, low, high float64) []float64 {
	type pool struct {
		sum float64
		n   int
	}
	var pools []pool
	for i, y := range places {
		pools = append(pools, pool{y - float64(i)*gap, 1})
		for k := len(pools) - 1; k > 0 && pools[k-1].sum/float64(pools[k-1].n) > pools[k].sum/float64(pools[k].n); k-- {
			pools[k-1] = pool{pools[k-1].sum + pools[k].sum, pools[k-1].n + pools[k].n}
			pools = pools[:k]
		}
	}
	var out []float64
	top := high - gap*float64(len(places)-1)
	for _, p := range pools {
		for range p.n {
			out = append(out, min(max(p.sum/float64(p.n), low), max(low, top))+float64(len(out))*gap)
		}
	}
	return out
}
