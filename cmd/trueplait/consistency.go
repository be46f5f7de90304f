package main

import (
	"fmt"

	"trueplait/calibrate"
	"trueplait/data"
	"trueplait/model"
	"trueplait/report"
)

// consistencyCmd judges product lines.
type consistencyCmd struct {
	Product    string  `placeholder:"NAME" help:"Only this product (default: all)."`
	Coverage   float64 `default:"0.95" help:"Share of the whips that the tolerance interval is to hold."`
	Confidence float64 `default:"0.95" help:"Confidence in the tolerance interval, and of the limits of Pp and Ppk."`
	analysis
}

// Help is the worked example.
func (consistencyCmd) Help() string {
	return `Example: trueplait consistency --product "6 ft bull, 12 plait"

Charts the builds of each product in order, against the plan and as measured:
what usually comes out, which builds stand out and what changed there, whether
the scatter fits the limits of the products file, and between which figures a
given share of such whips lies. Unit slips are listed and left out.`
}

// Run judges and shows.
func (c *consistencyCmd) Run(p *program) (err error) {
	for _, o := range []struct {
		name  string
		value float64
	}{{"coverage", c.Coverage}, {"confidence", c.Confidence}} {
		if !(o.value > 0 && o.value < 1) {
			return usagef("--%s %v: must be above 0 and below 1, such as 0.95", o.name, o.value)
		}
	}
	w, err := c.open(p, data.ReadOnly)
	if err != nil {
		return err
	}
	defer w.Close(&err)
	if err := w.Known(p.ctx, model.Labels{Product: c.Product}); err != nil {
		return err
	}
	products, err := w.Products(p.ctx)
	if err != nil {
		return err
	}
	lines, err := calibrate.Consistency(p.ctx, w.Src, products,
		calibrate.ConsistencyOptions{Product: c.Product, Coverage: c.Coverage, Confidence: c.Confidence})
	if err != nil {
		return fmt.Errorf("consistency: %w", err)
	}
	if c.JSON {
		return report.ConsistencyJSON(p.stdout, lines)
	}
	return report.ConsistencyTable(p.stdout, lines, p.style(c.Units))
}
