package calibrate

import (
	"slices"

	"trueplait/model"
)

// numbers stand for a row and its labels: rows are scanned again and again, and
// names looked up each time would cost more than the scan.
type numbers struct {
	row   int32
	level levelNumbers
}

// levelNumbers are those of the labels of model.Effects, in that order; 0 is
// blank.
type levelNumbers [effectCount]int32

const effectCount = 5 // of model.Effects

// register numbers rows and labels as they come up.
type register struct {
	row   map[model.RowKey]int32
	level [effectCount]map[string]int32
}

func newRegister() *register {
	r := &register{row: map[model.RowKey]int32{}}
	for k := range r.level {
		r.level[k] = map[string]int32{"": 0}
	}
	return r
}

// add numbers a row and its labels.
func (r *register) add(o *model.Observation) numbers {
	n := numbers{row: numberOf(r.row, o.Key)}
	for k, e := range model.Effects {
		n.level[k] = numberOf(r.level[k], o.Labels.Get(e))
	}
	return n
}

// numberOf is the number of a name, the next one if it is new.
func numberOf[K comparable](of map[K]int32, name K) int32 {
	n, ok := of[name]
	if !ok {
		n = int32(len(of))
		of[name] = n
	}
	return n
}

// marked tells by number which rows are among keys.
func (r *register) marked(keys []model.RowKey) []bool {
	out := make([]bool, len(r.row))
	for _, k := range keys {
		if n, ok := r.row[k]; ok {
			out[n] = true
		}
	}
	return out
}

// values are those of fitted levels, by effect and number; nil for effects
// that are not in the fit.
func (r *register) values(f model.Fitted) [effectCount][]float64 {
	var out [effectCount][]float64
	for k, e := range model.Effects {
		if _, ok := f.Theta2[e]; ok {
			out[k] = make([]float64, len(r.level[k]))
		}
	}
	for _, l := range f.Levels {
		k := place(l.Effect)
		if n, ok := r.level[k][l.Level]; ok && out[k] != nil {
			out[k][n] = l.Value
		}
	}
	return out
}

// places are where the effects of q come in model.Effects.
func places(q model.Quantity) []int {
	var out []int
	for _, e := range q.Effects() {
		out = append(out, place(e))
	}
	return out
}

func place(e model.Effect) int { return slices.Index(model.Effects, e) }
