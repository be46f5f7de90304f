package workshop

import (
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"

	"trueplait/calibrate"
	"trueplait/model"
)

// Guild is a log that several workshops share, as one of them sees it.
type Guild interface {
	// Pool sums up what the other workshops shared last. Workshops there counts
	// those that shared anything; parameters that fewer than model.LeastPool
	// shared may be missing.
	Pool(ctx context.Context) (model.Pool, error)

	// SharePool keeps what this workshop shares, in the place of what it shared
	// before; nothing is a share too.
	SharePool(ctx context.Context, shared []model.Shared) error
}

// ErrNotShared says that there is nobody to borrow from.
var ErrNotShared = errors.New("this log belongs to one workshop, and there is nobody to borrow from: --pool wants a log that several workshops share (--log postgres://…)")

// Pool is what the other workshops of a shared log lend. It returns ErrNotShared
// for any other log, and a [*calibrate.PoolError] where they are too few: a fit
// would say so too, but later, when splits have been made.
func (w *Workshop) Pool(ctx context.Context) (*model.Pool, error) {
	if w.guild == nil {
		return nil, ErrNotShared
	}
	pool, err := w.guild.Pool(ctx)
	if err != nil {
		return nil, err
	}
	if pool.Workshops < model.LeastPool {
		return nil, &calibrate.PoolError{Workshops: pool.Workshops}
	}
	return &pool, nil
}

// poolPrint names what was borrowed: the same figures, the same print. Their
// last digits do not count, which depend on the order in which a server adds up.
func poolPrint(pool *model.Pool) string {
	sum := sha256.New() // hashes take everything
	fmt.Fprintln(sum, pool.Workshops)
	for _, p := range pool.Parameters {
		fmt.Fprintf(sum, "%s %s %d %.9g %.9g %.9g\n", p.Quantity, p.Parameter, p.Workshops, p.Mean, p.Variance, p.SquaredSE)
	}
	return fmt.Sprintf("%x", sum.Sum(nil)[:8])
}

// poolIn is what a calibration borrowed, as its result in JSON says; nil:
// nothing.
func poolIn(result []byte) (*model.Pool, error) {
	var in struct {
		Pool *struct {
			Workshops  int
			Quantities []struct {
				Quantity model.Quantity
				Borrowed []struct {
					Parameter      model.Parameter
					Workshops      int
					Mean, Variance float64
					SquaredSE      float64 `json:"squared_se"`
				}
			}
		}
	}
	if err := json.Unmarshal(result, &in); err != nil || in.Pool == nil {
		return nil, err
	}
	pool := &model.Pool{Workshops: in.Pool.Workshops}
	for _, q := range in.Pool.Quantities {
		for _, b := range q.Borrowed {
			pool.Parameters = append(pool.Parameters, model.Pooled{Quantity: q.Quantity, Parameter: b.Parameter,
				Workshops: b.Workshops, Mean: b.Mean, Variance: b.Variance, SquaredSE: b.SquaredSE})
		}
	}
	return pool, nil
}
