package data

import (
	"context"
	"fmt"
	"math/rand/v2"
	"testing"

	"trueplait/model"
)

// Places are those that counting one row after the other gives: many rows share
// their days, and test fills the ids of builds.
func TestPlaces(t *testing.T) {
	for seed := range uint64(3) {
		rng := rand.New(rand.NewPCG(seed, 7))
		pick := func(prefix string) string {
			if n := rng.IntN(4); n > 0 {
				return fmt.Sprint(prefix, n)
			}
			return ""
		}
		var builds, fills []model.Row
		for _, i := range rng.Perm(300) {
			builds = append(builds, edit(usualBuild(fmt.Sprint("r", i)), func(b *model.Build) {
				b.Date, b.Maker = day(rng.IntN(6)), fmt.Sprint("m", rng.IntN(2))
				b.CoreBatch, b.ShotBatch, b.Product = pick("c"), pick("s"), fmt.Sprint("p", rng.IntN(9))
				if rng.IntN(5) == 0 {
					b.SetAside = "by hand"
				}
			}))
			if i%3 == 0 {
				fills = append(fills, edit(usualFill(fmt.Sprint("r", i)), func(f *model.Fill) {
					f.Date, f.Maker, f.CoreBatch, f.ShotBatch = day(rng.IntN(6)), "m1", "c1", pick("s")
				}))
			}
		}
		l := newLog(t)
		add(t, l, file{name: "b.csv", rows: builds}, file{name: "f.csv", rows: fills})
		o := reader(t, l)
		for _, q := range []model.Quantity{model.Shot, model.Weight} {
			var want []wanted
			naive := map[seat]place{}
			rows := map[level]int{}
			obs, err := o.Observations(t.Context(), q) // by date, id, kind
			if err != nil {
				t.Fatal(err)
			}
			for _, row := range obs {
				for _, e := range model.Effects {
					at := level{e, row.Labels.Get(e)}
					if row.Excluded != "" || at.label == "" {
						continue
					}
					rows[at]++
					naive[seat{at, row.Key}] = place{at: rows[at]}
					want = append(want, wanted{key: row.Key, date: row.Date, level: at})
				}
			}
			err = o.with(t.Context(), "places", q, func(conn *session) error {
				got, err := placesOfSome(t.Context(), o, conn, q, want, rng)
				for at, p := range got {
					if w := (place{naive[at].at, rows[at.level]}); p != w {
						t.Errorf("%s of %v: %+v, want %+v", q, at, p, w)
					}
				}
				if len(got) != len(want) {
					t.Errorf("%s: %d places, want %d", q, len(got), len(want))
				}
				return err
			})
			if err != nil {
				t.Fatal(err)
			}
		}
	}
}

// placesOfSome asks for the places of some rows, then of all.
func placesOfSome(ctx context.Context, o *Observations, conn *session, q model.Quantity, want []wanted, rng *rand.Rand) (map[seat]place, error) {
	var some []wanted
	for _, w := range want {
		if rng.IntN(10) == 0 {
			some = append(some, w)
		}
	}
	if _, err := o.places(ctx, conn, q, some); err != nil {
		return nil, err
	}
	return o.places(ctx, conn, q, want)
}
