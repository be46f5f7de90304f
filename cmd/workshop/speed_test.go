package workshop

import (
	"bytes"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"path/filepath"
	"testing"
	"time"

	"trueplait/model"
	"trueplait/model/trade"
	"trueplait/report/bench"
)

// largeShop is the builds file of a shop of five makers and thirty products
// that used up 300 batches of core cord and as many of strand cord, one after
// the other.
func largeShop(b *testing.B, builds int) []byte {
	b.Helper()
	var file bytes.Buffer
	if err := (trade.Trade{Rows: builds, Makers: 5, Batches: 300, Products: 30}).WriteCSV(&file); err != nil {
		b.Fatal(err)
	}
	return file.Bytes()
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
	if got, err := shop.Import(b.Context(), bench.File{Name: "builds.csv", Bytes: largeShop(b, builds)}); err != nil || !got.Taken {
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
		"start": "/", "plan": "/plan", "finish": "/finish?without=1", "fill": "/fill", "cord": "/cord", "edit": "/edit?kind=builds&id=B00004999",
		"promise": "/promise?product=P07", "lines": "/lines", "line": "/lines/product?product=P07",
		"factors": "/factors", "builds": "/builds", "search": "/builds?q=" + url.QueryEscape("P07 C00150"), "build": "/builds/row?kind=builds&id=B00004999", "files": "/files", "report": "/report",
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
					"build": id, "maker": "M0001", "product": "P07", "core_batch": "C00299", "strand_batch": "S00299", "shot_batch": "H00049",
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
