package data

import (
	"context"
	"database/sql"
	_ "embed"
	"errors"
	"fmt"

	"trueplait/model"
)

//go:embed query/build_latest.sql
var buildLatest string

// Latest returns the id and the labels of a product's latest build dated
// through the reader's date at the latest, or of any product's where product is
// ""; false where there is none.
func (o *Observations) Latest(ctx context.Context, product string) (id string, l model.Labels, ok bool, err error) {
	into := newLabels()
	err = o.with(ctx, "latest build", nil, func(conn *sql.Conn) error {
		return conn.QueryRowContext(ctx, buildLatest, o.through, product).Scan(into.scanners([]any{&id})...)
	})
	if errors.Is(err, sql.ErrNoRows) {
		return "", l, false, nil
	}
	if err != nil {
		return "", l, false, fmt.Errorf("product %q: %w", product, err)
	}
	return id, into.Labels, true, nil
}
