package report

import (
	"fmt"
	"io"
	"iter"

	"trueplait/calibrate"
	"trueplait/model"
)

// CalibrationJSON writes a calibration for programs: natural log units in
// reml, plain ratios in overall, factors and set_aside, full precision. The
// calibration number is null when it was not saved. Shifts and unlinked makers
// have no key of their own: a fit's warnings tell of them. The key pool is there
// only where other workshops lent figures.
func CalibrationJSON(w io.Writer, c *calibrate.Calibration) error {
	return writeJSON(w, calibrationJSON(c))
}

// CalibrationLine is CalibrationJSON on one line, as logs keep it.
func CalibrationLine(w io.Writer, c *calibrate.Calibration) error {
	return encodeJSON(w, "", calibrationJSON(c))
}

func calibrationJSON(c *calibrate.Calibration) object {
	out := object{
		{"calibration", nil},
		{"through", day(c.Through)},
		{"builds", c.Builds},
		{"fills", c.Fills},
		{"checks", c.Checks},
	}
	if c.Number > 0 {
		out[0].value = c.Number
	}
	if c.Pool != nil {
		out = append(out, member{"pool", poolJSON(c.Pool)})
	}
	quantities := []object{}
	for i := range c.Quantities {
		quantities = append(quantities, quantityJSON(&c.Quantities[i]))
	}
	return append(out, member{"quantities", quantities})
}

func quantityJSON(q *calibrate.QuantityFit) object {
	aside := []object{}
	for _, a := range q.SetAside {
		aside = append(aside, object{{a.Key.Kind.IDColumn(), a.Key.ID}, {"ratio", number(a.Ratio)}, {"reason", reason(a)}})
	}
	drift := []object{}
	for _, d := range q.Drift {
		drift = append(drift, object{{"effect", d.Effect}, {"level", d.Level}, {"at_build", d.AtBuild},
			{"since_build", d.Since}, {"direction", d.Direction}, {"grade", d.Grade}})
	}
	return object{
		{"quantity", q.Quantity},
		{"rows", q.Rows},
		{"effects", listed(q.Effects)},
		{"method", q.Method},
		{"set_aside", aside},
		{"reml", remlJSON(q)},
		{"overall", limitsJSON(q.Overall)},
		{"factors", factorsJSON(q)},
		{"drift", drift},
		{"warnings", listed(q.Warnings)},
	}
}

// factorsJSON yields the factors, each in the same object.
func factorsJSON(q *calibrate.QuantityFit) iter.Seq[object] {
	return func(yield func(object) bool) {
		var row object
		for i := range q.Factors {
			f := &q.Factors[i]
			row = row[:0]
			for _, e := range q.Effects {
				row = append(row, member{string(e), f.Labels.Get(e)})
			}
			row = append(row, member{"rows", f.Rows})
			if !yield(append(row, limitsJSON(f.Interval)...)) {
				return
			}
		}
	}
}

// reason is why a row was set aside, in words.
func reason(a calibrate.SetAside) string {
	if a.Text != "" {
		return a.Text
	}
	return string(a.Reason)
}

// AsideWords says how far off a row is that was set aside, and why: "shot used
// 0.034 times the plan: looks like ounces entered as grams".
func AsideWords(q model.Quantity, a calibrate.SetAside) string {
	return fmt.Sprintf("%s %s times the plan: %s", spoken[q].measured, ratio(a.Ratio), label(reason(a)))
}

func limitsJSON(i calibrate.Interval) object {
	return object{{"factor", number(i.Median)}, {"low", number(i.Low)}, {"high", number(i.High)}}
}

func remlJSON(q *calibrate.QuantityFit) any {
	r := q.REML
	if r == nil {
		return nil
	}
	sd := object{}
	for _, e := range q.Effects {
		tau, ok := r.SD[e]
		if !ok {
			tau = model.Unknown
		}
		sd = append(sd, member{string(e), number(tau)})
	}
	blup := []object{}
	for _, b := range r.BLUP {
		blup = append(blup, object{{"effect", b.Effect}, {"level", b.Level}, {"rows", b.Rows},
			{"value", number(b.Value)}, {"se", number(b.SE)}})
	}
	return object{
		{"criterion", number(r.Criterion)},
		{"mean", number(r.Mean)},
		{"mean_se", number(r.MeanSE)},
		{"sd", append(sd, member{"residual", number(r.Residual)})},
		{"blup", blup},
	}
}
