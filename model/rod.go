package model

import "math"

// rodMass returns the mass, in g, of a cylinder of a diameter and length in
// mm and a density ρ in g/cm³: ρ π d²/4 · length.
func rodMass(density, diameter, length float64) float64 {
	return density / mm3PerCM3 * math.Pi / 4 * diameter * diameter * length
}

const mm3PerCM3 = 1000

// rod plans a rod: uniform, of its own density or its material's.
func (p *planner) rod(row *Part) *item {
	diameter, length := p.need(row, "diameter"), p.need(row, "length")
	density := p.density(row)
	if !Known(diameter * length * density) {
		return nil
	}
	it := p.newItem(row)
	it.EndMM = it.StartMM + length
	it.Outline = cylinder(it.StartMM, it.EndMM, diameter)
	it.body = uniform(rodMass(density, diameter, length), it.StartMM, it.EndMM)
	return it
}

// density is a part's own density, else its material's, g/cm³.
func (p *planner) density(row *Part) float64 {
	if Known(row.DensityGCM3) {
		return p.need(row, "density")
	}
	if row.Material == "" {
		p.fail(row, "density", "is blank: give it, or a material whose density is known, such as steel")
		return Unknown
	}
	density, ok := p.materials.DensityGCM3[foldName(row.Material)]
	if !ok {
		p.fail(row, "material", "has no density in the tables: give density, or use a material they have, such as steel")
		return Unknown
	}
	return density
}
