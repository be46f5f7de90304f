package data

import (
	_ "embed"

	"trueplait/model"
)

//go:embed query/fill_stage.sql
var fillStage string

//go:embed query/fill_append.sql
var fillAppend string

//go:embed query/fill_recognise.sql
var fillRecognise string

//go:embed query/fill_repeated.sql
var fillRepeated string

//go:embed query/fill_verdict.sql
var fillVerdict string

//go:embed query/fill_conflicts.sql
var fillConflicts string

//go:embed query/fill_carry.sql
var fillCarry string

//go:embed query/fill_keep.sql
var fillKeep string

//go:embed query/fill_remove.sql
var fillRemove string

//go:embed query/fill_insert.sql
var fillInsert string

//go:embed query/fill_unstage.sql
var fillUnstage string

//go:embed query/fill_rows.sql
var fillRows string

//go:embed query/fill_stated.sql
var fillStated string

//go:embed query/fill_search.sql
var fillSearch string

//go:embed query/fill_replaced.sql
var fillReplaced string

//go:embed query/fill_shadow.sql
var fillShadow string

//go:embed query/fill_export.sql
var fillExport string

//go:embed query/fill_versions.sql
var fillVersions string

//go:embed query/fill_as_of.sql
var fillAsOf string

// fillTable is how test fills are kept.
func fillTable() table {
	return table{
		kind: model.Fills,
		name: "fill",
		record: func() *record {
			return newRecord(
				func(r *model.Fill) *model.Origin { return &r.Origin },
				func(r *model.Fill) []field {
					return []field{
						{"id", &r.ID},
						{"date", &r.Date},
						{"maker", &r.Maker},
						{"core_batch", &r.CoreBatch},
						{"shot_batch", &r.ShotBatch},
						{"filled_length_mm", &r.FilledLengthMM},
						{"shot_mass_g", &r.ShotMassG},
						{"predicted_shot_g", &r.PredictedShotG},
						{"note", &r.Note},
					}
				},
			)
		},
		stage:     fillStage,
		append:    fillAppend,
		recognise: fillRecognise,
		repeated:  fillRepeated,
		verdict:   fillVerdict,
		conflicts: fillConflicts,
		carry:     fillCarry,
		keep:      fillKeep,
		remove:    fillRemove,
		insert:    fillInsert,
		unstage:   fillUnstage,
		rows:      fillRows,
		stated:    fillStated,
		search:    fillSearch,
		replaced:  fillReplaced,
		shadow:    fillShadow,
		export:    fillExport,
		versions:  fillVersions,
		asOf:      fillAsOf,
	}
}
