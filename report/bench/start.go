package bench

import (
	"net/http"

	"trueplait/model"
	"trueplait/report"
)

// mostAdvice is how many things to do now stand on the first page.
const mostAdvice = 4

// startPage is what to do now, and what is going on.
type startPage struct {
	Tasks  []task
	More   int // how much more advice there is
	Open   []openPlan
	Newest []newest
}

// newest is a build that came in lately, measured beside planned.
type newest struct {
	ID, Date, Product, Maker string
	Figures                  []compared
}

// compared is a measured figure beside the planned one.
type compared struct{ Name, Measured, Planned string }

// start shows what to do now.
func (v *visit) start() error {
	learnt := v.now.Calibration != nil && !v.now.Calibration.Through.IsZero()
	all := tasks(v.now.Advice, learnt)
	page := startPage{Tasks: all[:min(len(all), mostAdvice)], Open: v.openPlans()}
	page.More = len(all) - len(page.Tasks)
	for _, b := range v.now.Newest {
		page.Newest = append(page.Newest, newestOf(b, v.units))
	}
	return v.show(http.StatusOK, "start", "At the bench", page)
}

func newestOf(b *model.Build, u report.Units) newest {
	n := newest{ID: b.ID, Date: b.Date.Format("2006-01-02"), Product: b.Product, Maker: b.Maker}
	add := func(name string, show func(float64, report.Units) string, measured, planned float64) {
		if !model.Known(measured) {
			return
		}
		c := compared{name, show(measured, u), ""}
		if model.Known(planned) {
			c.Planned = show(planned, u)
		}
		n.Figures = append(n.Figures, c)
	}
	add("weight", report.Mass, b.WeightG, b.PredictedWeightG)
	add("length", report.Length, b.LengthMM, b.PredictedLengthMM)
	return n
}
