package postgres_test

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"testing"
	"time"

	"trueplait/data"
	"trueplait/data/postgres/node"
	"trueplait/model"
)

// A server that dies during an import, or between the rows and the commit, is
// named; after it is back, the same import brings every row once, even if
// another file came before.
func TestServerDiesDuringImport(t *testing.T) {
	const count = 30_000
	rows := buildsOf("B", count)
	whole := time.Duration(0) // what an undisturbed import takes
	for _, at := range []struct {
		name   string
		share  float64 // of the whole time that has passed
		commit bool    // when all rows are read
	}{
		{"undisturbed", -1, false},
		{"at the start", 0.02, false},
		{"early", 0.2, false},
		{"in the middle", 0.5, false},
		{"late", 0.8, false},
		{"before the commit", 0, true},
	} {
		for shard := range 2 {
			if at.share < 0 && shard > 0 {
				continue
			}
			t.Run(fmt.Sprintf("%s, server %d", at.name, shard+1), func(t *testing.T) {
				g := newGuild(t, 2, 5)
				_, address := g.workshop(t)
				l := open(t, address)
				mustImport(t, l, "before.csv", buildsOf("A", 50))
				if at.share < 0 {
					begun := time.Now()
					mustImport(t, l, "builds.csv", rows)
					whole = time.Since(begun)
					return
				}
				victim := g.shards[shard]
				err := killedImport(t, l, rows, victim, time.Duration(at.share*float64(whole)), at.commit)
				named(t, g, victim, err)
				if err := victim.Resume(); err != nil {
					t.Fatal(err)
				}
				mustImport(t, l, "another.csv", buildsOf("C", 30))
				out, err := imports(t.Context(), l, "builds.csv", rows)
				if err != nil {
					t.Fatalf("again: %v", err)
				}
				t.Logf("again: %d new, %d there already", out.New, out.Same)
				if out.New+out.Same != count || len(out.Conflicts) > 0 {
					t.Errorf("again: %d new, %d the same, %d conflicts", out.New, out.Same, len(out.Conflicts))
				}
				sound(t, l, count+80)
				if c := fit(t, l); c.Builds != count+80 {
					t.Errorf("%d builds calibrated, want %d", c.Builds, count+80)
				}
			})
		}
	}
}

// killedImport imports builds and kills a server after a while, or between the
// rows and the commit.
func killedImport(t *testing.T, l *data.Log, rows []model.Row, victim *node.Node, after time.Duration, commit bool) error {
	t.Helper()
	if !commit {
		killed := make(chan error, 1)
		go func() {
			time.Sleep(after)
			killed <- victim.Kill()
		}()
		_, err := imports(t.Context(), l, "builds.csv", rows)
		if err := <-killed; err != nil {
			t.Fatal(err)
		}
		return err
	}
	im, err := l.Begin(t.Context(), noon)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := reads(t.Context(), im, "builds.csv", rows); err != nil {
		t.Fatal(err)
	}
	if err := victim.Kill(); err != nil {
		t.Fatal(err)
	}
	return im.Commit(t.Context())
}

// named checks that an error says which server it is about, and no password.
func named(t *testing.T, g *guild, victim *node.Node, err error) {
	t.Helper()
	if err == nil {
		t.Error("no error, though the server is down")
		return
	}
	said := err.Error()
	place, name := "127.0.0.1:"+strconv.Itoa(victim.Port), ""
	for i, n := range g.shards {
		if n == victim {
			name = fmt.Sprintf("trueplait_%d", i+1)
		}
	}
	if !strings.Contains(said, place) && !strings.Contains(said, name) {
		t.Errorf("the error names neither %s nor %s: %s", place, name, said)
	}
	if strings.Contains(said, victim.Password) || strings.Contains(said, g.server.Password) || strings.Contains(said, "password") {
		t.Errorf("the error speaks of passwords: %s", said)
	}
}

// While a server is down nothing partial is shown as whole: whoever asks for all
// builds is told which one it is. Afterwards all is as it was.
func TestServerDown(t *testing.T) {
	g := newGuild(t, 2, 5)
	_, address := g.workshop(t)
	l := open(t, address)
	mustImport(t, l, "builds.csv", buildsOf("B", 600))
	before := fit(t, l)
	for i, victim := range g.shards {
		asked := open(t, address) // connected to all servers before, as l is
		fit(t, asked)
		if err := victim.Kill(); err != nil {
			t.Fatal(err)
		}
		fresh := open(t, address)
		for name, l := range map[string]*data.Log{"connected before": asked, "connected after": fresh} {
			for what, ask := range map[string]func(context.Context) error{
				"calibrate": func(ctx context.Context) error { _, err := calibrates(ctx, l); return err },
				"rows": func(ctx context.Context) error {
					var failed error
					for _, err := range l.Rows(ctx, model.Builds, time.Time{}) {
						failed = errors.Join(failed, err)
					}
					return failed
				},
				"search": func(ctx context.Context) error {
					rows, total, err := l.Search(ctx, model.Builds, "", 10, 0)
					if err != nil && (len(rows) > 0 || total > 0) {
						t.Errorf("search shows %d rows of %d beside an error", len(rows), total)
					}
					return err
				},
				"fingerprint": func(ctx context.Context) error { _, err := l.Fingerprint(ctx, time.Time{}); return err },
				"invariants":  func(ctx context.Context) error { _, err := l.Invariants(ctx); return err },
			} {
				t.Run(fmt.Sprintf("server %d, %s, %s", i+1, name, what), func(t *testing.T) {
					named(t, g, victim, ask(t.Context()))
				})
			}
		}
		if err := victim.Resume(); err != nil {
			t.Fatal(err)
		}
		for _, l := range []*data.Log{asked, fresh} {
			sound(t, l, 600)
			if after := fit(t, l); after.Quantities[0].Overall != before.Quantities[0].Overall {
				t.Errorf("after server %d was down: %+v, want %+v", i+1, after.Quantities[0].Overall, before.Quantities[0].Overall)
			}
		}
	}
}
