package model_test

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"trueplait/data/reference"
	"trueplait/model"
)

// TestWholeWhip weighs and balances a whip by adding up thin slices, with N,
// θ and the masses of each slice worked out there and then from their
// definitions.
func TestWholeWhip(t *testing.T) {
	d := plan(t, whip)
	const slices = 400_000
	const end = 2600.0
	step := end / slices

	overlayCore := func(x float64) float64 {
		if x < 250 {
			return 15 + (12.6-15)*x/250
		}
		return 12.6 + (6.2-12.6)*(x-250)/1600
	}
	bellyCore := func(x float64) float64 { return 9 - 4*x/1500 }
	λ := 11.10e-3 * model.SolidFraction(4.6/2.032) * math.Pi / 4 * 4.6 * 4.6
	opened := math.Cos(32*math.Pi/180) / math.Cos(math.Asin(math.Sin(32*math.Pi/180)*5.3/4.1))

	var shot, body, shotMoment, bodyMoment, strand float64
	belly, overlay := 12, 16
	for i := range slices {
		x := (float64(i) + 0.5) * step
		within := func(from, length float64) bool { return x > from && x < from+length }
		var cord, other float64
		plait := func(n *int, core float64) (secant float64) {
			effective := core + 2*0.9
			for float64(*n)*3.4 > 2*math.Pi*effective*math.Cos(math.Pi/6) {
				*n -= 2
			}
			secant = 1 / math.Cos(math.Acos(float64(*n)*3.4/(2*math.Pi*effective)))
			cord += float64(*n) * secant * 3.6e-3
			return secant
		}
		if within(0, 200) {
			other += 7.85e-3 * math.Pi / 4 * 7.9 * 7.9
		}
		if within(150, 700) {
			shot += λ * step
			shotMoment += λ * x * step
			cord += 5.9e-3 * opened
		}
		if within(850, 800) {
			cord += 5.9e-3
		}
		if within(0, 1500) {
			plait(&belly, bellyCore(x))
		}
		if within(0, 1850) {
			strand += plait(&overlay, overlayCore(x)) * step
		}
		if within(20, 230) {
			other += 2 * 2.2e-3
		}
		if within(1850, 600) {
			other += 9.0 / 600
		}
		if within(2450, 150) {
			other += 1.5 / 150
		}
		body += (1.04*cord + other) * step
		bodyMoment += (1.04*cord + other) * x * step
	}
	body += 31 + 3 // pommel and tag
	bodyMoment += 3 * 240

	near(t, "shot", d.ShotG, shot, 1e-5)
	near(t, "body", d.BodyG, body, 1e-5)
	near(t, "weight", d.WeightG, shot+body, 1e-5)
	near(t, "balance", d.BalanceMM, (shotMoment+bodyMoment)/(shot+body), 1e-5)
	near(t, "shot balance", d.ShotBalanceMM, shotMoment/shot, 1e-5)
	near(t, "body balance", d.BodyBalanceMM, bodyMoment/body, 1e-5)
	near(t, "strand", d.StrandMM, strand, 1e-5)
	near(t, "length", d.LengthMM, 1850, 1e-12)
}

// TestDesignSums adds the parts up.
func TestDesignSums(t *testing.T) {
	d := plan(t, whip)
	var mass, shot, moment float64
	for _, part := range d.Parts {
		mass, shot, moment = mass+part.MassG, shot+part.ShotG, moment+part.MassG*part.BalanceMM
		if part.BalanceMM < part.StartMM || part.BalanceMM > part.EndMM {
			t.Errorf("%s balances at %g, outside %g to %g", part.Name, part.BalanceMM, part.StartMM, part.EndMM)
		}
	}
	near(t, "parts", mass, d.WeightG, 1e-12)
	near(t, "shot", shot, d.ShotG, 1e-12)
	near(t, "body", d.BodyG, mass-shot, 1e-12)
	near(t, "balance", moment/mass, d.BalanceMM, 1e-12)
	if len(d.Parts) != 10 || d.Product != "bull" {
		t.Errorf("%d parts of %q, want 10 of bull", len(d.Parts), d.Product)
	}
}

