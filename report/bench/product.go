package bench

import "trueplait/model"

// product asks for a product that the range does not have yet.
func (v *visit) product() error { return v.begin(v.productForm()) }

// productEntry goes on with a product that was sent.
func (v *visit) productEntry() error { return v.take(v.productForm()) }

func (v *visit) productForm() *entry {
	e := &entry{Kind: model.Products, Title: "New product",
		Intro: []string{"A name is enough to write builds down. To be planned here it also needs a parts list: bring one on the page Files."}}
	e.form = form{
		Action: "/product", Submit: "Check it", Keep: "product",
		Groups: []group{
			{Fields: v.ask("product", "description")},
			{Name: "What is promised of it today", Fields: v.ask("weight_low", "weight_high", "length_low", "length_high")},
		},
	}
	// the name is new: known ones are no help
	name := e.fields()[0]
	name.Type, name.Known = textField, nil
	return e
}
