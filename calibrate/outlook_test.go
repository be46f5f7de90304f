package calibrate

import (
	"fmt"
	"math"
	"testing"

	"trueplait/model"
)

// What rows to come add, by the closed form, is what they add as rows of the
// system: with known labels, new ones, and where nobody ever made a check.
func TestOutlook_AddsRows(t *testing.T) {
	cells := func(checks bool) []model.Cell {
		var out []model.Cell
		for i, l := range []model.Labels{{Maker: "a", StrandBatch: "n1", Product: "p"}, {Maker: "b", StrandBatch: "n1", Product: "q"},
			{Maker: "a", StrandBatch: "n2", Product: "q"}, {Maker: "b", StrandBatch: "", Product: "p"}} {
			out = append(out, model.Cell{Kind: model.Builds, Labels: l, N: 2 + i, Mean: 0.03 * float64(i*i%5), SS: 0.002})
		}
		if checks {
			for _, n := range []string{"n1", "n2"} {
				out = append(out, model.Cell{Kind: model.Checks, Labels: checkOf(n), N: 1, Mean: 0.01})
			}
		}
		return out
	}
	for _, checks := range []bool{true, false} {
		for _, l := range []model.Labels{
			{Maker: "a", StrandBatch: "n1", Product: "p"},
			{Maker: "a", StrandBatch: model.NewLevel, Product: "q"},
			{Maker: model.NewLevel, StrandBatch: model.NewLevel, Product: model.NewLevel},
			{Maker: "b", StrandBatch: "n2", Product: "other"},
		} {
			t.Run(fmt.Sprintf("checks=%v/%v", checks, l), func(t *testing.T) {
				q := model.Body
				post := newPosterior(newSystem(q.Effects(), cells(checks), nil), fineGrid, nil)
				o := newOutlook(q, post, l)
				for _, more := range []struct{ own, checks int }{{0, 0}, {1, 0}, {7, 0}, {0, 1}, {0, 4}, {2, 3}} {
					with := cells(checks)
					if more.own > 0 {
						with = append(with, model.Cell{Kind: model.Builds, Labels: l, N: more.own})
					}
					if more.checks > 0 {
						with = append(with, model.Cell{Kind: model.Checks, Labels: checkOf(l.StrandBatch), N: more.checks})
					}
					sys := newSystem(q.Effects(), with, nil)
					var at []estimate
					for i, n := range post.nodes {
						_, h := sys.solve(n.theta, nil).estimate(sys.contrast(l))
						at = append(at, estimate{mean: o.at[i].mean, h: h + 1})
					}
					want, got := post.mixture(at), o.after(more.own, more.checks)
					checkNear(t, fmt.Sprintf("sd with %d own rows and %d checks", more.own, more.checks), got.sd, want.sd, 1e-9)
				}
			})
		}
	}
}

func checkOf(strand string) model.Labels {
	return model.Labels{Maker: model.CheckLevel, Product: model.CheckLevel, StrandBatch: strand}
}

// The next build of an outlook is the one that a plan expects.
func TestOutlook_IsNext(t *testing.T) {
	c := fitLog(t, workshopRows(3, 60), Options{})
	l := model.Labels{Maker: "m01", CoreBatch: "c02", StrandBatch: model.NewLevel, Product: "p00"}
	for _, q := range []model.Quantity{model.Shot, model.Body, model.Weight, model.Length} {
		want, got := c.next(l).of[q], newOutlook(q, c.Quantity(q).Posterior, l).after(0, 0)
		for _, p := range []float64{0.01, 0.5, 0.975} {
			if w := want.Quantile(p); math.Abs(got.Quantile(p)-w) > 1e-12 {
				t.Errorf("%s: quantile %g = %g, want %g", q, p, got.Quantile(p), w)
			}
		}
	}
}
