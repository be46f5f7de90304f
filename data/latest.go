package data

import (
	"context"
	"database/sql"
	_ "embed"
	"errors"
	"fmt"
	"time"

	"trueplait/model"
)

//go:embed query/build_latest.sql
var buildLatest string

//go:embed query/build_latest_by_product.sql
var buildLatestByProduct string

// Latest returns the id and the labels of a product's latest build dated
// through the reader's date at the latest, or of any product's where product is
// ""; false where there is none.
func (o *Observations) Latest(ctx context.Context, product string) (id string, l model.Labels, ok bool, err error) {
	into := newLabels()
	var date time.Time
	err = o.log.db.QueryRowContext(ctx, buildLatest, o.through, product).Scan(into.scanners([]any{&id, &date})...)
	if errors.Is(err, sql.ErrNoRows) {
		return "", l, false, nil
	}
	if err != nil {
		return "", l, false, fmt.Errorf("data: latest build of %q: %w", product, err)
	}
	return id, model.SplitLevels(into.Labels, date, o.splits), true, nil
}

// LatestByProduct returns the labels of the latest build of every product that
// has one.
func (o *Observations) LatestByProduct(ctx context.Context) (map[string]model.Labels, error) {
	into := newLabels()
	var date time.Time
	out := map[string]model.Labels{}
	err := each(ctx, o.log.db, buildLatestByProduct, into.scanners([]any{&date}), func() error {
		out[into.Product] = model.SplitLevels(into.Labels, date, o.splits)
		return nil
	}, o.through)
	if err != nil {
		return nil, fmt.Errorf("data: latest build of each product: %w", err)
	}
	return out, nil
}
