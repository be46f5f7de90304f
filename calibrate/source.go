package calibrate

import (
	"context"

	"trueplait/model"
)

// Source is what the fits read of a log. Rows are scanned where they lie and
// small summaries come back. A Source is fixed to the rows up to some date.
//
// An observation of quantity q is a row that states both what was measured and
// its base; y = ln(measured/base). Observations that are excluded (unit slips,
// rows set aside by hand, rows with no body to weigh) take part in nothing but
// Excluded and Observations. The rest are eligible.
//
// Rows is the implementation in memory; the log in DuckDB is the other.
type Source interface {
	// Summary counts what the log holds.
	Summary(ctx context.Context) (model.Summary, error)

	// Excluded lists the observations of q that no fit may use, by date then
	// id.
	Excluded(ctx context.Context, q model.Quantity) ([]model.Excluded, error)

	// Cells returns the eligible observations of q that are not in aside,
	// summed up per kind of row and distinct combination of the labels of q's
	// effects (blank included), ordered by kind and those labels. The slice is
	// the caller's.
	Cells(ctx context.Context, q model.Quantity, aside []model.RowKey) ([]model.Cell, error)

	// Screen scans every eligible observation of q against fitted effects and
	// returns the rows that stand out.
	Screen(ctx context.Context, q model.Quantity, f model.Fitted, aside []model.RowKey) (model.Screen, error)

	// Ratios returns measured/base of the named observations of q; keys without
	// one are left out.
	Ratios(ctx context.Context, q model.Quantity, keys []model.RowKey) (map[model.RowKey]float64, error)

	// Deviation returns how far builds lie from the planner's figure: of |y| of
	// q over the n eligible builds not in aside, the ⌈(n+1)·share⌉-th smallest;
	// NaN where that is more than n.
	Deviation(ctx context.Context, q model.Quantity, aside []model.RowKey, share float64) (float64, error)

	// Correlation returns Pearson's correlation of the residuals of shot and
	// body over the builds kept in both, and their number; NaN where it is not
	// defined.
	Correlation(ctx context.Context, shot, body model.Residuals) (r float64, n int, err error)

	// Combinations returns the distinct labels of q's effects seen in builds
	// (and, for shot, in test fills), measured or not, ordered. Effects that
	// are not in effects are blank in what is returned; combinations with a
	// blank among effects are left out.
	Combinations(ctx context.Context, q model.Quantity, effects []model.Effect) ([]model.Labels, error)

	// Newest returns the newest n eligible observations of q, by date, id,
	// kind, with key, date, labels and Y.
	Newest(ctx context.Context, q model.Quantity, n int) ([]model.Observation, error)

	// Observations returns every observation of q, excluded ones too, by date,
	// then id, then kind.
	Observations(ctx context.Context, q model.Quantity) ([]model.Observation, error)
}
