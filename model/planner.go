package model

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
)

const mmPerM = 1000

// planner works out parts one by one and keeps what is wrong or odd with them.
type planner struct {
	materials Materials
	problems  []*PartProblem // any: no design
	warnings  []*PartProblem
	notes     map[*Part][]string // the same warnings, by row
}

// item is one part as planned, with what only the sums need.
type item struct {
	DesignPart
	rows []*Part
	shot moment
	body moment // all but shot

	// Of a loaded core, g per mm of load length: of shot, and of cord that
	// loading shortens.
	shotPerLoad, cordPerLoad float64
}

// newItem is a part at its start, with nothing known but its name.
func (p *planner) newItem(row *Part) *item {
	start := p.start(row)
	return &item{
		rows: []*Part{row},
		DesignPart: DesignPart{
			Name: row.Name, Role: row.Role, StartMM: start, EndMM: start,
			CutMM: Unknown, LoadLengthMM: Unknown, ShotGMM: Unknown, Packing: Unknown, StrandGMM: Unknown,
		},
	}
}

// newCord is a part made of cord that lies over a length.
func (p *planner) newCord(row *Part, length float64) *item {
	it := p.newItem(row)
	it.EndMM = it.StartMM + length
	return it
}

// isCord reports whether the part's body is cord, which a finish goes on.
func (it *item) isCord() bool { return it.Role == Core || it.Role == Plait }

// count is how many there are of the part.
func (it *item) count() float64 { return float64(max(it.rows[0].Count, 1)) }

// settle multiplies a part's masses by its count and works out its figures.
func (it *item) settle() {
	n := it.count()
	it.shot, it.body = it.shot.times(n), it.body.times(n)
	it.shotPerLoad, it.cordPerLoad = it.shotPerLoad*n, it.cordPerLoad*n
	all := it.shot.plus(it.body)
	it.MassG, it.ShotG, it.BalanceMM = all.g, it.shot.g, all.balance()
}

// usedColumns lists the columns that mean something for a role, beside material,
// which may always be noted.
var usedColumns = map[Role][]string{
	Rod:     {"count", "diameter", "length", "start", "density"},
	Core:    {"count", "diameter", "length", "start", "load_length", "bore", "shot_diameter", "density", "unloaded_diameter", "sheath_angle", "sheath_thickness", "mass_per_length"},
	Plait:   {"count", "diameter", "tip_diameter", "length", "start", "strands", "strand_width", "strand_thickness", "drop_angle", "tail", "mass_per_length"},
	Wrap:    statedColumns,
	Fall:    statedColumns,
	Cracker: statedColumns,
	Knot:    statedColumns,
	Other:   statedColumns,
	Finish:  {"count", "fraction"},
}

var statedColumns = []string{"count", "diameter", "tip_diameter", "length", "start", "mass_per_length", "mass"}

// warnOfUnused points out figures that a part states and its role has no use
// for: they were meant for something.
func (p *planner) warnOfUnused(row *Part) {
	for _, f := range row.figures() {
		if Known(f.value) && !slices.Contains(usedColumns[row.Role], f.column) {
			p.warn(row, f.column, "is not used for the role %s: leave it blank, or check the role", row.Role)
		}
	}
}

// items plans every part of a product, in the order of its list. A part with
// problems is left out.
func (p *planner) items(parts []*Part) []*item {
	var items []*item
	var layers []*layer
	hasCord := slices.ContainsFunc(parts, func(row *Part) bool { return row.Role == Core || row.Role == Plait })
	add := func(it *item) {
		if it != nil {
			it.settle()
			items = append(items, it)
		}
	}
	for len(parts) > 0 {
		row, n := parts[0], 1
		switch row.Role {
		case Plait:
			for n < len(parts) && parts[n].Role == Plait && parts[n].Name == row.Name {
				n++
			}
			if l := p.layer(parts[:n]); l != nil {
				layers = append(layers, l)
				add(p.plait(l))
			}
		case Core:
			add(p.core(row))
		case Rod:
			add(p.rod(row))
		case Finish:
			add(p.finish(row, hasCord))
		default:
			add(p.stated(row))
		}
		for _, row := range parts[:n] {
			p.warnOfUnused(row)
		}
		parts = parts[n:]
	}
	p.checkNesting(layers)
	p.spreadFinish(items)
	return items
}

// need returns a figure that a part cannot do without, NaN where it is blank
// or not above 0.
func (p *planner) need(row *Part, column string) float64 {
	if x := p.needOrZero(row, column); x != 0 {
		return x
	}
	p.fail(row, column, "is not above 0")
	return Unknown
}

// needOrZero returns a figure that a part cannot do without, NaN where it is
// blank or below 0.
func (p *planner) needOrZero(row *Part, column string) float64 {
	x := row.figure(column).value
	switch {
	case !Known(x):
		p.fail(row, column, "is blank: a %s needs it", row.wordForRole())
		return Unknown
	case x < 0:
		p.fail(row, column, "is below 0")
		return Unknown
	}
	return x
}

// start is where a part begins, mm from the butt: there, where its row does
// not say.
func (p *planner) start(row *Part) float64 {
	if !Known(row.StartMM) {
		return 0
	}
	return p.needOrZero(row, "start")
}

// wordForRole is a role as it stands in a sentence.
func (p *Part) wordForRole() string {
	if p.Role == Core && isLoaded(p) {
		return "loaded core"
	}
	return string(p.Role)
}

// massPerLength is a part's own mass per length, else that of the kind of cord
// its material names, g/m.
func (p *planner) massPerLength(row *Part) float64 {
	if Known(row.MassPerLengthGM) {
		return p.need(row, "mass_per_length")
	}
	if row.Material == "" {
		p.fail(row, "mass_per_length", "is blank: weigh a metre of the cord, or name its kind in material, such as type III")
		return Unknown
	}
	perM, ok := p.materials.CordGM[foldName(row.Material)]
	if !ok {
		p.fail(row, "material", "is not a kind of cord whose mass is known: give mass_per_length, or one of %s", strings.Join(slices.Sorted(maps.Keys(p.materials.CordGM)), "; "))
		return Unknown
	}
	p.warn(row, "material", "is taken at %s g/m, the published figure: cord as bought is often lighter; weigh some and give mass_per_length", show(perM))
	return perM
}

// fail notes a problem that leaves the product without a design.
func (p *planner) fail(row *Part, column, format string, args ...any) {
	p.problems = append(p.problems, newProblem(row, column, fmt.Errorf(format, args...)))
}

// warn notes what is odd with a cell.
func (p *planner) warn(row *Part, column, format string, args ...any) {
	problem := newProblem(row, column, fmt.Errorf(format, args...))
	p.warnings = append(p.warnings, problem)
	note := problem.Cell()
	if errors.Is(problem, ErrDropped) { // nothing is wrong with the cell
		note = column + " " + problem.Err.Error()
	}
	p.notes[row] = append(p.notes[row], note)
}

func newProblem(row *Part, column string, err error) *PartProblem {
	return &PartProblem{Origin: row.Origin, Part: row.Name, Column: column, Text: row.text(column), Err: err}
}
