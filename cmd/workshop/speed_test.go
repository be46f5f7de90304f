package workshop

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"net/url"
	"path/filepath"
	"testing"
	"time"

	"trueplait/model"
	"trueplait/report/bench"
)

// largeShop is the builds file of a shop of five makers and thirty products
// that used up 300 batches of core cord and as many of strand cord, one after
// the other.
func largeShop(builds int) []byte {
	const makers, products, batches, shotBatches = 5, 30, 300, 50
	r := rand.New(rand.NewPCG(5, 10000))
	level := func(n int, spread float64) []float64 {
		out := make([]float64, n)
		for i := range out {
			out[i] = spread * r.NormFloat64()
		}
		return out
	}
	maker, core, strand, shot := level(makers, 0.04), level(batches, 0.06), level(batches, 0.04), level(shotBatches, 0.01)
	first := time.Date(2010, 1, 1, 0, 0, 0, 0, time.UTC)
	var b bytes.Buffer
	b.WriteString("build,date,maker,product,core_batch,strand_batch,shot_batch,predicted_weight_g,predicted_length_mm,predicted_shot_g,weight_g,length_mm,shot_used_g\n")
	for i := range builds {
		m, p := r.IntN(makers), r.IntN(products)
		c, s, h := min(batches-1, i*batches/builds+r.IntN(2)), min(batches-1, i*batches/builds+r.IntN(2)), i*shotBatches/builds
		load, body, length := float64(60+5*p), float64(200+12*p), float64(1500+40*p)
		off := func(steady, scatter float64) float64 { return math.Exp(steady + scatter*r.NormFloat64()) }
		used := load * off(maker[m]+core[c]+shot[h], 0.03)
		fmt.Fprintf(&b, "B%05d,%s,M%d,P%02d,C%03d,S%03d,H%02d,%g,%g,%g,%.1f,%.0f,%.1f\n",
			i, first.AddDate(0, 0, i*5500/builds).Format(time.DateOnly), m, p, c, s, h, load+body, length, load,
			used+body*off(maker[m]/2+strand[s], 0.02), length*off(maker[m]/3+strand[s]/4, 0.01), used)
	}
	return b.Bytes()
}

func largeBench(b *testing.B, builds int) *Bench {
	w, err := Make(b.Context(), filepath.Join(b.TempDir(), "large.duckdb"), Options{Seed: 1, Clock: func() (time.Time, error) { return today, nil }})
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() {
		var err error
		if w.Close(&err); err != nil {
			b.Error(err)
		}
	})
	shop, err := NewBench(b.Context(), w, BenchOptions{Name: "bench page", Save: true})
	if err != nil {
		b.Fatal(err)
	}
	if got, err := shop.Import(b.Context(), bench.File{Name: "builds.csv", Bytes: largeShop(builds)}); err != nil || !got.Taken {
		b.Fatalf("%+v, %v", got, err)
	}
	return shop
}

// BenchmarkPage answers each page of a large log, as often as it is asked for
// without a write between: first makes what is kept until the next write.
func BenchmarkPage(b *testing.B) {
	const rows = 10_000
	shop := largeBench(b, rows)
	page := bench.New(shop, bench.Options{})
	for name, path := range map[string]string{
		"start": "/", "plan": "/plan", "finish": "/finish?without=1", "fill": "/fill", "cord": "/cord", "edit": "/edit?kind=builds&id=B04999",
		"promise": "/promise?product=P07", "lines": "/lines", "line": "/lines/product?product=P07",
		"factors": "/factors", "builds": "/builds", "search": "/builds?q=" + url.QueryEscape("P07 C150"), "build": "/builds/row?kind=builds&id=B04999", "files": "/files", "report": "/report",
	} {
		b.Run(fmt.Sprintf("rows=%d/page=%s", rows, name), func(b *testing.B) {
			b.ReportAllocs()
			var answer *httptest.ResponseRecorder
			for b.Loop() {
				answer = httptest.NewRecorder()
				page.ServeHTTP(answer, httptest.NewRequest(http.MethodGet, path, nil))
			}
			if answer.Code != http.StatusOK || answer.Body.Len() < 1000 {
				b.Errorf("%s answers %d with %d bytes", path, answer.Code, answer.Body.Len())
			}
		})
	}
}

// BenchmarkSave saves a build into a large log: read, commit, fit anew, save the
// calibration, compare.
func BenchmarkSave(b *testing.B) {
	for _, rows := range []int{500, 10_000} {
		shop := largeBench(b, rows)
		b.Run(fmt.Sprintf("rows=%d", rows), func(b *testing.B) {
			saved := 0
			for b.Loop() {
				id := fmt.Sprintf("N%d-%d", b.N, saved)
				out, err := shop.Save(b.Context(), model.Entry{Kind: model.Builds, Key: id, Text: map[string]string{
					"build": id, "maker": "M1", "product": "P07", "core_batch": "C299", "strand_batch": "S299", "shot_batch": "H49",
					"predicted_weight": "379 g", "predicted_shot": "95 g", "predicted_length": "1780 mm", "weight": "401 g", "shot_used": "97.5 g", "length": "1812 mm"}})
				if err != nil || len(out.Changes) == 0 {
					b.Fatalf("%+v, %v", out, err)
				}
				saved++
			}
			state, err := shop.Now(b.Context())
			if err != nil || state.Calibration.Builds < rows+saved {
				b.Errorf("%d builds after %d saves into %d, %v", state.Calibration.Builds, saved, rows, err)
			}
		})
	}
}