// TestScale makes every length s times as long: what fills a volume weighs s³
// times as much, cord s times, angles stay, and so do drops.
func TestScale(t *testing.T) {
	base := plan(t, whip)
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.Float64Range(0.2, 5).Draw(t, "s")
		d := planParts(t, scaled(t, s))
		near(t, "shot", d.ShotG, s*s*s*base.ShotG, 1e-9)
		near(t, "length", d.LengthMM, s*base.LengthMM, 1e-9)
		near(t, "strand", d.StrandMM, s*base.StrandMM, 1e-9)
		near(t, "uncertainty", d.ShotUncertainty, base.ShotUncertainty, 1e-9)
		for i, part := range d.Parts {
			b := base.Parts[i]
			near(t, part.Name+": shot", part.ShotG, s*s*s*b.ShotG, 1e-9)
			near(t, part.Name+": end", part.EndMM, s*b.EndMM, 1e-9)
			switch part.Role {
			case model.Rod:
				near(t, part.Name, part.MassG, s*s*s*b.MassG, 1e-9)
			case model.Core, model.Plait, model.Finish, model.Wrap:
				near(t, part.Name+": cord", part.MassG-part.ShotG, s*(b.MassG-b.ShotG), 1e-9)
			default: // a stated mass stays
				near(t, part.Name, part.MassG, b.MassG, 1e-12)
			}
			for j, g := range part.Strands {
				near(t, part.Name+": drop", g.ToMM, s*b.Strands[j].ToMM, 1e-9)
				near(t, part.Name+": cut", g.CutMM, s*b.Strands[j].CutMM, 1e-9)
			}
		}
	})
}

// scaled is the whip with every length s times as long.
func scaled(t reporter, s float64) []*model.Part {
	parts := list(t, whip)
	for _, p := range parts {
		numbers := numbersOf(p)
		for _, column := range []string{"diameter", "tip_diameter", "length", "start", "load_length", "bore", "strand_width", "strand_thickness",
			"tail", "unloaded_diameter", "sheath_thickness"} {
			*numbers[column] *= s
		}
		if p.Shot != "" {
			p.ShotDiameterMM = s * reference.Materials().ShotDiameterMM["9"]
		}
	}
	return parts
}

// TestOutline draws the outside of parts.
func TestOutline(t *testing.T) {
	const load = "core core mass_per_length=6 length=1000 start=100 load_length=400 bore=5 shot=9_lead "
	for _, c := range []struct {
		text string
		want []model.OutlinePoint
	}{
		{"spike rod material=steel diameter=8 length=200 start=10", []model.OutlinePoint{{10, 8}, {210, 8}}},
		{load, []model.OutlinePoint{{100, 5}, {500, 5}, {500, 5}, {1100, 5}}},
		{load + "sheath_thickness=0.5", []model.OutlinePoint{{100, 6}, {500, 6}, {500, 6}, {1100, 6}}},
		{load + "sheath_thickness=0.5 unloaded_diameter=4", []model.OutlinePoint{{100, 6}, {500, 6}, {500, 5}, {1100, 5}}},
		{load + "sheath_thickness=0.5 unloaded_diameter=4 diameter=7", []model.OutlinePoint{{100, 7}, {500, 7}, {500, 5}, {1100, 5}}},
		{"core core mass_per_length=6 length=1000 load_length=1000 bore=5 shot=9_lead", []model.OutlinePoint{{0, 5}, {1000, 5}}},
		{"core core mass_per_length=6 length=1000", nil},
		{"core core mass_per_length=6 length=1000 diameter=5", []model.OutlinePoint{{0, 5}, {1000, 5}}},
		{"a plait strands=8 strand_width=3 strand_thickness=1 diameter=8 length=200 mass_per_length=4\na plait tip_diameter=6 length=300",
			[]model.OutlinePoint{{0, 12}, {200, 12}, {200, 12}, {500, 10}}},
		{"fall fall mass=9 start=100 length=600 diameter=5 tip_diameter=3", []model.OutlinePoint{{100, 5}, {700, 3}}},
		{"fall fall mass=9 start=100 length=600 diameter=5", []model.OutlinePoint{{100, 5}, {700, 5}}},
		{"knot knot mass=9 diameter=5", nil},
	} {
		if got := plan(t, c.text).Parts[0].Outline; !slices.Equal(got, c.want) {
			t.Errorf("%s\noutline %v, want %v", c.text, got, c.want)
		}
	}
}
