package bench

import (
	"cmp"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"trueplait/calibrate"
	"trueplait/model"
	"trueplait/report"
)

// lineRow is one product in the list of product lines.
type lineRow struct {
	Product
	Promised string // today's limits; "": none
	Sentence string // how alike its builds are; "": no builds
}

// linesPage is the list of product lines.
type linesPage struct {
	Search string
	Rows   []lineRow
	Pager  pager
}

// lines lists the products, each with a sentence.
func (v *visit) lines() error {
	sentences, err := cached(&v.worked, v.now.Version, "lines "+string(v.units), func() (map[string]string, error) {
		lines, err := v.shop.Lines(v.r.Context(), "")
		return lineSentences(lines, v.units), err
	})
	if err != nil {
		return err
	}
	page := linesPage{Search: v.value("q")}
	words := strings.Fields(strings.ToLower(page.Search))
	var found []Product
	for _, p := range v.now.Products {
		text := strings.ToLower(p.Name + "\n" + p.Description)
		if !slices.ContainsFunc(words, func(w string) bool { return !strings.Contains(text, w) }) {
			found = append(found, p)
		}
	}
	page.Pager = v.pages(len(found), "products", "")
	from := min(page.Pager.Offset, len(found))
	for _, p := range found[from : from+page.Pager.Shown] {
		page.Rows = append(page.Rows, lineRow{p, promisedToday(p.Line, v.units), sentences[p.Name]})
	}
	return v.show(http.StatusOK, "lines", "Product lines", page)
}

// lineSentences says of each product how its builds compare with the plan, in
// the first quantity there is.
func lineSentences(lines []calibrate.Line, u report.Units) map[string]string {
	out := map[string]string{}
	for i := range lines {
		l := &lines[i]
		if l.Scale == calibrate.RatioScale && out[l.Product] == "" {
			out[l.Product] = capital(report.LineSentence(l, u))
		}
	}
	return out
}

// promisedToday says what a products file promises: "weight 390 g (13 3/4 oz) to
// 430 g (15 1/8 oz)". It is "" where nothing is.
func promisedToday(p *model.ProductLine, u report.Units) string {
	if p == nil {
		return ""
	}
	var out []string
	for _, f := range []struct {
		name      string
		low, high float64
		show      func(float64, report.Units) string
	}{{"weight", p.WeightLowG, p.WeightHighG, report.Mass}, {"length", p.LengthLowMM, p.LengthHighMM, report.Length}} {
		switch low, high := model.Known(f.low), model.Known(f.high); {
		case low && high:
			out = append(out, fmt.Sprintf("%s %s to %s", f.name, f.show(f.low, u), f.show(f.high, u)))
		case low:
			out = append(out, fmt.Sprintf("%s at least %s", f.name, f.show(f.low, u)))
		case high:
			out = append(out, fmt.Sprintf("%s at most %s", f.name, f.show(f.high, u)))
		}
	}
	return strings.Join(out, "; ")
}

// linePage is one product's page.
type linePage struct {
	Product
	Promised string
	Judged   sections // empty: no builds
}

// productLine shows how alike the builds of one product are.
func (v *visit) productLine() error {
	name := v.value("product")
	i := slices.IndexFunc(v.now.Products, func(p Product) bool { return p.Name == name })
	if i < 0 {
		return notFound("There is no product " + cmp.Or(report.Label(name), "without a name") + ".")
	}
	page := linePage{Product: v.now.Products[i], Promised: promisedToday(v.now.Products[i].Line, v.units)}
	var err error
	page.Judged, err = cached(&v.worked, v.now.Version, "line "+string(v.units)+" "+name, func() (sections, error) {
		lines, err := v.shop.Lines(v.r.Context(), name)
		if err != nil {
			return sections{}, err
		}
		return v.set(report.LineSections(lines, v.units))
	})
	if err != nil {
		return err
	}
	return v.showCharts(http.StatusOK, "line", report.Label(name), page)
}
