package data

import (
	"bufio"
	"context"
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"trueplait/model"
)

// The test binary starts itself again to be the second program at a log.
const (
	asHolder   = "TRUEPLAIT_TEST_HOLD"     // opens the log named and waits
	asImporter = "TRUEPLAIT_TEST_IMPORT"   // imports into it until it is killed
	asStranger = "TRUEPLAIT_TEST_STRANGER" // opens it as a user who may not write
	asUpgrader = "TRUEPLAIT_TEST_UPGRADE"  // upgrades it until it is killed
)

func TestMain(m *testing.M) {
	if path := os.Getenv(asHolder); path != "" {
		hold(path)
		return
	}
	if path := os.Getenv(asImporter); path != "" {
		importForever(path)
		return
	}
	if path := os.Getenv(asStranger); path != "" {
		openAsStranger(path)
		return
	}
	if path := os.Getenv(asUpgrader); path != "" {
		upgradeForever(path)
		return
	}
	// One seed for the property tests, so that a passing test passes again: rows
	// that lie exactly on a limit fall on either side by rounding. Another seed:
	// go test ./data -args -rapid.seed=N.
	if err := flag.Set("rapid.seed", "20251125"); err != nil {
		panic(err)
	}
	os.Exit(m.Run())
}

// hold keeps a log open until its standard input ends.
func hold(path string) {
	l, err := Open(context.Background(), path, ReadWrite)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println("ready")
	bufio.NewReader(os.Stdin).ReadByte()
	l.Close()
}

// importForever imports files of 3,000 builds each and says the number of each
// one that is committed.
func importForever(path string) {
	ctx := context.Background()
	l, err := Open(ctx, path, ReadWrite)
	if err != nil {
		fmt.Println(err)
		return
	}
	for n := 1; ; n++ {
		if err := importBuilds(ctx, l, n, killedFile); err != nil {
			fmt.Println(err)
			return
		}
		fmt.Println(n)
	}
}

const killedFile = 3000 // builds in each of the files that importForever imports

func importBuilds(ctx context.Context, l *Log, n, rows int) error {
	im, err := l.Begin(ctx, noon)
	if err != nil {
		return err
	}
	f, err := im.File("builds.csv", model.Builds)
	if err != nil {
		return err
	}
	for i := range rows {
		b := blankBuild(fmt.Sprintf("B-%d-%d", n, i))
		b.Line = i + 2
		if err := f.Add(b); err != nil {
			return err
		}
	}
	if _, err := f.Finish(ctx, FinishOptions{}); err != nil {
		return err
	}
	return im.Commit(ctx)
}

// second starts the test binary again with the variable set and returns it
// with its standard output.
func second(t *testing.T, variable, path string) (*exec.Cmd, *bufio.Reader) {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), variable+"="+path)
	if _, err := cmd.StdinPipe(); err != nil {
		t.Fatal(err)
	}
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		cmd.Process.Kill()
		cmd.Wait()
	})
	return cmd, bufio.NewReader(out)
}

var noon = time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)

func day(n int) time.Time { return time.Date(2025, 1, 1, 0, 0, 0, 0, time.UTC).AddDate(0, 0, n) }

// blankBuild is a build with labels and no figures.
func blankBuild(id string) *model.Build {
	nan := math.NaN()
	return &model.Build{
		Origin: model.Origin{Line: 2}, ID: id, Date: day(0),
		Labels:           model.Labels{Maker: "ann", Product: "6 ft", CoreBatch: "C1", StrandBatch: "N1", ShotBatch: "S1"},
		PredictedWeightG: nan, PredictedLengthMM: nan, PredictedShotG: nan, PredictedStrandMM: nan,
		ShotFactor: nan, BodyFactor: nan, LengthFactor: nan, WeightG: nan, LengthMM: nan, ShotUsedG: nan,
		StrandCutMM: nan, StrandLeftMM: nan, LoadLengthMM: nan, Humidity: nan,
	}
}

// usualBuild is a build with the figures of an ordinary whip.
func usualBuild(id string) *model.Build {
	b := blankBuild(id)
	b.PredictedWeightG, b.PredictedShotG, b.PredictedLengthMM = 400, 80, 1800
	b.WeightG, b.ShotUsedG, b.LengthMM = 410, 76, 1830
	b.LoadLengthMM = 400
	return b
}

