package demo

import (
	"slices"

	"trueplait/model"
)

// The shop buys one hollow cord for every core and one flat cord for every
// strand. Figures of the kind that whips are made with: common practice, no
// source.
const (
	boreMM      = 4.5 // inside of the core, loaded
	unloadedMM  = 3.6 // inside, as bought
	sheathMM    = 0.9
	sheathDeg   = 30 // as bought
	coreGM      = 9.5
	widthMM     = 4.6
	thicknessMM = 1.2
	strandGM    = 4.8
	tailMM      = 250 // to hold on to

	quarterRodMM = 6.35 // 1/4 in
	thickRodMM   = 7.94 // 5/16 in
)

// piece is a stretch of a plait and the diameters it lies on, at its start and
// at its end.
type piece struct {
	lengthMM, fromMM, toMM float64
}

// list numbers the parts of a whip, from the inside out.
func list(parts ...[]*model.Part) []*model.Part {
	all := slices.Concat(parts...)
	for i, p := range all {
		p.Position = i + 1
	}
	return all
}

// part states its name and role only.
func part(name string, role model.Role) *model.Part {
	none := model.Unknown
	return &model.Part{Name: name, Role: role,
		DiameterMM: none, TipDiameterMM: none, LengthMM: none, StartMM: none, LoadLengthMM: none,
		BoreMM: none, ShotDiameterMM: none, DensityGCM3: none,
		StrandWidthMM: none, StrandThicknessMM: none, DropAngleDeg: none, TailMM: none,
		UnloadedDiameterMM: none, SheathAngleDeg: none, SheathThicknessMM: none,
		MassPerLengthGM: none, MassG: none, Fraction: none}
}

// rod is the steel in a handle; its density is left to the table.
func rod(diameterMM, lengthMM float64) []*model.Part {
	p := part("handle rod", model.Rod)
	p.Material, p.DiameterMM, p.LengthMM = "steel, plain carbon", diameterMM, lengthMM
	return []*model.Part{p}
}

// core is hollow cord with shot in its first loadIn inches.
func core(startMM, lengthMM, loadIn float64) []*model.Part {
	p := part("core", model.Core)
	p.Material, p.MassPerLengthGM, p.Shot = "nylon cord, hollow", coreGM, "9 lead"
	p.StartMM, p.LengthMM, p.LoadLengthMM = startMM, lengthMM, loadIn*model.MMPerInch
	p.BoreMM, p.UnloadedDiameterMM, p.SheathAngleDeg, p.SheathThicknessMM = boreMM, unloadedMM, sheathDeg, sheathMM
	return []*model.Part{p}
}

// plait is a layer from the butt on. Its first row states the cord; the others
// go on where the one before ends.
func plait(name string, strands int, pieces ...piece) []*model.Part {
	var layer []*model.Part
	for i, piece := range pieces {
		p := part(name, model.Plait)
		p.LengthMM, p.DiameterMM, p.TipDiameterMM = piece.lengthMM, piece.fromMM, piece.toMM
		if i == 0 {
			p.Material, p.MassPerLengthGM, p.Strands = "nylon cord, flat", strandGM, strands
			p.StrandWidthMM, p.StrandThicknessMM, p.TailMM = widthMM, thicknessMM, tailMM
		}
		layer = append(layer, p)
	}
	return layer
}

// weighed is a part that was put on the scale.
func weighed(name string, role model.Role, startMM, lengthMM, massG float64) []*model.Part {
	p := part(name, role)
	p.StartMM, p.LengthMM, p.MassG = startMM, lengthMM, massG
	return []*model.Part{p}
}

// pair is two of a part, each of its mass.
func pair(parts []*model.Part) []*model.Part {
	for _, p := range parts {
		p.Count = 2
	}
	return parts
}

// fall is a leather fall from the fall hitch on, with its cracker.
func fall(startMM, lengthMM, massG float64) []*model.Part {
	lace := weighed("fall", model.Fall, startMM, lengthMM, massG)
	lace[0].Material = "leather lace"
	return append(lace, weighed("cracker", model.Cracker, startMM+lengthMM, 150, 1.5)...)
}

// wax is what the cord takes up.
func wax() []*model.Part {
	p := part("wax", model.Finish)
	p.Fraction = 0.02
	return []*model.Part{p}
}

// resized is the list of a whip of another size: all places and lengths in
// proportion, and loadIn inches of core loaded. Diameters, strands and what was
// weighed stay.
func resized(parts []*model.Part, size, loadIn float64) []*model.Part {
	var out []*model.Part
	for _, p := range parts {
		q := *p
		q.StartMM *= size
		q.LengthMM *= size
		if q.Role == model.Core {
			q.LoadLengthMM = loadIn * model.MMPerInch
		}
		out = append(out, &q)
	}
	return out
}
