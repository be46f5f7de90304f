package demo

import (
	"math"
	"strings"
	"testing"

	"trueplait/data/reference"
	"trueplait/model"
)

// TestListsAreWhips holds the plans against what such whips are like: common
// practice, no source. The only warnings are those about strands that are
// dropped toward the point.
func TestListsAreWhips(t *testing.T) {
	shop := Generate(Seed)
	plans := designs(t, shop)
	if len(plans) != len(shop.Products)+1 {
		t.Errorf("%d parts lists, want one for each of %d products and one for %s", len(plans), len(shop.Products), custom)
	}
	for product, d := range plans {
		if d.WeightG < 250 || d.WeightG > 900 {
			t.Errorf("%s: %g g, want 250 to 900", product, d.WeightG)
		}
		if load := loaded(d).ShotGMM * model.MMPerInch; math.Abs(load-2.2) > 0.05 {
			t.Errorf("%s: %g g of shot per inch, want 2.2", product, load)
		}
		plaits := 0
		for _, p := range d.Parts {
			if p.Role != model.Plait {
				continue
			}
			plaits++
			if ratio := (p.CutMM - p.TailMM) / (p.EndMM - p.StartMM); ratio < 1.2 || ratio > 2.2 {
				t.Errorf("%s: strands of %s are %g of its length, want 1.2 to 2.2", product, p.Name, ratio)
			}
			if p.Overlay != (p.Name == "overlay") {
				t.Errorf("%s: %s is the outermost plait: %v", product, p.Name, p.Overlay)
			}
		}
		if plaits < 2 || plaits > 3 {
			t.Errorf("%s: %d plaits, want one or two under the overlay", product, plaits)
		}
		for _, w := range d.Warnings {
			if !strings.Contains(w.Error(), "drop") {
				t.Errorf("%s: %v", product, w)
			}
		}
	}
}

// TestResized: a whip a tenth longer is longer by a tenth, strands and loaded
// core too, and the product's own list stays what it was.
func TestResized(t *testing.T) {
	for _, l := range lines() {
		loadIn := loaded(l.plan).LoadLengthMM / model.MMPerInch
		long := design(resized(l.parts, 1.1, 1.1*loadIn))
		for _, tt := range []struct {
			what      string
			got, want float64
		}{
			{"length", long.LengthMM, 1.1 * l.plan.LengthMM},
			{"strand", long.StrandMM, 1.1 * l.plan.StrandMM},
			{"shot", long.ShotG, 1.1 * l.plan.ShotG},
			{"balance of the shot", long.ShotBalanceMM, 1.1 * l.plan.ShotBalanceMM},
		} {
			if math.Abs(tt.got-tt.want) > 1e-9*tt.want {
				t.Errorf("%s: %s %g, want %g", l.name, tt.what, tt.got, tt.want)
			}
		}
		if long.BodyG <= l.plan.BodyG || long.BodyG >= 1.1*l.plan.BodyG { // knots stay
			t.Errorf("%s: body %g g a tenth longer, %g g as listed", l.name, long.BodyG, l.plan.BodyG)
		}
		if again, _ := model.NewDesign(l.parts, reference.Materials()); again.WeightG != l.plan.WeightG {
			t.Errorf("%s: the list weighs %g g after it was resized, %g g before", l.name, again.WeightG, l.plan.WeightG)
		}
	}
}
