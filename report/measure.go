package report

import (
	"fmt"
	"slices"

	"trueplait/calibrate"
	"trueplait/model"
)

// What counts as a help, as shares of the promise's half width (common
// practice, no source).
const (
	noHelp  = 0.03 // ten more rows narrow it by less: not worth the trouble
	mostOf  = 0.75 // of what ten rows give: enough
	littleG = 0.2  // of the weight: a small load
)

// measure is what rows of one kind would do to a promise.
type measure struct {
	kind  model.Kind
	of    string  // the batch, in words
	now   float64 // half width of the promise, g
	after []calibrate.Tighter
}

// enough is the least number of rows that gives most of what there is to gain,
// and the half width then.
func (m measure) enough() (n int, width float64) {
	for _, t := range m.after {
		n, width = t.Fills+t.Checks+t.Builds, t.HalfWidthG
		if m.now-width >= mostOf*m.most() {
			break
		}
	}
	return n, width
}

// most is what ten rows narrow the half width by.
func (m measure) most() float64 { return m.now - m.after[len(m.after)-1].HalfWidthG }

func (m measure) helps() bool { return m.most() >= noHelp*m.now }

// words say how far rows of the kind narrow the promise: "A test fill of core
// batch C12 narrows it to ± 11.2 g".
func (m measure) words(u Units) string {
	n, width := m.enough()
	if n == 1 {
		return fmt.Sprintf("A %s of %s narrows it to ± %s.", m.kind.Noun(1), m.of, grams(width, u))
	}
	return fmt.Sprintf("%s of %s narrow it to ± %s.", counted(n, m.kind), m.of, grams(width, u))
}

// newMeasure picks the rows of a kind out of a promise.
func newMeasure(p *calibrate.Promise, kind model.Kind) measure {
	m := measure{kind: kind, now: p.Weight.Width() / 2}
	for _, t := range p.Tighten {
		if kind == model.Fills && t.Fills > 0 || kind == model.Checks && t.Checks > 0 || kind == model.Builds && t.Builds > 0 {
			m.after = append(m.after, t)
		}
	}
	switch kind {
	case model.Fills:
		m.of = labelled(model.CoreBatch, p.Labels.CoreBatch)
	case model.Checks:
		m.of = labelled(model.StrandBatch, p.Labels.StrandBatch)
	}
	return m
}

// measureWords says what to measure first, how often, and why, in grams.
func measureWords(p *calibrate.Promise, u Units) string {
	fills, checks, builds := newMeasure(p, model.Fills), newMeasure(p, model.Checks), newMeasure(p, model.Builds)
	out := fmt.Sprintf("The promise is ± %s now.", grams(fills.now, u))
	if p.Basis == calibrate.FromParts { // a whole weight learns from whips alone
		quick := []measure{fills, checks}
		if checks.most() > fills.most() {
			slices.Reverse(quick)
		}
		for _, m := range quick {
			switch {
			case m.helps():
				out += " " + m.words(u)
			case m.kind == model.Checks:
				out += fmt.Sprintf(" Cord checks of %s cannot help: ten would narrow it by %s.", m.of, grams(m.most(), u))
			case !(p.Shot.Median >= littleG*p.Weight.Median):
				out += fmt.Sprintf(" A test fill cannot help: the load is a small part of the weight, %s, and ten would narrow the promise by %s.", loadWords(p, u), grams(m.most(), u))
			default:
				out += fmt.Sprintf(" The load of %s is known well enough: ten more test fills would narrow the promise by %s.", m.of, grams(m.most(), u))
			}
		}
		if quick[0].helps() {
			n, _ := quick[0].enough()
			out += fmt.Sprintf(" Start with %s.", counted(n, quick[0].kind))
		}
	}
	if !builds.helps() {
		return out + fmt.Sprintf(" More whips of these batches would narrow it little (ten by %s): what is left is the scatter from whip to whip.", grams(builds.most(), u))
	}
	first, third := builds.after[0].HalfWidthG, builds.after[2].HalfWidthG
	return out + fmt.Sprintf(" The next whip of these batches narrows it to ± %s, three to ± %s.", grams(first, u), grams(third, u))
}

// loadWords compares the load with the weight: "50 g of 464 g".
func loadWords(p *calibrate.Promise, u Units) string {
	shot := p.Shot.Median
	if !model.Known(shot) {
		shot = 0
	}
	return Mass(shot, one(u)) + " of " + Mass(p.Weight.Median, one(u))
}
