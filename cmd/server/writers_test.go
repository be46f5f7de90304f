package server

import (
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
)

const (
	writers = 8
	each    = 40 // builds in a file
	files   = 2  // of each writer, one after the other
)

// writerFile is a file of builds of a writer, all with ids of their own.
func writerFile(writer, file int) string {
	var b strings.Builder
	b.WriteString("build,date,maker,product,core_batch,predicted_weight_g,predicted_shot_g,weight_g,shot_used_g\n")
	for i := range each {
		fmt.Fprintf(&b, "W%d-%d-%d,2025-05-%02d,Maker %d,bull,HC%d,400,80,%d,%d\n", writer, file, i, 1+i%28, writer, file, 400+i%17, 78+i%7)
	}
	return b.String()
}

// Many programs write at once, into one log and into one each: files, the same
// file from two sides, single rows and calibrations. Nothing is lost, nothing is
// there twice, and every calibration is of the rows that it says.
func TestWriters(t *testing.T) {
	g := newGuild(t)
	g.workshop(t, "all")
	for w := range writers {
		g.workshop(t, fmt.Sprint("shop ", w))
		for f := range files {
			g.write(t, fmt.Sprintf("w%d-%d.csv", w, f), writerFile(w, f))
		}
	}
	var hands sync.WaitGroup
	for w := range writers {
		hands.Go(func() {
			for f := range files {
				must(t, g, "all", "import", fmt.Sprintf("w%d-%d.csv", w, f))
				must(t, g, "all", "import", fmt.Sprintf("w%d-%d.csv", w/2*2, f)) // its neighbour's, or again
				must(t, g, fmt.Sprintf("shop%%20%d", w), "import", fmt.Sprintf("w%d-%d.csv", w, f))
			}
			must(t, g, "all", "fill", "--fill", fmt.Sprint("F", w), "--core-batch", "HC1", "--filled-length", "200mm", "--shot-mass", "17g")
		})
		if w%4 == 0 {
			hands.Go(func() { // it may be told that others write too fast, and nothing else
				r := finish(t, g.command("all", "calibrate"))
				if r.code != 0 && !strings.Contains(r.stderr, "another program writes to the log just now: try again") {
					t.Errorf("calibrate: exit code %d\n%s", r.code, r.stderr)
				}
			})
		}
	}
	hands.Wait()
	g.run(t, "all", "calibrate")
	var want []string
	for w := range writers {
		var own []string
		for f := range files {
			for i := range each {
				own = append(own, fmt.Sprintf("W%d-%d-%d", w, f, i))
			}
		}
		g.holds(t, fmt.Sprintf("shop%%20%d", w), "builds", own)
		want = append(want, own...)
	}
	g.holds(t, "all", "builds", want)
}

// Verify is not deceived by rows that come in while it reads.
func TestVerify_WhileWriting(t *testing.T) {
	g := newGuild(t)
	g.workshop(t, "anna")
	const many, imports = 4_000, 20
	var b strings.Builder
	b.WriteString("build,date,maker,product,core_batch,predicted_weight_g,weight_g\n")
	for i := range many {
		fmt.Fprintf(&b, "B%d,2025-05-%02d,Arlo,bull,HC01,400,%d\n", i, 1+i%28, 400+i%17)
	}
	g.write(t, "many.csv", b.String())
	g.run(t, "anna", "import", "many.csv")
	for n := range imports {
		g.write(t, fmt.Sprint(n, ".csv"), writerFile(n, 0))
	}
	written := make(chan bool)
	go func() {
		defer close(written)
		for n := range imports {
			must(t, g, "anna", "import", fmt.Sprint(n, ".csv"))
		}
	}()
	verified := 0
	for writing := true; writing; verified++ {
		must(t, g, "anna", "verify")
		select {
		case <-written:
			writing = false
		default:
		}
	}
	if verified < 3 {
		t.Errorf("verified %d times while %d files came in", verified, imports)
	}
}

// must runs the program from a goroutine of a test, where nothing may go wrong.
func must(t *testing.T, g guild, role string, args ...string) {
	if r := finish(t, g.command(role, args...)); r.code != 0 {
		t.Errorf("%s: trueplait %s: exit code %d\n%s", role, strings.Join(args, " "), r.code, r.stderr)
	}
}

// holds verifies a log, and that its rows of a kind are those named, each once.
func (g guild) holds(t *testing.T, role, kind string, want []string) {
	t.Helper()
	g.run(t, role, "verify")
	folder := strings.ReplaceAll("out "+role, "%20", " ")
	g.run(t, role, "export", folder)
	text, err := os.ReadFile(filepath.Join(g.dir, folder, kind+".csv"))
	if err != nil {
		t.Fatal(err)
	}
	records, err := csv.NewReader(strings.NewReader(string(text))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, r := range records[1:] {
		got = append(got, r[0])
	}
	slices.Sort(got)
	slices.Sort(want)
	if !slices.Equal(got, want) {
		t.Errorf("%s has %d %s, want %d", role, len(got), kind, len(want))
	}
}
