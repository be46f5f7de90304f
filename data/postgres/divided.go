package postgres

import _ "embed" // statements

//go:embed divided/cells.sql
var dividedCells string

//go:embed divided/combinations.sql
var dividedCombinations string

//go:embed divided/compared_count.sql
var dividedComparedCount string

//go:embed divided/compared_load.sql
var dividedComparedLoad string

//go:embed divided/compared_stage.sql
var dividedComparedStage string

//go:embed divided/compared_unstage.sql
var dividedComparedUnstage string

//go:embed divided/digests.sql
var dividedDigests string

//go:embed divided/fitted_level_append.sql
var dividedFittedLevelAppend string

//go:embed divided/fitted_level_clear.sql
var dividedFittedLevelClear string

//go:embed divided/level_fill.sql
var dividedLevelFill string

//go:embed divided/newest.sql
var dividedNewest string

//go:embed divided/observed_body.sql
var dividedObservedBody string

//go:embed divided/observed_length.sql
var dividedObservedLength string

//go:embed divided/observed_shot.sql
var dividedObservedShot string

//go:embed divided/observed_strand.sql
var dividedObservedStrand string

//go:embed divided/observed_weight.sql
var dividedObservedWeight string

//go:embed divided/ratios.sql
var dividedRatios string

//go:embed divided/residual_correlation.sql
var dividedResidualCorrelation string

//go:embed divided/residual_scan.sql
var dividedResidualScan string

//go:embed divided/wanted_numbers.sql
var dividedWantedNumbers string

//go:embed divided/wanted_places.sql
var dividedWantedPlaces string

//go:embed divided/wanted_rows.sql
var dividedWantedRows string

//go:embed divided/source_remove.sql
var dividedSourceRemove string

//go:embed divided/summary.sql
var dividedSummary string

//go:embed divided/unpredicted.sql
var dividedUnpredicted string

// dividedWords are the statements of a divided log that differ from those of a
// log in one place: servers sum up their own builds, and are told what that
// takes.
func dividedWords() map[string]string {
	return map[string]string{
		"unpredicted":          dividedUnpredicted,
		"summary":              dividedSummary,
		"source_remove":        dividedSourceRemove,
		"cells":                dividedCells,
		"combinations":         dividedCombinations,
		"compared_count":       dividedComparedCount,
		"compared_load":        dividedComparedLoad,
		"compared_stage":       dividedComparedStage,
		"compared_unstage":     dividedComparedUnstage,
		"digests":              dividedDigests,
		"fitted_level_append":  dividedFittedLevelAppend,
		"fitted_level_clear":   dividedFittedLevelClear,
		"level_fill":           dividedLevelFill,
		"newest":               dividedNewest,
		"observed_body":        dividedObservedBody,
		"observed_length":      dividedObservedLength,
		"observed_shot":        dividedObservedShot,
		"observed_strand":      dividedObservedStrand,
		"observed_weight":      dividedObservedWeight,
		"ratios":               dividedRatios,
		"residual_correlation": dividedResidualCorrelation,
		"residual_scan":        dividedResidualScan,
		"wanted_numbers":       dividedWantedNumbers,
		"wanted_places":        dividedWantedPlaces,
		"wanted_rows":          dividedWantedRows,
	}
}
