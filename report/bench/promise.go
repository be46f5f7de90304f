package bench

import (
	"errors"
	"fmt"
	"net/http"
	"slices"

	"trueplait/model"
	"trueplait/report"
)

// promisePage is what the page of a promise shows.
type promisePage struct {
	Form   *form
	Result *sections // nil: nothing asked yet, or not as it was asked
}

// promise answers what weight and length can be promised. The question is in
// the address, so that it can be bookmarked.
func (v *visit) promise() error {
	page := promisePage{Form: v.promiseForm()}
	f := page.Form
	if v.value("product") == "" {
		return v.showCharts(http.StatusOK, "promise", "Promise", page)
	}
	f.read(v.r)
	sureAsUsual(f)
	status := http.StatusOK
	if f.Wrong() == 0 {
		result, err := v.promised(f.text())
		var refused *model.Refused
		switch {
		case errors.As(err, &refused):
			f.refuse(refused.Problems)
		case err != nil:
			return err
		default:
			page.Result = &result
		}
	}
	if f.Wrong() > 0 {
		status = http.StatusUnprocessableEntity
	}
	v.echoes(f)
	return v.showCharts(status, "promise", "Promise", page)
}

// sureAsUsual keeps the usual coverage where the address names none, and offers
// the one that it names.
func sureAsUsual(f *form) {
	for _, field := range f.fields() {
		if field.Name != "coverage" {
			continue
		}
		if field.Value == "" {
			field.Value = field.Usual
		}
		if !slices.ContainsFunc(field.Choices, func(c choice) bool { return c.Value == field.Value }) {
			field.Choices = append(field.Choices, choice{field.Value, field.Value})
		}
	}
}

// promised works out a promise, once for each question and version of the log.
func (v *visit) promised(text map[string]string) (sections, error) {
	return cached(&v.promises, v.now.Version, fmt.Sprint(v.units, text), func() (sections, error) {
		p, err := v.shop.Promise(v.r.Context(), text)
		if err != nil {
			return sections{}, err
		}
		return v.set(report.PromiseSections(p, v.units))
	})
}

// promiseForm asks whose promise it is, and behind a fold how sure it must be.
func (v *visit) promiseForm() *form {
	whose := v.ask("product", "maker", "core_batch", "strand_batch", "shot_batch")
	for i := range whose {
		f := &whose[i]
		if f.Name == string(model.Product) {
			f.Known = nil
			for _, p := range v.now.Products {
				f.Known = append(f.Known, p.Name)
			}
			continue
		}
		f.Hint = "Blank: as in the latest build of the product. Write new for one that has no row yet."
		f.Known = append([]string{model.NewLevel}, f.Known...)
	}
	f := &form{Action: "/promise", Method: "get", Submit: "What can I promise?", Groups: []group{
		{Fields: whose},
		{Name: "How sure, how many, how close", Fields: []field{
			{Name: "coverage", Label: "How many such whips must be inside", Type: choiceField, Choices: []choice{
				{"0.8", "4 of 5"}, {"0.9", "9 of 10"}, {"0.95", "19 of 20"}, {"0.99", "99 of 100"}}},
			{Name: "of", Label: "Whips of one batch that must all be inside", Hint: "A whole number; 1 for the next whip alone.", Type: textField},
			{Name: "within", Label: "How close is close enough", Hint: "Such as 10 g: how often the next whip comes that close, and what would help.", Type: amountField},
			{Name: "around", Label: "Close to which weight", Hint: "Blank: to the planned one.", Type: amountField},
		}},
	}}
	f.offer(map[string]string{"product": v.now.Latest.Product, "maker": v.maker, "coverage": "0.95", "of": "1"})
	return f
}
