package report

import (
	"slices"
	"strings"
	"testing"

	"trueplait/calibrate"
	"trueplait/model"
)

func TestScatterSection(t *testing.T) {
	promise := func(product string, median float64, sources ...calibrate.VarianceSource) *calibrate.Promise {
		p := &calibrate.Promise{Labels: model.Labels{Product: product}, Sources: sources}
		p.Weight.Median = median
		return p
	}
	s := scatterSection(Page{Promises: []*calibrate.Promise{
		promise("small", 300, calibrate.VarianceSource{Effect: model.Maker, Share: 0.9, SDG: 6}, calibrate.VarianceSource{Share: 0.1, SDG: 2}),
		promise("large", 800, calibrate.VarianceSource{Effect: model.StrandBatch, Share: 0.75, SDG: 17.3}, calibrate.VarianceSource{Share: 0.25, SDG: 10}),
		promise("unknown", 900),
	}})
	want := [][]string{
		{"small", "± 6.0 g", dash, dash, dash, dash, "± 2.0 g"},
		{"large", dash, dash, "± 17.3 g", dash, dash, "± 10.0 g"},
	}
	if !slices.EqualFunc(s.Table.Rows, want, slices.Equal) {
		t.Errorf("rows %q, want %q", s.Table.Rows, want)
	}
	if !strings.Contains(s.Intro, "For large the largest part is strand batch with 75 % of the variance") {
		t.Errorf("intro %q", s.Intro)
	}
	if s := scatterSection(Page{}); s.Title != "" {
		t.Errorf("section of nothing: %+v", s)
	}
}
