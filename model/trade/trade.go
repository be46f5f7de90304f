// Package trade invents the log of a whole trade, of any size, for
// benchmarks. Nothing in it was measured.
package trade

import (
	"fmt"
	"iter"
	"math"
	"math/rand/v2"
	"time"

	"trueplait/model"
)

// Trade is the size and shape of an invented log. Every maker makes a few of
// the products; one batch label in twenty is blank, and one measured figure in
// two thousand is a typing error.
type Trade struct {
	Rows, Makers, Batches, Products int

	// Crossed batches meet every maker. The others are used up one after the
	// other, each by one to three makers, as shops do.
	Crossed bool
}

// Large is a trade of a million builds and more: 200 makers and, at a million,
// 5,000 batches, in either shape.
func Large(rows int, crossed bool) Trade {
	return Trade{Rows: rows, Makers: 200, Batches: max(1, rows/200), Products: 30, Crossed: crossed}
}

// String is the size as benchmarks name it.
func (t Trade) String() string {
	shape := "turn"
	if t.Crossed {
		shape = "crossed"
	}
	return fmt.Sprintf("rows=%d/makers=%d/batches=%d/%s", t.Rows, t.Makers, t.Batches, shape)
}

// The build-to-build scatter of what is drawn, log units.
const (
	ShotScatter   = 0.03
	BodyScatter   = 0.02
	LengthScatter = 0.01
	StrandScatter = 0.02
)

const (
	blankShare = 0.05
	errorShare = 0.0005
	ownRange   = 4 // products a maker makes
	days       = 5000
)

// levels are the steady differences of one effect, log units.
type levels []float64

func draw(r *rand.Rand, n int, sd float64) levels {
	out := make(levels, n)
	for i := range out {
		out[i] = sd * r.NormFloat64()
	}
	return out
}

// Builds yields the builds by date, the same ones each time. The build is
// overwritten by the next.
func (t Trade) Builds() iter.Seq[*model.Build] {
	return func(yield func(*model.Build) bool) {
		r := rand.New(rand.NewPCG(5, uint64(t.Rows)))
		shots := max(1, t.Batches/6)
		packing, mass, stretch := draw(r, t.Makers, 0.04), draw(r, t.Makers, 0.03), draw(r, t.Makers, 0.02)
		core, shot := draw(r, t.Batches, 0.06), draw(r, shots, 0.01)
		strand, length := draw(r, t.Batches, 0.04), draw(r, t.Batches, 0.02)
		ofProduct := draw(r, t.Products, 0.01)
		first := time.Date(2010, 1, 1, 0, 0, 0, 0, time.UTC)
		label := func(letter byte, i int) string {
			if r.Float64() < blankShare {
				return ""
			}
			return fmt.Sprintf("%c%05d", letter, i)
		}
		measured := func(base, steady, scatter float64) float64 {
			x := base * math.Exp(steady+scatter*r.NormFloat64())
			if r.Float64() < errorShare {
				x *= 1.5 // a misread scale
			}
			return x
		}
		b := &model.Build{
			ShotFactor: model.Unknown, BodyFactor: model.Unknown, LengthFactor: model.Unknown,
			LoadLengthMM: model.Unknown, Humidity: model.Unknown,
		}
		for i := range t.Rows {
			m, c, s := t.place(i, r)
			h := i * shots / t.Rows
			p := (m*7 + r.IntN(min(ownRange, t.Products))) % t.Products
			b.ID, b.Line, b.Date = fmt.Sprintf("B%08d", i), i+2, first.AddDate(0, 0, i*days/t.Rows)
			b.Maker, b.Product = fmt.Sprintf("M%04d", m), fmt.Sprintf("P%02d", p)
			b.CoreBatch, b.StrandBatch, b.ShotBatch = label('C', c), label('S', s), label('H', h)
			load, body := float64(60+5*p), float64(200+12*p)
			b.PredictedShotG, b.PredictedWeightG = load, load+body
			b.PredictedLengthMM, b.PredictedStrandMM = float64(1500+40*p), float64(4000+100*p)
			b.ShotUsedG = tenth(measured(load, packing[m]+core[c]+shot[h], ShotScatter))
			b.WeightG = tenth(b.ShotUsedG + measured(body, mass[m]+strand[s]+ofProduct[p], BodyScatter))
			b.LengthMM = math.Round(measured(b.PredictedLengthMM, stretch[m]+length[s]+ofProduct[p]/2, LengthScatter))
			used := math.Round(measured(b.PredictedStrandMM, stretch[m]+length[s]/2, StrandScatter))
			b.StrandLeftMM = float64(100 + i%200)
			b.StrandCutMM = used + b.StrandLeftMM
			if !yield(b) {
				return
			}
		}
	}
}

// place is who makes build i from which batches of core and of strand cord.
func (t Trade) place(i int, r *rand.Rand) (maker, core, strand int) {
	core = i * t.Batches / t.Rows
	if t.Crossed {
		half := t.Rows / t.Batches / 2
		return i % t.Makers, core, min(t.Batches-1, (i+half)*t.Batches/t.Rows)
	}
	hands := 1 + core%3
	maker = (core*7 + r.IntN(hands)) % t.Makers
	if strand = core; r.IntN(8) == 0 {
		strand = min(t.Batches-1, core+1)
	}
	return maker, core, strand
}

func tenth(x float64) float64 { return math.Round(10*x) / 10 }
