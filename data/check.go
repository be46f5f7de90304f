package data

import (
	_ "embed"

	"trueplait/model"
)

//go:embed query/cord_check_stage.sql
var checkStage string

//go:embed query/cord_check_append.sql
var checkAppend string

//go:embed query/cord_check_recognise.sql
var checkRecognise string

//go:embed query/cord_check_repeated.sql
var checkRepeated string

//go:embed query/cord_check_verdict.sql
var checkVerdict string

//go:embed query/cord_check_conflicts.sql
var checkConflicts string

//go:embed query/cord_check_carry.sql
var checkCarry string

//go:embed query/cord_check_keep.sql
var checkKeep string

//go:embed query/cord_check_remove.sql
var checkRemove string

//go:embed query/cord_check_insert.sql
var checkInsert string

//go:embed query/cord_check_unstage.sql
var checkUnstage string

//go:embed query/cord_check_rows.sql
var checkRows string

//go:embed query/cord_check_stated.sql
var checkStated string

//go:embed query/cord_check_search.sql
var checkSearch string

//go:embed query/cord_check_replaced.sql
var checkReplaced string

//go:embed query/cord_check_shadow.sql
var checkShadow string

//go:embed query/cord_check_export.sql
var checkExport string

//go:embed query/cord_check_versions.sql
var checkVersions string

//go:embed query/cord_check_as_of.sql
var checkAsOf string

// checkTable is how cord checks are kept.
func checkTable() table {
	return table{
		kind: model.Checks,
		name: "cord_check",
		record: func() *record {
			return newRecord(
				func(r *model.Check) *model.Origin { return &r.Origin },
				func(r *model.Check) []field {
					return []field{
						{"id", &r.ID},
						{"date", &r.Date},
						{"strand_batch", &r.StrandBatch},
						{"checked_length_mm", &r.CheckedLengthMM},
						{"checked_mass_g", &r.CheckedMassG},
						{"predicted_mass_g", &r.PredictedMassG},
						{"note", &r.Note},
					}
				},
			)
		},
		stage:     checkStage,
		append:    checkAppend,
		recognise: checkRecognise,
		repeated:  checkRepeated,
		verdict:   checkVerdict,
		conflicts: checkConflicts,
		carry:     checkCarry,
		keep:      checkKeep,
		remove:    checkRemove,
		insert:    checkInsert,
		unstage:   checkUnstage,
		rows:      checkRows,
		stated:    checkStated,
		search:    checkSearch,
		replaced:  checkReplaced,
		shadow:    checkShadow,
		export:    checkExport,
		versions:  checkVersions,
		asOf:      checkAsOf,
	}
}
