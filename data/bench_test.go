package data

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"trueplait/model"
)

// manyBuilds yields builds by 200 makers; a batch lasts for 200 of them, and
// its makers are 3.
func manyBuilds(rows int) func(yield func(*model.Build) bool) {
	return func(yield func(*model.Build) bool) {
		rng := rand.New(rand.NewPCG(1, 2))
		b := blankBuild("")
		for i := range rows {
			batch := i / 200
			b.ID, b.Line, b.Date = fmt.Sprintf("B%07d", i), i+2, day(i*900/rows)
			b.Maker = fmt.Sprintf("maker %d", (batch*7+i%3)%200)
			b.Product = fmt.Sprintf("%d ft", 4+i%12)
			b.CoreBatch, b.StrandBatch, b.ShotBatch = fmt.Sprint("C", batch), fmt.Sprint("N", batch), fmt.Sprint("S", batch/20)
			b.PredictedWeightG, b.PredictedShotG, b.PredictedLengthMM = 400, 80, 1800
			b.ShotUsedG = 80 * (1 + 0.02*rng.NormFloat64())
			b.WeightG = b.ShotUsedG + 320*(1+0.02*rng.NormFloat64())
			b.LengthMM = 1800 * (1 + 0.02*rng.NormFloat64())
			if !yield(b) {
				return
			}
		}
	}
}

// importMany imports rows builds with 170 bytes of file for each.
func importMany(b testing.TB, l *Log, rows int) {
	b.Helper()
	im, err := l.Begin(b.Context(), noon)
	if err != nil {
		b.Fatal(err)
	}
	f, err := im.File("builds.csv", model.Builds)
	if err != nil {
		b.Fatal(err)
	}
	text := bytes.Repeat([]byte("4 ft, C17,"), 17)
	for build := range manyBuilds(rows) {
		copy(text, build.ID)
		if _, err := f.Write(text); err != nil {
			b.Fatal(err)
		}
		if err := f.Add(build); err != nil {
			b.Fatal(err)
		}
	}
	o, err := f.Finish(b.Context(), FinishOptions{})
	if err != nil || o.New != rows {
		b.Fatalf("%+v, %v", o, err)
	}
	if _, err := im.Settle(b.Context(), SettleOptions{}); err != nil {
		b.Fatal(err)
	}
	if err := im.Commit(b.Context()); err != nil {
		b.Fatal(err)
	}
}

func BenchmarkImport(b *testing.B) {
	for _, rows := range []int{500, 100_000, 1_000_000} {
		b.Run(fmt.Sprintf("rows=%d", rows), func(b *testing.B) {
			b.ReportAllocs()
			b.SetBytes(int64(rows) * 170)
			for b.Loop() {
				b.StopTimer()
				l, _ := openLog(b)
				b.StartTimer()
				importMany(b, l, rows)
				b.StopTimer()
				l.Close()
				b.StartTimer()
			}
		})
	}
}

// BenchmarkCells reads a quantity's observations and sums them up; /again is
// what each further round of a fit costs.
func BenchmarkCells(b *testing.B) {
	for _, rows := range []int{500, 100_000, 1_000_000} {
		l, _ := openLog(b)
		importMany(b, l, rows)
		count := func(b *testing.B, o *Observations) {
			b.Helper()
			cells, err := o.Cells(b.Context(), model.Weight, nil)
			if err != nil {
				b.Fatal(err)
			}
			n := 0
			for _, c := range cells {
				n += c.N
			}
			if n != rows {
				b.Fatalf("cells of %d rows, want %d", n, rows)
			}
		}
		b.Run(fmt.Sprintf("rows=%d/first", rows), func(b *testing.B) {
			for b.Loop() {
				o, err := l.Observations(b.Context(), time.Time{}, false)
				if err != nil {
					b.Fatal(err)
				}
				count(b, o)
			}
		})
		o := reader(b, l)
		count(b, o)
		b.Run(fmt.Sprintf("rows=%d/again", rows), func(b *testing.B) {
			for b.Loop() {
				count(b, o)
			}
		})
		b.Run(fmt.Sprintf("rows=%d/bare", rows), func(b *testing.B) { // what SQL cannot be spared
			const bare = `select maker, strand_batch, core_batch, product, count(*), avg(ln(weight_g / predicted_weight_g)),
				var_pop(ln(weight_g / predicted_weight_g)) * count(*) from build group by maker, strand_batch, core_batch, product`
			for b.Loop() {
				var a, c, d, e string
				var n int
				var mean, ss float64
				err := each(b.Context(), l.db, bare, []any{&a, &c, &d, &e, &n, &mean, &ss}, func() error { return nil })
				if err != nil {
					b.Fatal(err)
				}
			}
		})
		b.Run(fmt.Sprintf("rows=%d/screen", rows), func(b *testing.B) {
			for b.Loop() {
				s, err := o.Screen(b.Context(), model.Weight, model.Fitted{Mean: 0.001}, nil)
				if err != nil || s.N != rows {
					b.Fatalf("%+v, %v", s.N, err)
				}
			}
		})
		l.Close()
	}
}
