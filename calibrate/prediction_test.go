package calibrate

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"trueplait/model"
)

// Without effects and with enough rows for the priors to weigh little, limits
// are the classical prediction limits of a normal sample; for all of m builds
// they lie between those of one and Bonferroni's, which are a little too wide.
// testdata/prediction/normal_factors/SOURCE.md.
func TestPrediction_NormalFactors(t *testing.T) {
	f := table(t, "prediction", "normal_factors", "factors.csv")
	compared := 0
	single := map[string]float64{}
	for i := range f["n"] {
		n, m, level := number(t, f["n"][i]), number(t, f["m"][i]), number(t, f["level"][i])
		if m == 1 {
			single[f["n"][i]+f["level"][i]] = number(t, f["r_mean_of_m_future"][i])
		}
		if n < 30 || level == 0.99 { // priors have their say in small samples and far tails
			continue
		}
		compared++
		t.Run(fmt.Sprintf("n=%g/m=%g/level=%g", n, m, level), func(t *testing.T) {
			const s = 0.03
			var sum float64
			z := make([]float64, int(n)) // normal scores, scaled to sd s
			for j := range z {
				z[j] = distuv.UnitNormal.Quantile((float64(j) + 0.5) / n)
				sum += z[j] * z[j]
			}
			var cells []model.Cell
			for _, x := range z {
				cells = append(cells, model.Cell{Kind: model.Builds, N: 1, Mean: x * s / math.Sqrt(sum/(n-1))})
			}
			post := newPosterior(newSystem(model.Length.Effects(), cells, nil), fineGrid, nil)
			low, high := limits(scaled{1, newOutlook(model.Length, post, model.Labels{}).after(0, 0)}, level, int(m))
			got := math.Log(high/low) / 2 / s
			bonferroni, one := number(t, f["r_all_m_future_bonferroni"][i]), single[f["n"][i]+f["level"][i]]
			if m == 1 {
				checkNear(t, "factor", got, one, 0.02*one)
				return
			}
			if !(got > one && got < 1.02*bonferroni && got > 0.95*bonferroni) {
				t.Errorf("factor %.4f for all %g, want between %.4f and %.4f, and near the latter", got, m, one, bonferroni)
			}
		})
	}
	if compared < 6 {
		t.Errorf("%d factors compared", compared)
	}
}

// The next observation of a new batch of the dyestuff data beside the
// classical interval on Satterthwaite's degrees of freedom. Ours has priors and
// integrates over the spreads, so it is a comparison: wider, by an eighth at most.
// testdata/prediction/dyestuff/SOURCE.md.
func TestPrediction_Dyestuff(t *testing.T) {
	want := map[string]float64{}
	c := table(t, "prediction", "dyestuff", "expected.csv")
	for i, name := range c["quantity"] {
		want[name] = number(t, c["value"][i])
	}
	data := table(t, "reml", "dyestuff", "data.csv")
	var cells []model.Cell
	for i, y := range data["Yield"] { // relative to the mean, the scale that the priors are made for
		cells = append(cells, model.Cell{Kind: model.Builds, N: 1, Mean: number(t, y)/want["grand_mean"] - 1, Labels: model.Labels{CoreBatch: data["Batch"][i]}})
	}
	post := newPosterior(newSystem(model.Shot.Effects(), cells, nil), fineGrid, nil)
	m := newOutlook(model.Shot, post, model.Labels{CoreBatch: model.NewLevel}).after(0, 0)
	half := (m.Quantile(0.975) - m.Quantile(0.025)) / 2 * want["grand_mean"]
	classical := (want["new_group_single_obs_pi95_hi"] - want["new_group_single_obs_pi95_lo"]) / 2
	t.Logf("half width %.1f, classical %.1f", half, classical)
	if !(half > classical && half < 1.125*classical) {
		t.Errorf("half width %g, classical %g: want a little more", half, classical)
	}
	checkNear(t, "middle", (1+m.Quantile(0.5))*want["grand_mean"], want["grand_mean"], 0.1)
}

// Six lots with one to three fills: what is expected of each lies near the
// shrunken effects of DerSimonian-Laird and Paule-Mandel, and between the lot's
// own mean and the mean of all. testdata/meta/small_lots/SOURCE.md.
func TestPrediction_SmallLots(t *testing.T) {
	const fillSD = 0.03
	data := table(t, "meta", "small_lots", "data.csv")
	var cells []model.Cell
	for i, name := range data["study"] {
		n := math.Round(fillSD * fillSD / number(t, data["vi"][i]))
		cells = append(cells, model.Cell{Kind: model.Fills, Labels: model.Labels{CoreBatch: name}, N: int(n), Mean: number(t, data["yi"][i]), SS: (n - 1) * fillSD * fillSD})
	}
	post := newPosterior(newSystem(model.Shot.Effects(), cells, nil), fineGrid, nil)
	pooled := map[string]float64{}
	c := table(t, "meta", "small_lots", "expected.csv")
	for i, name := range c["quantity"] {
		pooled[name] = number(t, c["value"][i])
	}
	for _, method := range []string{"DL", "PM"} {
		shrunk := table(t, "meta", "small_lots", "shrinkage_"+method+".csv")
		for i, name := range shrunk["study"] {
			o := newOutlook(model.Shot, post, model.Labels{CoreBatch: name})
			got, yi, blup := o.median(), number(t, shrunk["yi"][i]), number(t, shrunk["blup"][i])
			checkNear(t, method+": lot "+name, got, blup, 0.3*number(t, shrunk["blup_se"][i]))
			if toMean := pooled["mu_"+method] - yi; !((got-yi)*toMean > 0 && math.Abs(got-yi) < math.Abs(toMean)) {
				t.Errorf("lot %s: %g is not between its own mean %g and that of all", name, got, yi)
			}
		}
	}
}
