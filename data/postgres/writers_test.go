package postgres_test

import (
	"context"
	"fmt"
	"slices"
	"sync"
	"testing"
	"time"

	"trueplait/data"
	"trueplait/model"
)

const (
	writers = 8
	files   = 6  // of each writer, every other one of a single row
	rows    = 60 // of the others
)

// Eight write at the same time, into one workshop's log or each into its own:
// nothing is lost or doubled, and files are numbered without holes.
func TestWritersAtOnce(t *testing.T) {
	guilds := map[string]*guild{"one server": newGuild(t, 0, 0), "three servers": newGuild(t, 2, 5)}
	t.Parallel()
	for name, g := range guilds {
		t.Run(name+", one workshop", func(t *testing.T) {
			_, address := g.workshop(t)
			write(t, slices.Repeat([]string{address}, writers))
			checkWritten(t, open(t, address), writers)
		})
		t.Run(name+", a workshop each", func(t *testing.T) {
			addresses := make([]string, writers)
			for i := range addresses {
				_, addresses[i] = g.workshop(t)
			}
			write(t, addresses)
			for _, a := range addresses {
				checkWritten(t, open(t, a), 1)
			}
		})
	}
}

// write has a writer for each address import its files, and logs how fast that
// goes.
func write(t *testing.T, addresses []string) {
	t.Helper()
	var wg sync.WaitGroup
	took := make([][]time.Duration, len(addresses))
	errs := make([]error, len(addresses))
	begun := time.Now()
	for i, a := range addresses {
		wg.Go(func() { took[i], errs[i] = writeFiles(t.Context(), a, i) })
	}
	wg.Wait()
	total := time.Since(begun)
	for i, err := range errs {
		if err != nil {
			t.Fatalf("writer %d: %v", i, err)
		}
	}
	single := slices.Sorted(slices.Values(slices.Concat(took...)))
	t.Logf("%.0f rows/s; an import of one row takes %v, of 100 one takes longer than %v",
		float64(len(addresses)*buildsOfWriter())/total.Seconds(), single[len(single)/2], single[len(single)*99/100])
}

// writeFiles imports the files of a writer and returns what those of one row
// took.
func writeFiles(ctx context.Context, address string, writer int) (took []time.Duration, err error) {
	l, err := data.Open(ctx, address, data.ReadWrite)
	if err != nil {
		return nil, err
	}
	defer l.Close()
	for n := range files {
		in := buildsOf(fmt.Sprintf("W%d-%02d-", writer, n), rowsOf(n))
		begun := time.Now()
		out, err := imports(ctx, l, fmt.Sprintf("writer %d, file %d.csv", writer, n), in)
		switch {
		case err != nil:
			return nil, err
		case out.New != len(in):
			return nil, fmt.Errorf("file %d: %d of %d rows are new", n, out.New, len(in))
		case len(in) == 1:
			took = append(took, time.Since(begun))
		}
	}
	return took, nil
}

// rowsOf is how many rows file n of a writer has.
func rowsOf(n int) int {
	if n%2 == 0 {
		return 1
	}
	return rows
}

// buildsOfWriter is how many all of them have.
func buildsOfWriter() (sum int) {
	for n := range files {
		sum += rowsOf(n)
	}
	return sum
}

// checkWritten checks a log that so many have written to.
func checkWritten(t *testing.T, l *data.Log, by int) {
	t.Helper()
	sound(t, l, by*buildsOfWriter())
	sources, err := l.Sources(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if len(sources) != by*files {
		t.Errorf("%d files, want %d", len(sources), by*files)
	}
	for i, s := range sources {
		if s.Number != i+1 {
			t.Fatalf("file %d has the number %d", i+1, s.Number)
		}
	}
	of := map[string]int{}
	for _, row := range all(t, l, model.Builds) {
		of[row.(*model.Build).File]++
	}
	for _, s := range sources {
		if n := of[s.Name]; n != 1 && n != rows {
			t.Errorf("%s brought %d builds", s.Name, n)
		}
	}
}
