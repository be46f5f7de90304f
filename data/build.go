package data

import (
	_ "embed"

	"trueplait/model"
)

//go:embed query/build_stage.sql
var buildStage string

//go:embed query/build_append.sql
var buildAppend string

//go:embed query/build_computed.sql
var buildComputed string

//go:embed query/build_recognise.sql
var buildRecognise string

//go:embed query/build_repeated.sql
var buildRepeated string

//go:embed query/build_verdict.sql
var buildVerdict string

//go:embed query/build_conflicts.sql
var buildConflicts string

//go:embed query/build_carry.sql
var buildCarry string

//go:embed query/build_keep.sql
var buildKeep string

//go:embed query/build_remove.sql
var buildRemove string

//go:embed query/build_hold.sql
var buildHold string

//go:embed query/build_insert.sql
var buildInsert string

//go:embed query/build_unstage.sql
var buildUnstage string

//go:embed query/build_rows.sql
var buildRows string

//go:embed query/build_stated.sql
var buildStated string

//go:embed query/build_search.sql
var buildSearch string

//go:embed query/build_replaced.sql
var buildReplaced string

//go:embed query/build_shadow.sql
var buildShadow string

//go:embed query/build_export.sql
var buildExport string

//go:embed query/build_versions.sql
var buildVersions string

//go:embed query/build_as_of.sql
var buildAsOf string

// buildTable is how builds are kept.
func buildTable() table {
	return table{
		kind: model.Builds,
		name: "build",
		record: func() *record {
			return newRecord(
				func(r *model.Build) *model.Origin { return &r.Origin },
				func(r *model.Build) []field {
					return []field{
						{"id", &r.ID},
						{"date", &r.Date},
						{"maker", &r.Maker},
						{"product", &r.Product},
						{"core_batch", &r.CoreBatch},
						{"strand_batch", &r.StrandBatch},
						{"shot_batch", &r.ShotBatch},
						{"predicted_weight_g", &r.PredictedWeightG},
						{"predicted_length_mm", &r.PredictedLengthMM},
						{"predicted_shot_g", &r.PredictedShotG},
						{"predicted_strand_mm", &r.PredictedStrandMM},
						{"calibration", &r.Calibration},
						{"shot_factor", &r.ShotFactor},
						{"body_factor", &r.BodyFactor},
						{"length_factor", &r.LengthFactor},
						{"weight_g", &r.WeightG},
						{"length_mm", &r.LengthMM},
						{"shot_used_g", &r.ShotUsedG},
						{"strand_cut_mm", &r.StrandCutMM},
						{"strand_left_mm", &r.StrandLeftMM},
						{"load_length_mm", &r.LoadLengthMM},
						{"started", &r.Started},
						{"humidity_percent", &r.Humidity},
						{"set_aside", &r.SetAside},
						{"note", &r.Note},
					}
				},
			)
		},
		stage:     buildStage,
		append:    buildAppend,
		computed:  buildComputed,
		recognise: buildRecognise,
		repeated:  buildRepeated,
		verdict:   buildVerdict,
		conflicts: buildConflicts,
		carry:     buildCarry,
		keep:      buildKeep,
		remove:    buildRemove,
		hold:      buildHold,
		insert:    buildInsert,
		unstage:   buildUnstage,
		rows:      buildRows,
		stated:    buildStated,
		search:    buildSearch,
		replaced:  buildReplaced,
		shadow:    buildShadow,
		export:    buildExport,
		versions:  buildVersions,
		asOf:      buildAsOf,
	}
}
