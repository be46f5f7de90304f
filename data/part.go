package data

import (
	_ "embed"

	"trueplait/model"
)

//go:embed query/part_stage.sql
var partStage string

//go:embed query/part_append.sql
var partAppend string

//go:embed query/part_repeated.sql
var partRepeated string

//go:embed query/part_verdict.sql
var partVerdict string

//go:embed query/part_conflicts.sql
var partConflicts string

//go:embed query/part_keep.sql
var partKeep string

//go:embed query/part_remove.sql
var partRemove string

//go:embed query/part_insert.sql
var partInsert string

//go:embed query/part_unstage.sql
var partUnstage string

//go:embed query/part_rows.sql
var partRows string

//go:embed query/part_replaced.sql
var partReplaced string

//go:embed query/part_shadow.sql
var partShadow string

//go:embed query/part_export.sql
var partExport string

//go:embed query/part_versions.sql
var partVersions string

//go:embed query/part_as_of.sql
var partAsOf string

// partTable is how parts lists are kept.
func partTable() table {
	return table{
		kind: model.Parts,
		name: "part",
		record: func() *record {
			return newRecord(
				func(r *model.Part) *model.Origin { return &r.Origin },
				func(r *model.Part) []field {
					return []field{
						{"product", &r.Product},
						{"position", &r.Position},
						{"part", &r.Name},
						{"role", (*string)(&r.Role)},
						{"material", &r.Material},
						{"count", &r.Count},
						{"diameter_mm", &r.DiameterMM},
						{"tip_diameter_mm", &r.TipDiameterMM},
						{"length_mm", &r.LengthMM},
						{"start_mm", &r.StartMM},
						{"load_length_mm", &r.LoadLengthMM},
						{"bore_mm", &r.BoreMM},
						{"shot", &r.Shot},
						{"shot_diameter_mm", &r.ShotDiameterMM},
						{"density_g_cm3", &r.DensityGCM3},
						{"strands", &r.Strands},
						{"strand_width_mm", &r.StrandWidthMM},
						{"strand_thickness_mm", &r.StrandThicknessMM},
						{"drop_angle_deg", &r.DropAngleDeg},
						{"tail_mm", &r.TailMM},
						{"unloaded_diameter_mm", &r.UnloadedDiameterMM},
						{"sheath_angle_deg", &r.SheathAngleDeg},
						{"sheath_thickness_mm", &r.SheathThicknessMM},
						{"mass_per_length_g_m", &r.MassPerLengthGM},
						{"mass_g", &r.MassG},
						{"fraction", &r.Fraction},
					}
				},
			)
		},
		stage:     partStage,
		append:    partAppend,
		verdict:   partVerdict,
		conflicts: partConflicts,
		keep:      partKeep,
		remove:    partRemove,
		insert:    partInsert,
		unstage:   partUnstage,
		rows:      partRows,
		replaced:  partReplaced,
		shadow:    partShadow,
		export:    partExport,
		versions:  partVersions,
		asOf:      partAsOf,
		repeated:  partRepeated,
	}
}
