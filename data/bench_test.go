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

// BenchmarkRead times what a page of the bench asks of a log.
func BenchmarkRead(b *testing.B) {
	const rows = 10_000
	l, _ := openLog(b)
	defer l.Close()
	importMany(b, l, rows)
	ctx, id := b.Context(), "B0005000"
	one := func(row model.Row, ok bool, err error) error {
		if err == nil && (!ok || row.Key() != id) {
			return fmt.Errorf("%v instead of %s", row, id)
		}
		return err
	}
	search := func(text string, offset, want int) func() error {
		return func() error {
			found, total, err := l.Search(ctx, model.Builds, text, 50, offset)
			if err == nil && (total != want || len(found) != min(50, want)) {
				return fmt.Errorf("%d of %d builds, want %d", len(found), total, want)
			}
			return err
		}
	}
	for _, read := range []struct {
		name string
		do   func() error
	}{
		{"search=all", search("", 0, rows)},
		{"search=last", search("", rows-50, rows)},
		{"search=id", search("b0005000", 0, 1)},
		{"search=words", search("Maker C17 ft", 0, 200)},
		{"row", func() error { return one(l.Row(ctx, model.Builds, id)) }},
		{"full", func() error { return one(l.Full(ctx, model.Builds, id)) }},
		{"history", func() error { _, err := l.History(ctx, model.Builds, id); return err }},
		{"source", func() error { _, _, err := l.SourceOf(ctx, model.Builds, id); return err }},
		{"newest", func() error { _, err := l.NewestID(ctx, model.Builds); return err }},
		{"has", func() error { _, err := l.Has(ctx, model.Builds, id); return err }},
		{"uses", func() error { _, err := l.Uses(ctx, model.CoreBatch, "C17"); return err }},
		{"open", func() error { _, err := l.OpenBuilds(ctx); return err }},
		{"units", func() error { _, err := l.Units(ctx); return err }},
	} {
		b.Run(fmt.Sprintf("rows=%d/%s", rows, read.name), func(b *testing.B) {
			for b.Loop() {
				if err := read.do(); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkImportOne imports one build into a log that has many: what saving a
// form takes.
func BenchmarkImportOne(b *testing.B) {
	const rows = 10_000
	for _, c := range []struct {
		name  string
		opt   FinishOptions
		build func(n int) *model.Build
	}{
		{"new", FinishOptions{}, func(n int) *model.Build { return usualBuild(fmt.Sprint("N", n)) }},
		{"planned", FinishOptions{}, func(n int) *model.Build { return finished(fmt.Sprint("P", n)) }},
		{"amended", FinishOptions{Amend: true}, func(n int) *model.Build {
			return edit(usualBuild("B0005000"), func(b *model.Build) { b.WeightG = 400 + float64(n)/1000 })
		}},
	} {
		b.Run(fmt.Sprintf("rows=%d/%s", rows, c.name), func(b *testing.B) {
			l, _ := openLog(b)
			defer l.Close()
			importMany(b, l, rows)
			n := 0
			for b.Loop() {
				n++
				if c.name == "planned" {
					b.StopTimer()
					if err := l.SavePlan(b.Context(), usualPlan(fmt.Sprint("P", n))); err != nil {
						b.Fatal(err)
					}
					b.StartTimer()
				}
				o, _ := add(b, l, file{name: "bench", opt: c.opt, rows: []model.Row{c.build(n)}})
				if o[0].New+o[0].Amended != 1 {
					b.Fatalf("%+v", o[0])
				}
			}
		})
	}
}
