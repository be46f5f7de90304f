package data

import (
	"context"
	_ "embed"
	"fmt"
	"slices"
	"time"
)

//go:embed query/maker_units_set.sql
var makerUnitsSet string

//go:embed query/maker_units.sql
var makerUnitsQuery string

// SetUnits remembers the units that a maker reads: both, metric or imperial.
// Anything else is an error, and so is a maker without a name.
func (l *Log) SetUnits(ctx context.Context, maker, units string, now time.Time) error {
	if maker == "" {
		return fmt.Errorf(`units of maker "": name the maker`)
	}
	if !slices.Contains([]string{"both", "metric", "imperial"}, units) {
		return fmt.Errorf("units %q: write both, metric or imperial", units)
	}
	if _, err := l.db.ExecContext(ctx, makerUnitsSet, maker, units, now.UTC()); err != nil {
		return fmt.Errorf("data: units of maker %q: %w", maker, err)
	}
	return nil
}

// Units returns the units that makers read, by maker. One who never chose is not
// there.
func (l *Log) Units(ctx context.Context) (map[string]string, error) {
	var maker, units string
	out := map[string]string{}
	err := each(ctx, l.db, makerUnitsQuery, []any{&maker, &units}, func() error {
		out[maker] = units
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("data: units of makers: %w", err)
	}
	return out, nil
}
