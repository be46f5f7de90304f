package report

import (
	"fmt"
	"math"
	"strconv"

	"trueplait/calibrate"
	"trueplait/model"
)

// cutList is what to cut, in words.
type cutList struct {
	Reading string // how the lengths were chosen
	Parts   []cutPart
}

// cutPart is what to cut for one part.
type cutPart struct {
	Name, Detail string
	Rows         []cutRow
}

// cutRow is so many pieces of one length.
type cutRow struct {
	Pieces int
	Cut    string // rounded up: a piece is never cut shorter than this
	To     string // where it ends
	Then   string // what happens there
}

func newCutList(p *calibrate.Plan, u Units) cutList {
	var list cutList
	safe, unsafe := false, false
	for i, part := range p.Design.Parts {
		if !model.Known(part.CutMM) {
			continue
		}
		out := cutPart{Name: label(part.Name)}
		if len(part.Strands) == 0 {
			out.Rows = []cutRow{{1, cutLength(part.CutMM, u), Length(part.EndMM, u), ""}}
			if part.LoadLengthMM > 0 {
				out.Detail = "loaded it is " + Length(part.EndMM-part.StartMM, u) + " long"
			}
		}
		left := strandCount(part)
		if left > 0 {
			out.Detail = count(left, "strand")
			if part.TailMM > 0 {
				out.Detail += ", " + Length(part.TailMM, u) + " of each to hold on to"
			}
		}
		for j, s := range part.Strands {
			cut := cutSafe(p, i).Strands[j]
			if model.Known(cut) {
				safe = true
			} else {
				cut, unsafe = s.CutMM, true
			}
			row := cutRow{s.Count, cutLength(cut, u), Length(s.ToMM, u), "end"}
			if s.Count < left {
				row.Then = fmt.Sprintf("%d → %d", left, left-s.Count)
			}
			left -= s.Count
			out.Rows = append(out.Rows, row)
		}
		list.Parts = append(list.Parts, out)
	}
	switch {
	case safe && unsafe:
		list.Reading = "Lengths are rounded up; of some parts nothing is known of how much strand they use up, so theirs hold no allowance."
	case safe:
		list.Reading = fmt.Sprintf("Rounded up; cut so, a strand falls short in %s whips.", oneIn(p.ShortRisk))
	case unsafe:
		list.Reading = "Rounded up, but without allowance: nothing is known yet of how much strand is used up. Leave plenty, and record what is left."
	default:
		list.Reading = "Rounded up."
	}
	return list
}

// grid is the list as a table, without details.
func (l cutList) grid() grid {
	g := grid{Head: []string{"part", "pieces", "cut each", "runs to", "strands there"}, Figures: 1, Words: 4}
	for _, part := range l.Parts {
		for i, r := range part.Rows {
			name := ""
			if i == 0 {
				name = part.Name
			}
			g.add(name, strconv.Itoa(r.Pieces), r.Cut, r.To, r.Then)
		}
	}
	return g
}

// details says what else is to know of each part.
func (l cutList) details() []string {
	var out []string
	for _, part := range l.Parts {
		if part.Detail != "" {
			out = append(out, part.Name+": "+part.Detail)
		}
	}
	return out
}

// oneIn prints a small chance as makers count: "1 of 100".
func oneIn(chance float64) string {
	if n := math.Round(1 / chance); n >= 2 && math.Abs(n*chance-1) < 0.02 {
		return fmt.Sprintf("1 of %.0f", n)
	}
	return share(chance) + " of"
}

// strandCount is how many strands a part starts with.
func strandCount(part model.DesignPart) int {
	n := 0
	for _, s := range part.Strands {
		n += s.Count
	}
	return n
}

// cutSafe is the safe cut of part i; unknown lengths where the plan states
// none.
func cutSafe(p *calibrate.Plan, i int) calibrate.PartCut {
	out := calibrate.PartCut{SafeMM: model.Unknown, Strands: make([]float64, len(p.Design.Parts[i].Strands))}
	for j := range out.Strands {
		out.Strands[j] = model.Unknown
	}
	if i < len(p.CutSafe) {
		out.SafeMM = p.CutSafe[i].SafeMM
		copy(out.Strands, p.CutSafe[i].Strands)
	}
	return out
}

// cutLength shows where to cut: up to the next whole millimetre, and to the
// next eighth of an inch. What is on a mark but for the last digits of
// floating point stays there.
func cutLength(mm float64, u Units) string {
	const slack = 1e-6
	metric := strconv.Itoa(int(math.Ceil(mm-slack))) + " mm"
	imperial := fraction(math.Ceil(mm/model.MMPerInch*8-slack)) + " in"
	switch u {
	case Metric:
		return metric
	case Imperial:
		return imperial
	}
	return metric + " (" + imperial + ")"
}
