package main

import (
	"bytes"
	"context"
	"database/sql"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	_ "github.com/duckdb/duckdb-go/v2"

	"trueplait/model/trade"
)

// size is another size to import, which takes some minutes and 4 GB of disk:
//
//	go test -run - -bench Import ./cmd/speed -builds 10000000
var size = flag.Int("builds", 0, "import a file of so many builds, too")

// BenchmarkImport times the program while it imports a builds file into a new
// log, from its start to its end, beside DuckDB's own typed read of the same
// file into a table. x-baseline is how many times as long the program took,
// x-baseline-cpu how many times as much processor time, which other work on
// the machine disturbs less.
func BenchmarkImport(b *testing.B) {
	program := buildProgram(b)
	sizes := []int{1_000_000}
	if *size > 0 {
		sizes = append(sizes, *size)
	}
	for _, rows := range sizes {
		file := filepath.Join(b.TempDir(), "builds.csv")
		bytes := writeTrade(b, file, trade.Large(rows, false))
		b.Run(fmt.Sprintf("rows=%d", rows), func(b *testing.B) {
			b.SetBytes(bytes)
			var imported, read effort
			var log, table string
			for b.Loop() {
				b.StopTimer()
				log, table = filepath.Join(b.TempDir(), "workshop.duckdb"), filepath.Join(b.TempDir(), "table.duckdb")
				read.add(typedRead(b, table, file))
				b.StartTimer()
				e, _ := runProgram(b, program, "import", "--log", log, file)
				imported.add(e)
				b.StopTimer()
				checkSame(b, log, table, rows)
				b.StartTimer()
			}
			b.ReportMetric(imported.wall.Seconds()/read.wall.Seconds(), "x-baseline")
			b.ReportMetric(imported.cpu.Seconds()/read.cpu.Seconds(), "x-baseline-cpu")
			b.ReportMetric(float64(imported.peak)/1e6, "peak-MB")
		})
	}
}

// buildProgram builds the program and returns its path.
func buildProgram(b *testing.B) string {
	b.Helper()
	program := filepath.Join(b.TempDir(), "trueplait")
	if out, err := exec.Command("go", "build", "-o", program, "trueplait/cmd/trueplait").CombinedOutput(); err != nil {
		b.Fatalf("go build: %v\n%s", err, out)
	}
	return program
}

// writeTrade writes the builds of a trade and returns how many bytes that were.
func writeTrade(b *testing.B, name string, t trade.Trade) int64 {
	b.Helper()
	f, err := os.Create(name)
	if err != nil {
		b.Fatal(err)
	}
	defer f.Close()
	if err := t.WriteCSV(f); err != nil {
		b.Fatal(err)
	}
	info, err := f.Stat()
	if err != nil {
		b.Fatal(err)
	}
	return info.Size()
}

// effort is what work took.
type effort struct {
	wall, cpu time.Duration
	peak      int64 // memory, bytes
}

func (e *effort) add(more effort) {
	e.wall += more.wall
	e.cpu += more.cpu
	e.peak = max(e.peak, more.peak)
}

// runProgram runs the program to its end, and returns what it printed.
func runProgram(b *testing.B, program string, args ...string) (effort, []byte) {
	b.Helper()
	cmd := exec.Command(program, args...)
	var out, errs bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &errs
	start := time.Now()
	if err := cmd.Run(); err != nil {
		b.Fatalf("trueplait %s: %v\n%s", strings.Join(args, " "), err, errs.String())
	}
	wall, used := time.Since(start), cmd.ProcessState.SysUsage().(*syscall.Rusage)
	return effort{wall, cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime(), used.Maxrss << 10}, out.Bytes()
}

// typedRead reads the file into a table of a new database.
func typedRead(b *testing.B, name, file string) effort {
	var columns []string
	for i, c := range strings.Split("build,date,maker,product,core_batch,strand_batch,shot_batch,"+
		"predicted_weight_g,predicted_length_mm,predicted_shot_g,predicted_strand_mm,"+
		"weight_g,length_mm,shot_used_g,strand_cut_mm,strand_left_mm", ",") {
		kind := "double"
		switch {
		case c == "date":
			kind = "date"
		case i < 7:
			kind = "varchar"
		}
		columns = append(columns, fmt.Sprintf("'%s': '%s'", c, kind))
	}
	before, start := processorTime(b), time.Now()
	db, err := sql.Open("duckdb", name)
	if err != nil {
		b.Fatal(err)
	}
	_, err = db.ExecContext(b.Context(), fmt.Sprintf("create table build as select * from read_csv('%s', header = true, columns = {%s})",
		strings.ReplaceAll(file, "'", "''"), strings.Join(columns, ", ")))
	if err != nil {
		b.Fatal(err)
	}
	if err := db.Close(); err != nil {
		b.Fatal(err)
	}
	return effort{wall: time.Since(start), cpu: processorTime(b) - before}
}

// processorTime is what this process has used so far.
func processorTime(b *testing.B) time.Duration {
	var used syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &used); err != nil {
		b.Fatal(err)
	}
	return time.Duration(used.Utime.Nano() + used.Stime.Nano())
}

// checkSame makes sure that the log holds what DuckDB read.
func checkSame(b *testing.B, log, table string, rows int) {
	if got, want := sums(b, log, "id"), sums(b, table, "build"); got != want || !strings.HasPrefix(got, fmt.Sprint(rows, " ")) {
		b.Fatalf("imported %s, DuckDB read %s", got, want)
	}
}

// sums is a line of figures about the builds of a database.
func sums(b *testing.B, name, id string) (line string) {
	db, err := sql.Open("duckdb", name+"?access_mode=READ_ONLY")
	if err != nil {
		b.Fatal(err)
	}
	defer db.Close()
	err = db.QueryRowContext(context.Background(), fmt.Sprintf(`select concat_ws(' ', count(*), count(distinct %s), min(date), max(date),
		count(distinct maker), count(distinct core_batch), count(shot_batch), cast(sum(cast(weight_g as decimal(18, 1))) as varchar),
		cast(sum(cast(strand_cut_mm as decimal(18, 1))) as varchar)) from build`, id)).Scan(&line)
	if err != nil {
		b.Fatal(err)
	}
	return line
}