func usualFill(id string) *model.Fill {
	return &model.Fill{
		Origin: model.Origin{Line: 2}, ID: id, Date: day(0),
		Labels:         model.Labels{Maker: "ann", CoreBatch: "C1", ShotBatch: "S1"},
		FilledLengthMM: 200, ShotMassG: 38, PredictedShotG: 40,
	}
}

func usualCheck(id string) *model.Check {
	return &model.Check{
		Origin: model.Origin{Line: 2}, ID: id, Date: day(0), Labels: model.Labels{StrandBatch: "N1"},
		CheckedLengthMM: 3000, CheckedMassG: 21, PredictedMassG: 20,
	}
}

// edit copies a row and changes the copy.
func edit[T any](row *T, change func(*T)) *T {
	c := *row
	change(&c)
	return &c
}

// diff compares; NaN equals NaN.
func diff(want, got any) string { return cmp.Diff(want, got, same) }

// openLog opens a new log in a folder of the test's own.
func openLog(t testing.TB) (*Log, string) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "workshop.duckdb")
	if n, ok := served(); ok {
		path = serverLog(t, n)
	}
	l, err := Open(t.Context(), path, ReadWrite)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { l.Close() })
	return l, path
}

// newLog is a log in memory, or on the server.
func newLog(t testing.TB) *Log {
	t.Helper()
	if _, ok := served(); ok {
		l, _ := openLog(t)
		return l
	}
	l, err := Memory(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := l.Close(); err != nil {
			t.Error(err)
		}
	})
	return l
}

// found is the result of a calibration: its JSON and its factors.
func found(text string, factors ...SavedFactor) Result {
	return Result{
		JSON: func(w io.Writer) error {
			_, err := io.WriteString(w, text)
			return err
		},
		Factors: slices.Values(factors),
	}
}

// file is a file to import: name, rows and what to do with rows that differ.
type file struct {
	name string
	opt  FinishOptions
	rows []model.Row
}

// add imports files in one import and commits it.
func add(t testing.TB, l *Log, files ...file) ([]Outcome, Settled) {
	t.Helper()
	im, err := l.Begin(t.Context(), noon)
	if err != nil {
		t.Fatal(err)
	}
	outcomes, settled := into(t, im, files...)
	if err := im.Commit(t.Context()); err != nil {
		t.Fatal(err)
	}
	return outcomes, settled
}

// into adds files to an import and settles it.
func into(t testing.TB, im *Import, files ...file) ([]Outcome, Settled) {
	t.Helper()
	outcomes := merge(t, im, files...)
	settled, err := im.Settle(t.Context(), SettleOptions{})
	if err != nil {
		t.Fatal(err)
	}
	return outcomes, settled
}

// merge adds files to an import. Rows get the lines 2, 3, … of their file; its
// bytes are the rows as Go prints them.
func merge(t testing.TB, im *Import, files ...file) []Outcome {
	t.Helper()
	var outcomes []Outcome
	for _, in := range files {
		f, err := im.File(in.name, in.rows[0].Kind())
		if err != nil {
			t.Fatal(err)
		}
		for i, row := range in.rows {
			row = at(row, in.name, i+2)
			fmt.Fprintf(f, "%+v\n", row)
			if err := f.Add(row); err != nil {
				t.Fatal(err)
			}
		}
		o, err := f.Finish(t.Context(), in.opt)
		if err != nil {
			t.Fatal(err)
		}
		outcomes = append(outcomes, o)
	}
	return outcomes
}

// at is the row as if read from a line of a file.
func at(row model.Row, name string, line int) model.Row {
	o := model.Origin{File: name, Line: line}
	switch r := row.(type) {
	case *model.Build:
		return edit(r, func(r *model.Build) { r.Origin = o })
	case *model.Fill:
		return edit(r, func(r *model.Fill) { r.Origin = o })
	case *model.Check:
		return edit(r, func(r *model.Check) { r.Origin = o })
	case *model.ProductLine:
		return edit(r, func(r *model.ProductLine) { r.Origin = o })
	case *model.Part:
		return edit(r, func(r *model.Part) { r.Origin = o })
	}
	return row
}

// newestOf is the number of the newest file.
func newestOf(t testing.TB, l *Log) int {
	t.Helper()
	n, err := l.NewestSource(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// all lists every row of a kind.
func all(t testing.TB, l *Log, kind model.Kind) []model.Row {
	t.Helper()
	var out []model.Row
	for row, err := range l.Rows(t.Context(), kind, time.Time{}) {
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, row)
	}
	return out
}
