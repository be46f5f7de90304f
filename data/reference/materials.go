package reference

import (
	"strings"

	"trueplait/model"
)

// shortNames are the words makers use for rows of densities.csv.
var shortNames = map[string]string{
	"lead":      "lead, pure",
	"steel":     "steel, plain carbon", // rods and spikes; most stainless is 2 % denser
	"brass":     "brass C36000",
	"nylon":     "nylon 6/6", // what cord to MIL-C-5040H is made of
	"polyester": "polyester (PET)",
	"leather":   "leather, vegetable tanned",
	"epoxy":     "epoxy, cured",
	"rubber":    "natural rubber",
	"wax":       "paraffin wax",
	"cotton":    "cotton fibre",
}

// Materials gathers what a parts list may leave to the tables: diameters of
// shot by size, densities by material and metal of shot, and mass per length
// by kind of cord. Names of materials, metals and cords are in lower case.
//
// Materials have the density of densities.csv, under the name they have there
// and, for the common ones, under the word makers use. Cords have the mass of
// cord.csv: the most that MIL-C-5040H allows, or what is listed for sale.
//
// Shot has densities of its own. Lead shot is 11.10 g/cm³ (about 3 % antimony)
// and steel shot 7.86: with these the sphere gives the published pellets per
// ounce within 3.2 %. Other metals are the rows "METAL shot" of densities.csv,
// as shot of bismuth and tungsten is alloyed.
func Materials() model.Materials {
	m := model.Materials{
		ShotDiameterMM: map[string]float64{},
		ShotDensity:    map[string]float64{},
		DensityGCM3:    map[string]float64{},
		CordGM:         map[string]float64{},
	}
	for _, s := range ShotSizes() {
		m.ShotDiameterMM[s.Name] = s.DiameterMM
	}
	for _, d := range Densities() {
		name := strings.ToLower(d.Material)
		m.DensityGCM3[name] = d.DensityGCM3
		if metal, ok := strings.CutSuffix(name, " shot"); ok {
			m.ShotDensity[metal] = d.DensityGCM3
		}
	}
	m.ShotDensity["lead"], m.ShotDensity["steel"] = 11.10, 7.86
	for short, name := range shortNames {
		m.DensityGCM3[short] = m.DensityGCM3[strings.ToLower(name)]
	}
	for _, c := range Cords() {
		m.CordGM[strings.ToLower(c.Name)] = c.GramsPerM
	}
	return m
}
