package report

import (
	"fmt"
	"math"

	"trueplait/calibrate"
	"trueplait/model"
)

// poolJSON is what a calibration borrowed, as much as it takes to borrow the
// same again: natural log units, figures of the workshops that lent.
func poolJSON(pool *model.Pool) object {
	quantities := []object{}
	for _, q := range model.Quantities {
		borrowed := []object{}
		for _, p := range pool.Parameters {
			if p.Quantity == q {
				borrowed = append(borrowed, object{{"parameter", p.Parameter}, {"workshops", p.Workshops},
					{"mean", number(p.Mean)}, {"variance", number(p.Variance)}, {"squared_se", number(p.SquaredSE)}})
			}
		}
		if len(borrowed) > 0 {
			quantities = append(quantities, object{{"quantity", q}, {"borrowed", borrowed}})
		}
	}
	return object{{"workshops", pool.Workshops}, {"quantities", quantities}}
}

// poolWords says on whose experience a calibration leans.
func poolWords(pool *model.Pool) string {
	if len(pool.Parameters) == 0 {
		return fmt.Sprintf("Nothing was borrowed from the %d other workshops of this log: too few of them have rows of what is measured here.", pool.Workshops)
	}
	return fmt.Sprintf("Borrowed from %d other workshops of this log, of whose builds nothing was seen: where they come out on the whole, "+
		"and how far their whips, makers and batches are apart. Your own rows count for more, the more of them there are.", pool.Workshops)
}

// borrowedWords says what the fit of one quantity borrowed, "" for nothing:
// "borrowed from 7 workshops: their whips take 5.1 % less shot than planned, give
// or take 4.0 % from shop to shop; …".
func borrowedWords(pool *model.Pool, q *calibrate.QuantityFit) string {
	most := 0
	var apart []string
	note := func(whose string, of model.Parameter) {
		if p, ok := pool.Get(q.Quantity, of); ok {
			most = max(most, p.Workshops)
			apart = append(apart, fmt.Sprintf("%s about %s %% apart", whose, off(math.Exp(math.Exp(p.Mean)), 1)))
		}
	}
	note("whips of the same hands and batches are", model.ScatterParameter)
	for _, e := range q.Effects {
		note(several(e), model.SpreadParameter(e))
	}
	var out []string
	if p, ok := pool.Get(q.Quantity, model.MeanParameter); ok {
		most = max(most, p.Workshops)
		s := spoken[q.Quantity]
		way := s.more
		if p.Mean < 0 {
			way = s.less
		}
		out = append(out, fmt.Sprintf("their whips %s %s %% %s %s, give or take %s %% from shop to shop", s.verb, off(math.Exp(p.Mean), 1), way,
			thePlan.than, off(math.Exp(math.Sqrt(p.Variance)), 1)))
	}
	if apart != nil {
		out = append(out, series(apart))
	}
	if out == nil {
		return ""
	}
	words := fmt.Sprintf("borrowed from %d workshops: %s", most, out[0])
	for _, more := range out[1:] {
		words += "; " + more
	}
	return words
}

// several is the plural of an effect: "core batches".
func several(e model.Effect) string {
	switch e {
	case model.Maker, model.Product:
		return e.Word() + "s"
	}
	return e.Word() + "es"
}
