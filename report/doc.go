// Package report shows results: as text tables for a terminal, as JSON for
// programs, and as one self-contained HTML page for the bench.
//
// Every form of one result is written from the same figures:
//
//	model.Imported        ImportTable       ImportJSON
//	calibrate.Calibration CalibrationTable  CalibrationJSON  FactorsTable
//	calibrate.Proof       ProofTable        ProofJSON
//	all of them           HTML
//
// A figure that does not exist (NaN) is null in JSON and an en dash in a
// table. Labels come from the maker's own files: they are text in every form,
// never markup, script or terminal control.
package report
