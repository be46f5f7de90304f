package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"trueplait/model/trade"
)

// BenchmarkReport times the program while it writes the report of a log, from
// its start to its end. html-MB is the size of the page, of which the library
// that draws the charts is 1.1.
func BenchmarkReport(b *testing.B) {
	program := buildProgram(b)
	const rows = 100_000
	log, _ := logOf(b, program, trade.Large(rows, false))
	b.Run(fmt.Sprintf("rows=%d", rows), func(b *testing.B) {
		name := filepath.Join(b.TempDir(), "report.html")
		var all effort
		for b.Loop() {
			e, _ := runProgram(b, program, "report", "--log", log, "-o", name)
			all.add(e)
		}
		page, err := os.ReadFile(name)
		if err != nil {
			b.Fatal(err)
		}
		for _, want := range []string{fmt.Sprintf("%d builds, 0 test fills", rows), fmt.Sprintf("of %d builds, since", rows), `id="chart-predicted-weight"`, `id="chart-line-0"`} {
			if !strings.Contains(string(page), want) {
				b.Errorf("the page lacks %q", want)
			}
		}
		b.ReportMetric(all.cpu.Seconds()/float64(b.N), "cpu-s/op")
		b.ReportMetric(float64(all.peak)/1e6, "peak-MB")
		b.ReportMetric(float64(len(page))/1e6, "html-MB")
	})
}
