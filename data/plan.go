package data

import (
	"context"
	_ "embed"
	"fmt"

	"trueplait/model"
)

//go:embed query/part_lists.sql
var partLists string

//go:embed query/part_unplanned.sql
var partUnplanned string

//go:embed query/build_compute.sql
var buildCompute string

// PartsList is the parts list of a product as it is now.
type PartsList struct {
	Product string
	Version int // counts the lists the product has had
	Parts   []*model.Part
}

// Base is what a parts list predicts, without any factor; NaN: nothing.
type Base struct {
	WeightG, LengthMM, ShotG, StrandMM float64
}

// Lists lists the parts lists of all products as they are now, by product.
func (im *Import) Lists(ctx context.Context) ([]PartsList, error) {
	return im.lists(ctx, partLists)
}

// Unplanned lists the parts lists of the products of which the import has
// builds with a prediction that is neither stated nor carried over, by product.
func (im *Import) Unplanned(ctx context.Context) ([]PartsList, error) {
	return im.lists(ctx, partUnplanned, im.first)
}

// lists runs a query of parts with their list's version, in order of product
// and place.
func (im *Import) lists(ctx context.Context, query string, args ...any) ([]PartsList, error) {
	r := partTable().record()
	var version int
	var out []PartsList
	err := im.each(ctx, "parts lists", query, r.scanners(&r.origin.File, &r.origin.Line, &version), func() {
		p := r.row().(*model.Part)
		if len(out) == 0 || out[len(out)-1].Product != p.Product {
			out = append(out, PartsList{Product: p.Product, Version: version})
		}
		last := &out[len(out)-1]
		last.Parts = append(last.Parts, p)
	}, args...)
	return out, err
}

// Plan fills in the blank predictions of the import's builds of one product
// with what its parts list predicts, marked with the list's version. Figures
// that an amendment carried over stay as they are, and a build that has some
// from another version gets no more: its figures come from one list. It returns
// how many builds were filled in.
func (im *Import) Plan(ctx context.Context, list PartsList, base Base) (int, error) {
	args := []any{im.first, list.Product, list.Version}
	for _, x := range []*float64{&base.WeightG, &base.LengthMM, &base.ShotG, &base.StrandMM} {
		f := field{"base of " + list.Product, x}
		v, err := f.value()
		if err != nil {
			return 0, im.fail(fmt.Sprintf("parts list of %q", list.Product), err)
		}
		args = append(args, v)
	}
	return im.exec(ctx, fmt.Sprintf("parts list of %q", list.Product), buildCompute, args...)
}
