package model

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
)

// shotLoad returns the mass of shot per length of tube, g/mm:
//
//	λ = ρ φ π D²/4
//
// with the density ρ of the shot in g/cm³, the solid fraction φ and the inside
// diameter D in mm.
func shotLoad(density, fraction, bore float64) float64 {
	return density / mm3PerCM3 * fraction * math.Pi / 4 * bore * bore
}

// shotDiameter is a core's own diameter of shot, else that of its size, mm.
func (p *planner) shotDiameter(row *Part) float64 {
	if Known(row.ShotDiameterMM) {
		return p.need(row, "shot_diameter")
	}
	size, _ := p.materials.splitShot(row.Shot)
	if size == "" {
		p.fail(row, "shot_diameter", `is blank: give it, or the size in shot, such as "9 lead"`)
		return Unknown
	}
	diameter, ok := p.materials.ShotDiameterMM[strings.ToUpper(size)]
	if !ok {
		p.fail(row, "shot", "has no size that the tables know: give shot_diameter, or one of %s", strings.Join(p.materials.sizes(), ", "))
		return Unknown
	}
	return diameter
}

// shotDensity is a core's own density of shot, else that of its metal, g/cm³.
func (p *planner) shotDensity(row *Part) float64 {
	if Known(row.DensityGCM3) {
		return p.need(row, "density")
	}
	_, metal := p.materials.splitShot(row.Shot)
	if metal == "" {
		p.fail(row, "density", `is blank: give that of the shot, or its metal in shot, such as "9 lead"`)
		return Unknown
	}
	density, ok := p.materials.metal(metal)
	if !ok {
		p.fail(row, "shot", "has no metal that the tables know: give density, or one of %s", strings.Join(slices.Sorted(maps.Keys(p.materials.ShotDensity)), ", "))
		return Unknown
	}
	return density
}

// splitShot takes "9 lead" apart. Either may be missing: "lead" has no size,
// "9" no metal.
func (m Materials) splitShot(text string) (size, metal string) {
	text = strings.TrimSpace(text)
	if _, ok := m.metal(text); ok {
		return "", text
	}
	size, metal, _ = strings.Cut(text, " ")
	return size, strings.TrimSpace(metal)
}

// metal is the density of a metal of shot; of the metal itself where shot of
// it is not in the tables.
func (m Materials) metal(name string) (density float64, ok bool) {
	if density, ok = m.ShotDensity[foldName(name)]; !ok {
		density, ok = m.DensityGCM3[foldName(name)]
	}
	return density, ok
}

// sizes lists the sizes of shot, smallest first.
func (m Materials) sizes() []string {
	return slices.SortedFunc(maps.Keys(m.ShotDiameterMM), func(a, b string) int {
		return cmp.Or(cmp.Compare(m.ShotDiameterMM[a], m.ShotDiameterMM[b]), cmp.Compare(a, b))
	})
}

// fitting says what shot a bore takes: "No. 9 or smaller", "BB or smaller".
func (m Materials) fitting(bore float64) string {
	for _, size := range slices.Backward(m.sizes()) {
		if m.ShotDiameterMM[size] > bore {
			continue
		}
		if size[0] >= '0' && size[0] <= '9' {
			size = "No. " + size
		}
		return size + " or smaller"
	}
	return fmt.Sprintf("shot of at most %s", showMM(bore))
}
