package model

import "math"

// core plans a core: cord over its length, loaded with shot over the first
// load_length of it.
//
// The cord is cut longer than it lies, by what loading shortens it:
//
//	cut = load_length · cos θ₀/cos θ₁ + (length − load_length)
//
// (see [sheath.opened]; without sheath data, no shortening). Its mass is that
// of the cut length, spread as it lies.
func (p *planner) core(row *Part) *item {
	length, perM := p.need(row, "length"), p.massPerLength(row)
	l, asBought := load{}, 1.0
	if isLoaded(row) {
		l, asBought = p.load(row), p.asBought(row)
	}
	if !Known(length * perM * l.length * l.perMM * asBought) {
		return nil
	}
	if l.length > length {
		p.fail(row, "load_length", "is longer than the core, %s: shorten the load or lengthen the core", showMM(length))
		return nil
	}

	it := p.newCord(row, length)
	loadedTo, perMM := it.StartMM+l.length, perM/mmPerM
	it.shot = uniform(l.perMM*l.length, it.StartMM, loadedTo)
	it.body = uniform(perMM*asBought*l.length, it.StartMM, loadedTo).
		plus(uniform(perMM*(length-l.length), loadedTo, it.EndMM))
	it.shotPerLoad, it.cordPerLoad = l.perMM, perMM*(asBought-1)
	it.CutMM = l.length*asBought + (length - l.length)
	if isLoaded(row) {
		it.LoadLengthMM, it.ShotGMM, it.Packing = l.length, l.perMM, l.fraction
	}
	it.Outline = append(cylinder(it.StartMM, loadedTo, row.loadedDiameter()), cylinder(loadedTo, it.EndMM, row.restDiameter())...)
	return it
}

// isLoaded reports whether a core states anything about shot.
func isLoaded(row *Part) bool {
	return row.Shot != "" || Known(row.BoreMM) || Known(row.ShotDiameterMM) || Known(row.DensityGCM3) || Known(row.LoadLengthMM)
}

// load is the shot in a core.
type load struct {
	length   float64 // mm
	fraction float64 // solid, of the bore
	perMM    float64 // g/mm
}

// load works out the shot of a core; NaN where something is wrong.
func (p *planner) load(row *Part) load {
	bore, length := p.need(row, "bore"), p.needOrZero(row, "load_length")
	diameter, density := p.shotDiameter(row), p.shotDensity(row)
	if diameter > bore {
		p.fail(row, "bore", "does not let in shot of %s: use %s, or a wider cord", showMM(diameter), p.materials.fitting(bore))
		return load{perMM: Unknown}
	}
	fraction := SolidFraction(bore / diameter)
	return load{length, fraction, shotLoad(density, fraction, bore)}
}

// asBought returns how many mm of a core's cord as bought make one mm loaded:
// 1 without sheath data, NaN where something is wrong with them.
func (p *planner) asBought(row *Part) float64 {
	if !Known(row.SheathAngleDeg) {
		p.warn(row, "sheath_angle", "is blank: planned as if loading did not shorten the cord; give it with unloaded_diameter, or cut longer")
		return 1
	}
	if row.SheathAngleDeg >= 90 {
		p.fail(row, "sheath_angle", "is not below 90°: measure it from the axis of the cord")
		return Unknown
	}
	s := sheath{p.need(row, "unloaded_diameter"), row.wall(), p.need(row, "sheath_angle") * math.Pi / 180}
	asBought := s.opened(row.BoreMM)
	switch {
	case !Known(s.widest() * row.BoreMM): // said already
	case !Known(asBought):
		p.fail(row, "bore", "is wider than the cord opens, %s at the very most: check sheath_angle and unloaded_diameter, or use a wider cord", showMM(s.widest()))
	case !Known(row.SheathThicknessMM):
		p.warn(row, "sheath_thickness", "is blank: taken as 0; measure it, as how much loading shortens the cord hangs on it")
	}
	return asBought
}

// wall is how thick a core's sheath is, mm; 0 where its row does not say.
func (p *Part) wall() float64 {
	if !Known(p.SheathThicknessMM) {
		return 0
	}
	return p.SheathThicknessMM
}

// loadedDiameter is the outside diameter of a core where it is loaded, mm: as
// stated, else by its bore; NaN where neither says.
func (p *Part) loadedDiameter() float64 {
	if Known(p.DiameterMM) {
		return p.DiameterMM
	}
	return p.BoreMM + 2*p.wall()
}

// restDiameter is the outside diameter of a core where it is not loaded, mm;
// as where it is loaded where the row does not say.
func (p *Part) restDiameter() float64 {
	if Known(p.UnloadedDiameterMM) {
		return p.UnloadedDiameterMM + 2*p.wall()
	}
	return p.loadedDiameter()
}

// cylinder is the outline of a stretch of one diameter, nil where there is
// none.
func cylinder(from, to, diameter float64) []OutlinePoint {
	if !(to > from) || !Known(diameter) {
		return nil
	}
	return []OutlinePoint{{from, diameter}, {to, diameter}}
}
