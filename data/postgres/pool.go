package postgres

import (
	"context"
	"database/sql"
	_ "embed"

	"trueplait/model"
)

//go:embed query/pool.sql
var pool string

//go:embed query/pool_size.sql
var poolSize string

//go:embed query/pool_share_clear.sql
var poolShareClear string

//go:embed query/pool_share_add.sql
var poolShareAdd string

// Pool reads what the other workshops of a log have in common: parameters that
// fewer than [model.LeastPool] of them share are left out by the server.
func Pool(ctx context.Context, db *sql.DB) (p model.Pool, err error) {
	if err := db.QueryRowContext(ctx, poolSize).Scan(&p.Workshops); err != nil {
		return p, err
	}
	p.Parameters, err = collect(ctx, db, pool, func(x *model.Pooled) []any {
		return []any{(*string)(&x.Quantity), (*string)(&x.Parameter), &x.Workshops, &x.Mean, &x.Variance, &x.SquaredSE}
	})
	return p, err
}

// SharePool lets the others have the workshop's figures in place of those it
// shared before.
func SharePool(ctx context.Context, db *sql.DB, figures []model.Shared) error {
	return transact(ctx, db, func(tx *sql.Tx) error {
		if err := execAll(ctx, tx, lock, poolShareClear); err != nil {
			return err
		}
		for _, x := range figures {
			if _, err := tx.ExecContext(ctx, poolShareAdd, string(x.Quantity), string(x.Parameter), x.Value, x.SE); err != nil {
				return err
			}
		}
		return nil
	})
}
