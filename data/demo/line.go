package demo

import (
	"fmt"

	"trueplait/data/reference"
	"trueplait/model"
)

// line is a product with its parts list.
type line struct {
	name, description string
	share             float64 // of the shop's builds
	parts             []*model.Part
	plan              *model.Design // what the planner makes of the list
}

// custom is the product of the one whip that was made to a customer's size.
const custom = "custom 12 ft bull, 20 plait"

// lines lists the range, and the custom whip last with no share. Shares add up
// to 1.
//
// A layer starts at what the one below measures outside, its core and four
// thicknesses of cord, and then thins a little faster, as a maker pulls tighter
// over the thong. Where shot lies, nothing is thinner than the loaded core,
// 6.3 mm.
func lines() []line {
	lines := []line{
		{name: "4 ft snake, 8 plait", description: "pocket length", share: 0.14, parts: list(
			core(0, 950, 32),
			plait("belly", 8, piece{820, 6.3, 6.3}, piece{130, 6.3, 4.4}),
			plait("overlay", 8, piece{820, 11.1, 10.6}, piece{430, 10.6, 4.4}),
			weighed("heel knot", model.Knot, 0, 25, 11),
			pair(weighed("ring knot", model.Knot, 205, 12, 3)),
			fall(1250, 350, 5),
			wax(),
		)},
		{name: "5 ft signal, 12 plait", share: 0.13, parts: list(
			rod(quarterRodMM, 152),
			core(152, 800, 25),
			weighed("joint wrap", model.Wrap, 110, 85, 2),
			plait("inner belly", 8, piece{152, 6.4, 6.3}, piece{110, 6.3, 6.3}),
			plait("outer belly", 12, piece{152, 11.2, 11.1}, piece{780, 11.1, 5.4}),
			plait("overlay", 12, piece{152, 16, 15.9}, piece{1378, 15.9, 4.4}),
			weighed("heel knot", model.Knot, 0, 25, 10),
			weighed("transition knot", model.Knot, 140, 25, 4),
			weighed("cracker", model.Cracker, 1530, 200, 2), // plaited in, without a fall
			wax(),
		)},
		{name: "6 ft bull, 12 plait", description: "the everyday one", share: 0.20, parts: list(
			rod(quarterRodMM, 254),
			core(254, 900, 28),
			weighed("joint wrap", model.Wrap, 210, 90, 2),
			plait("inner belly", 8, piece{254, 6.4, 6.3}, piece{130, 6.3, 6.3}),
			plait("outer belly", 12, piece{254, 11.2, 11.1}, piece{950, 11.1, 4.8}),
			plait("overlay", 12, piece{254, 16, 15.9}, piece{1611, 15.9, 4}),
			weighed("heel knot", model.Knot, 0, 28, 12),
			weighed("transition knot", model.Knot, 240, 28, 5),
			fall(1865, 600, 8),
			wax(),
		)},
		{name: "6 ft bull, 16 plait", share: 0.12, parts: list(
			rod(quarterRodMM, 279),
			core(279, 950, 30),
			weighed("joint wrap", model.Wrap, 235, 90, 2),
			plait("inner belly", 8, piece{279, 6.4, 6.3}, piece{140, 6.3, 6.3}),
			plait("outer belly", 12, piece{279, 11.2, 11.1}, piece{900, 11.1, 5.5}),
			plait("overlay", 16, piece{279, 16, 15.9}, piece{1596, 15.9, 4.4}),
			weighed("heel knot", model.Knot, 0, 28, 14),
			weighed("transition knot", model.Knot, 265, 28, 6),
			fall(1875, 600, 8),
			wax(),
		)},
		{name: "7 ft stock, 12 plait", description: "wooden handle, weighed without it", share: 0.10, parts: list(
			core(60, 750, 17.5),
			plait("inner belly", 8, piece{60, 5.5, 6.3}, piece{150, 6.3, 6.3}),
			plait("outer belly", 10, piece{60, 10.3, 11.1}, piece{1100, 11.1, 4.2}),
			plait("overlay", 12, piece{60, 15.1, 15.9}, piece{2080, 15.9, 4}),
			weighed("keeper", model.Other, 0, 80, 9),
			pair(weighed("ring knot", model.Knot, 60, 15, 3)),
			fall(2140, 650, 9),
			wax(),
		)},
		{name: "8 ft bull, 12 plait", share: 0.14, parts: list(
			rod(quarterRodMM, 305),
			core(305, 1150, 36),
			weighed("joint wrap", model.Wrap, 260, 90, 2.5),
			plait("inner belly", 8, piece{305, 6.4, 6.3}, piece{175, 6.3, 6.3}),
			plait("outer belly", 12, piece{305, 11.2, 11.1}, piece{1330, 11.1, 4.2}),
			plait("overlay", 12, piece{305, 16, 15.9}, piece{2175, 15.9, 4}),
			weighed("heel knot", model.Knot, 0, 28, 13),
			weighed("transition knot", model.Knot, 290, 28, 6),
			fall(2480, 700, 10),
			wax(),
		)},
		{name: "8 ft bull, 16 plait", description: "heavy", share: 0.10, parts: list(
			rod(thickRodMM, 305),
			core(305, 1250, 40),
			weighed("joint wrap", model.Wrap, 260, 110, 3.5),
			plait("inner belly", 10, piece{305, 8, 7.9}, piece{350, 7.9, 6.3}),
			plait("outer belly", 12, piece{305, 12.8, 12.7}, piece{1450, 12.7, 4.2}),
			plait("overlay", 16, piece{305, 17.6, 17.5}, piece{2190, 17.5, 4}),
			weighed("heel knot", model.Knot, 0, 30, 16),
			weighed("transition knot", model.Knot, 290, 30, 7),
			fall(2495, 700, 10),
			wax(),
		)},
		{name: "10 ft bull, 16 plait", share: 0.07, parts: list(
			rod(thickRodMM, 305),
			core(305, 1500, 48),
			weighed("joint wrap", model.Wrap, 260, 110, 3.5),
			plait("inner belly", 10, piece{305, 8, 7.9}, piece{420, 7.9, 6.3}),
			plait("outer belly", 12, piece{305, 12.8, 12.7}, piece{1800, 12.7, 4.2}),
			plait("overlay", 16, piece{305, 17.6, 17.5}, piece{2775, 17.5, 4}),
			weighed("heel knot", model.Knot, 0, 30, 16),
			weighed("transition knot", model.Knot, 290, 30, 7),
			fall(3080, 750, 11),
			wax(),
		)},
		{name: custom, parts: list(
			rod(thickRodMM, 330),
			core(330, 1700, 54),
			weighed("joint wrap", model.Wrap, 285, 110, 4),
			plait("inner belly", 10, piece{330, 8, 7.9}, piece{500, 7.9, 6.3}),
			plait("outer belly", 14, piece{330, 12.8, 12.7}, piece{2100, 12.7, 4.2}),
			plait("overlay", 20, piece{330, 17.6, 17.5}, piece{3360, 17.5, 4}),
			weighed("heel knot", model.Knot, 0, 30, 18),
			weighed("transition knot", model.Knot, 315, 30, 8),
			fall(3690, 800, 12),
			wax(),
		)},
	}
	for i := range lines {
		l := &lines[i]
		for _, p := range l.parts {
			p.Product = l.name
		}
		l.plan = design(l.parts)
	}
	return lines
}

// design is what the planner makes of one of the shop's lists. A list that the
// planner refuses is a mistake in this package, so it panics.
func design(parts []*model.Part) *model.Design {
	d, problems := model.NewDesign(parts, reference.Materials())
	if problems != nil {
		panic(fmt.Sprintf("demo: %s: %v", parts[0].Product, problems[0]))
	}
	return d
}

// loaded is the core of the plan.
func loaded(d *model.Design) model.DesignPart {
	for _, p := range d.Parts {
		if p.Role == model.Core {
			return p
		}
	}
	panic("demo: " + d.Product + " has no core")
}
