// Package report shows results: as text tables for a terminal, as JSON for
// programs, and as self-contained HTML pages for the bench.
//
// Every form of one result is written from the same figures:
//
//	model.Imported        ImportTable       ImportJSON
//	calibrate.Calibration CalibrationTable  CalibrationJSON  FactorsTable
//	calibrate.Proof       ProofTable        ProofJSON
//	calibrate.Plan        PlanTable         PlanJSON         PlanSheet
//	all but plans         HTML
//
// Parts of the HTML page stand on pages of the bench as well: the functions
// that return a [Section], and [SectionsHTML].
//
// A figure that does not exist (NaN) is null in JSON and an en dash in a
// table. Labels come from the maker's own files: they are text in every form,
// never markup, script or terminal control.
package report
