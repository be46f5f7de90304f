package model

// stated plans a part whose mass is stated, as such or per length: a wrap, a
// fall, a cracker, a knot and anything else. It is uniform over its length, or
// sits at its start where it has none.
func (p *planner) stated(row *Part) *item {
	it := p.newItem(row)
	if Known(row.LengthMM) {
		it.EndMM = it.StartMM + p.need(row, "length")
	}
	mass := row.MassG
	switch {
	case Known(mass):
		mass = p.need(row, "mass")
	case Known(row.MassPerLengthGM) || row.Material != "":
		mass = p.massPerLength(row) / mmPerM * p.need(row, "length")
	default:
		p.fail(row, "mass", "is blank: a %s needs it, or mass_per_length and length", row.Role)
		return nil
	}
	if !Known(mass * it.EndMM) {
		return nil
	}
	it.body = uniform(mass, it.StartMM, it.EndMM)
	if Known(row.LengthMM) && Known(row.DiameterMM) {
		tip := row.TipDiameterMM
		if !Known(tip) {
			tip = row.DiameterMM
		}
		it.Outline = []OutlinePoint{{it.StartMM, row.DiameterMM}, {it.EndMM, tip}}
	}
	return it
}
