package calibrate

import (
	"math"

	"trueplait/model"
)

// Share is what a calibration lets other workshops know: of every quantity with
// rows enough to tell an error from a spread, the mean, the scatter and the
// spreads of the effects of which the rows can tell it. A spread that nothing was
// learnt of is only the usual prior, and not news; a calibration that has
// borrowed shares nothing, or the same figures would come round again.
func (c *Calibration) Share() []model.Shared {
	if c.Pool != nil {
		return nil
	}
	var out []model.Shared
	for i := range c.Quantities {
		f := &c.Quantities[i]
		if f.Posterior == nil || f.REML == nil || f.Rows < asideMinRows {
			continue
		}
		add := func(of model.Parameter, value, se float64) {
			out = append(out, model.Shared{Quantity: f.Quantity, Parameter: of, Value: value, SE: se})
		}
		mean := f.Posterior.mixtures([]target{{contrast: contrast{fixed: 1}}})[0]
		add(model.MeanParameter, mean.mean, mean.sd)
		value, se := f.Posterior.logSD(-1)
		add(model.ScatterParameter, value, se)
		for k, e := range f.Effects {
			if sd := f.REML.SD[e]; !model.Known(sd) {
				continue
			}
			if value, se := f.Posterior.logSD(k); !math.IsInf(value, 0) {
				add(model.SpreadParameter(e), value, se)
			}
		}
	}
	return out
}

// logSD is the mean and standard deviation of ln τ of effect k, or of ln σ for
// −1; −∞ where the large method holds the spread at 0.
func (p *Posterior) logSD(k int) (mean, sd float64) {
	square, total := 0.0, 0.0
	for _, n := range p.nodes {
		log := 0.0
		if k >= 0 {
			log = math.Log(n.theta[k])
		}
		if math.IsInf(log, -1) {
			return log, math.NaN()
		}
		for _, s := range n.sigma {
			w := n.weight * s.weight
			total += w
			d := log + s.log - mean
			mean += d * w / total
			square += w * d * (log + s.log - mean)
		}
	}
	return mean, math.Sqrt(square / total)
}
