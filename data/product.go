package data

import (
	_ "embed"

	"trueplait/model"
)

//go:embed query/product_stage.sql
var productStage string

//go:embed query/product_append.sql
var productAppend string

//go:embed query/product_repeated.sql
var productRepeated string

//go:embed query/product_verdict.sql
var productVerdict string

//go:embed query/product_conflicts.sql
var productConflicts string

//go:embed query/product_keep.sql
var productKeep string

//go:embed query/product_remove.sql
var productRemove string

//go:embed query/product_insert.sql
var productInsert string

//go:embed query/product_unstage.sql
var productUnstage string

//go:embed query/product_rows.sql
var productRows string

//go:embed query/product_replaced.sql
var productReplaced string

//go:embed query/product_shadow.sql
var productShadow string

//go:embed query/product_export.sql
var productExport string

//go:embed query/product_versions.sql
var productVersions string

//go:embed query/product_as_of.sql
var productAsOf string

// productTable is how products are kept.
func productTable() table {
	return table{
		kind: model.Products,
		name: "product",
		record: func() *record {
			return newRecord(
				func(r *model.ProductLine) *model.Origin { return &r.Origin },
				func(r *model.ProductLine) []field {
					return []field{
						{"product", &r.Product},
						{"description", &r.Description},
						{"weight_low_g", &r.WeightLowG},
						{"weight_high_g", &r.WeightHighG},
						{"length_low_mm", &r.LengthLowMM},
						{"length_high_mm", &r.LengthHighMM},
					}
				},
			)
		},
		stage:     productStage,
		append:    productAppend,
		repeated:  productRepeated,
		verdict:   productVerdict,
		conflicts: productConflicts,
		keep:      productKeep,
		remove:    productRemove,
		insert:    productInsert,
		unstage:   productUnstage,
		rows:      productRows,
		stated:    productRows, // nothing is worked out
		replaced:  productReplaced,
		shadow:    productShadow,
		export:    productExport,
		versions:  productVersions,
		asOf:      productAsOf,
	}
}
