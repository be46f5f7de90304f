package postgres_test

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"trueplait/data"
	"trueplait/data/postgres/node"
	"trueplait/model"
)

// A server that dies during an import is named; after it is back, the same
// import brings every row once, even if another file came before.
func TestServerDiesDuringImport(t *testing.T) {
	rows := buildsOf("B", 12_000)
	g := newGuild(t, 2, 5)
	for i, at := range []int{1, len(rows) / 2, len(rows) - 1} {
		t.Run(fmt.Sprintf("row %d", at), func(t *testing.T) {
			l := g.newLog(t)
			mustImport(t, l, "A.csv", buildsOf("A", 50))
			im, err := l.Begin(t.Context(), noon)
			if err != nil {
				t.Fatal(err)
			}
			victim, killed := g.shards[i%2], make(chan error, 1)
			_, err = reads(t.Context(), im, "B.csv", func(yield func(int, model.Row) bool) {
				for n, row := range rows {
					if n == at {
						go func() { killed <- victim.Kill() }()
					}
					if !yield(n, row) {
						return
					}
				}
			})
			if err := <-killed; err != nil {
				t.Fatal(err)
			}
			if err == nil {
				err = im.Commit(t.Context())
			}
			named(t, g, victim, errors.Join(err, im.Rollback()))
			if err := victim.Resume(); err != nil {
				t.Fatal(err)
			}
			again(t, l, "B", rows, 50)
		})
	}
}

// A server that is dead before the commit is noticed before any other commits.
func TestServerDiesBeforeCommit(t *testing.T) {
	g := newGuild(t, 2, 5)
	for i, victim := range g.shards {
		l, rows := g.newLog(t), buildsOf("B", 3_000)
		im, err := l.Begin(t.Context(), noon)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := reads(t.Context(), im, "B.csv", slices.All(rows)); err != nil {
			t.Fatal(err)
		}
		if err := victim.Kill(); err != nil {
			t.Fatal(err)
		}
		named(t, g, victim, im.Commit(t.Context()))
		if err := victim.Resume(); err != nil {
			t.Fatal(err)
		}
		if kept := again(t, l, "B", rows, 0); kept > 0 {
			t.Errorf("server %d was dead, and others kept %d builds", i+1, kept)
		}
	}
}

// Servers commit one after the other. Where one cannot, what another has kept is
// known to be of the file, and the same import brings the rest.
func TestServerFailsToCommit(t *testing.T) {
	g := newGuild(t, 2, 5)
	l := g.newLog(t) // one, or the order in which servers commit would be another
	before, most := 0, 0
	for i, prefix := range []string{"B", "D"} {
		victim, rows := g.shards[i], buildsOf(prefix, 3_000)
		do := func(statements ...string) {
			t.Helper()
			if err := victim.Do(g.database, statements...); err != nil {
				t.Fatal(err)
			}
		}
		do("create function trueplait.refuse() returns trigger language plpgsql as $$ begin raise 'the disk is full'; end $$")
		for _, p := range g.parts(t, victim) {
			do(fmt.Sprintf("create constraint trigger refuse after insert on trueplait_p%03d.build "+
				"deferrable initially deferred for each row execute function trueplait.refuse()", p))
		}
		if _, err := imports(t.Context(), l, prefix+".csv", rows); err == nil || !strings.Contains(err.Error(), "the disk is full") {
			t.Fatalf("a server refuses to commit: %v", err)
		}
		do("drop function trueplait.refuse cascade")
		kept := again(t, l, prefix, rows, before)
		before, most = before+len(rows)+30, max(most, kept)
	}
	if most == 0 {
		t.Error("no server kept anything: the test looks past what it is for")
	}
}

// again imports another file and then rows whose import broke off. It returns
// how many of them were there already.
func again(t *testing.T, l *data.Log, prefix string, rows []model.Row, before int) (kept int) {
	t.Helper()
	there := len(all(t, l, model.Builds))
	sound(t, l, there)
	next := string(prefix[0] + 1)
	mustImport(t, l, next+".csv", buildsOf(next, 30))
	out, err := imports(t.Context(), l, prefix+".csv", rows)
	if err != nil {
		t.Fatalf("again: %v", err)
	}
	if out.Same != there-before || out.New+out.Same != len(rows) || len(out.Conflicts) > 0 {
		t.Errorf("again: %d new, %d the same of %d, %d conflicts", out.New, out.Same, there-before, len(out.Conflicts))
	}
	sound(t, l, before+len(rows)+30)
	for _, row := range all(t, l, model.Builds) {
		if b := row.(*model.Build); b.File != b.ID[:1]+".csv" {
			t.Fatalf("build %s is said to be from %s", b.ID, b.File)
		}
	}
	return out.Same
}

// named checks that an error says which server it is about, and no password.
func named(t *testing.T, g *guild, victim *node.Node, err error) {
	t.Helper()
	if err == nil {
		t.Error("no error, though the server is down")
		return
	}
	said := data.InWords(g.admin(), err).Error() // as the maker reads it
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
	before, err := l.Fingerprint(t.Context(), time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	for i, victim := range g.shards {
		asked := open(t, address) // and connected to all servers
		sound(t, asked, 600)
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
		}
	}
	if after, err := l.Fingerprint(t.Context(), time.Time{}); err != nil || after != before {
		t.Errorf("after servers were down: fingerprint %s, %v, want %s", after, err, before)
	}
}
