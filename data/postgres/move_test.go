package postgres_test

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"trueplait/data"
	"trueplait/data/postgres"
	"trueplait/data/postgres/node"
	"trueplait/model"
)

// third is a server that is new to a divided log.
func third() *node.Node { return nodes[3] }

// move moves a part of the log.
func (g *guild) move(ctx context.Context, part int, to *node.Node) (int, error) {
	return data.MovePart(ctx, g.admin(), part, to.Address(keeper, g.database))
}

// hasSchema reports whether a server has the schema of a part.
func (g *guild) hasSchema(t testing.TB, n *node.Node, part int) bool {
	t.Helper()
	c := connect(t, n.Address(keeper, g.database))
	return one[bool](t, c, "select exists (select 1 from pg_namespace where nspname = $1)", fmt.Sprintf("trueplait_p%03d", part))
}

// A part moves to a server that is new to the log while one workshop writes and
// another reads: nothing is lost or doubled, and all is as it was.
func TestMovePart(t *testing.T) {
	g := newGuild(t, 2, 5)
	_, address := g.workshop(t)
	l := open(t, address)
	mustImport(t, l, "builds.csv", buildsOf("B", 600))
	amend(t, l, buildsOf("B", 20)) // so that there is a history
	before, was := fit(t, l), all(t, l, model.Builds)

	_, other := g.workshop(t)
	var stop atomic.Bool
	var group sync.WaitGroup
	var wrote, seen int
	var writing, reading error
	group.Go(func() {
		w, err := data.Open(t.Context(), other, data.ReadWrite)
		if writing = err; err != nil {
			return
		}
		defer w.Close()
		for ; !stop.Load() && writing == nil; wrote++ {
			_, writing = imports(t.Context(), w, fmt.Sprintf("%d.csv", wrote), buildsOf(fmt.Sprintf("W%04d-", wrote), 24))
		}
	})
	group.Go(func() {
		r, err := data.Open(t.Context(), address, data.ReadOnly)
		if reading = err; err != nil {
			return
		}
		defer r.Close()
		for ; !stop.Load() && reading == nil; seen++ {
			n := 0
			for _, err := range r.Rows(t.Context(), model.Builds, time.Time{}) {
				reading = errors.Join(reading, err)
				n++
			}
			if n != 600 && reading == nil {
				reading = fmt.Errorf("%d builds are read, want 600", n)
			}
		}
	})
	time.Sleep(200 * time.Millisecond) // both are at it
	for _, part := range g.parts(t, g.shards[0]) {
		if _, err := g.move(t.Context(), part, third()); err != nil {
			t.Errorf("part %d: %v", part, err)
		}
		if g.hasSchema(t, g.shards[0], part) || !g.hasSchema(t, third(), part) {
			t.Errorf("part %d: still on the old server, or not on the new one", part)
		}
	}
	time.Sleep(200 * time.Millisecond) // both go on
	stop.Store(true)
	group.Wait()
	if writing != nil || reading != nil || wrote < 2 || seen < 2 {
		t.Errorf("meanwhile %d files are written, %v; %d times all is read, %v", wrote, writing, seen, reading)
	}
	if left := g.parts(t, g.shards[0]); len(left) > 0 {
		t.Errorf("parts %v are on the old server", left)
	}
	if got := g.parts(t, third()); len(got) != 3 {
		t.Errorf("parts %v are on the new server", got)
	}

	l = open(t, address)
	sound(t, l, 600)
	if !slices.EqualFunc(was, all(t, l, model.Builds), func(a, b model.Row) bool {
		return fmt.Sprintf("%+v", a) == fmt.Sprintf("%+v", b)
	}) {
		t.Error("rows are others than before the move")
	}
	if got := fit(t, l).Quantities[0].Overall; got != before.Quantities[0].Overall {
		t.Errorf("the fit is %+v, was %+v", got, before.Quantities[0].Overall)
	}
	sound(t, open(t, other), 24*wrote)
	late := g.newLog(t) // of a workshop that came after the move
	mustImport(t, late, "builds.csv", buildsOf("B", 60))
	sound(t, late, 60)
}

// amend imports builds again, each a gram heavier.
func amend(t testing.TB, l *data.Log, rows []model.Row) {
	t.Helper()
	im, err := l.Begin(t.Context(), noon.Add(time.Hour))
	if err != nil {
		t.Fatal(err)
	}
	f, err := im.File("amended.csv", model.Builds)
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range rows {
		row.(*model.Build).WeightG++
		if err := f.Add(row); err != nil {
			t.Fatal(err)
		}
	}
	out, err := f.Finish(t.Context(), data.FinishOptions{Amend: true})
	if err != nil || out.Amended != len(rows) {
		t.Fatalf("%d amended of %d, %v", out.Amended, len(rows), err)
	}
	if err := im.Commit(t.Context()); err != nil {
		t.Fatal(err)
	}
}

// What is not the same after it was copied does not move, and neither does what
// cannot.
func TestMovePartRefused(t *testing.T) {
	g := newGuild(t, 2, 5)
	l := g.newLog(t)
	mustImport(t, l, "builds.csv", buildsOf("B", 120))
	before, err := data.Parts(t.Context(), g.admin())
	if err != nil {
		t.Fatal(err)
	}
	// A trigger of the database makes every new table of builds of the new server
	// change what comes in.
	err = third().Do(g.database, `
create function public.change() returns trigger language plpgsql as $$ begin new.weight_g = new.weight_g + 1; return new; end $$;
create function public.spoil() returns event_trigger language plpgsql as $$
declare
    made record;
begin
    for made in select * from pg_event_trigger_ddl_commands() where object_type = 'table' and object_identity like 'trueplait\_p%.build' loop
        execute format('create or replace trigger change before insert on %s for each row execute function public.change()', made.object_identity);
    end loop;
end
$$;
create event trigger spoil on ddl_command_end when tag in ('CREATE TABLE') execute function public.spoil();`)
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range []struct {
		name string
		part int
		to   *node.Node
		want error
	}{
		{"a copy that differs", 0, third(), postgres.ErrCopy},
		{"where it is", 0, g.shards[0], postgres.ErrThere},
		{"no such part", 5, g.shards[1], postgres.ErrNoPart},
		{"a negative part", -1, g.shards[1], postgres.ErrNoPart},
	} {
		if _, err := g.move(t.Context(), x.part, x.to); !errors.Is(err, x.want) {
			t.Errorf("%s: %v, want %v", x.name, err, x.want)
		}
		after, err := data.Parts(t.Context(), g.admin())
		if err != nil || !slices.Equal(before, after) {
			t.Errorf("%s: parts %v, %v, want %v", x.name, after, err, before)
		}
		sound(t, l, 120)
	}
	if err := third().Do(g.database, "drop event trigger spoil"); err != nil {
		t.Fatal(err)
	}
	if _, err := g.move(t.Context(), 0, third()); err != nil { // what was left there is in nobody's way
		t.Errorf("again: %v", err)
	}
	sound(t, l, 120)
	if _, err := newGuild(t, 0, 0).move(t.Context(), 0, third()); !errors.Is(err, postgres.ErrWhole) {
		t.Errorf("of a log that is not divided: %v, want %v", err, postgres.ErrWhole)
	}
}

// A log is divided once, when it is empty, into a sensible number of parts.
func TestSetUpServer(t *testing.T) {
	whole, divided := newGuild(t, 0, 0), newGuild(t, 2, 3)
	shards := func(g *guild, ns ...*node.Node) (out []string) {
		for _, n := range ns {
			out = append(out, n.Address(keeper, g.database))
		}
		return out
	}
	mustImport(t, whole.newLog(t), "builds.csv", buildsOf("B", 5))
	for _, x := range []struct {
		name string
		g    *guild
		c    data.Cluster
		want string // "": it works
	}{
		{"again", whole, data.Cluster{}, ""},
		{"again, divided", divided, data.Cluster{}, ""},
		{"with builds in it", whole, data.Cluster{Shards: shards(whole, nodes[1]), Parts: 3}, postgres.ErrHolds.Error()},
		{"divided twice", divided, data.Cluster{Shards: shards(divided, nodes[1], nodes[2]), Parts: 3}, postgres.ErrDivided.Error()},
		{"no parts", whole, data.Cluster{Shards: shards(whole, nodes[1])}, "0 parts for 1 servers"},
		{"too few", whole, data.Cluster{Shards: shards(whole, nodes[1], nodes[2]), Parts: 1}, "1 parts for 2 servers"},
		{"too many", whole, data.Cluster{Shards: shards(whole, nodes[1]), Parts: data.MostParts + 1}, "257 parts"},
		{"a server twice", whole, data.Cluster{Shards: shards(whole, nodes[1], nodes[1]), Parts: 3}, "is named twice"},
		{"no address", whole, data.Cluster{Shards: []string{"postgres://%"}, Parts: 3}, "not an address"},
	} {
		err := data.SetUpServer(t.Context(), x.g.admin(), x.c)
		switch {
		case x.want == "" && err != nil:
			t.Errorf("%s: %v", x.name, err)
		case x.want != "" && (err == nil || !strings.Contains(err.Error(), x.want)):
			t.Errorf("%s: %v, want %s", x.name, err, x.want)
		case err != nil && strings.Contains(err.Error(), x.g.server.Password):
			t.Errorf("%s: the error has the password: %v", x.name, err)
		}
	}
	mustImport(t, divided.newLog(t), "builds.csv", buildsOf("B", 24))
	mustImport(t, whole.newLog(t), "builds.csv", buildsOf("B", 24))
}

// A workshop may have any name of 1 to 63 bytes that no role has.
func TestWorkshopNames(t *testing.T) {
	for shards, g := range map[int]*guild{0: newGuild(t, 0, 0), 2: newGuild(t, 2, 3)} {
		taken, _ := g.workshop(t)
		for _, x := range []struct {
			name string
			want error
		}{
			{taken, postgres.ErrTaken},
			{keeper, postgres.ErrTaken},
			{"trueplait_workshop", postgres.ErrTaken},
			{"", postgres.ErrName},
			{strings.Repeat("é", 32), postgres.ErrName}, // 64 bytes
			{strings.Repeat("é", 31) + "a", nil},
			{`Anna's "best" whips; drop table build --`, nil},
			{" spaces  in it ", nil},
			{"$1 %s %I \\", nil},
			{"SHOP", nil},
			{"shop", nil},
		} {
			name := x.name
			if x.want == nil && shards > 0 { // roles are of all databases of a server
				name = name[:len(name)-1] + "2"
			}
			err := data.AddWorkshop(t.Context(), g.admin(), name, g.server.Password)
			if !errors.Is(err, x.want) {
				t.Errorf("%d shards, %q: %v, want %v", shards, name, err, x.want)
				continue
			}
			if err != nil {
				continue
			}
			l := open(t, g.server.Address(name, g.database))
			mustImport(t, l, "builds.csv", buildsOf("B", 24))
			sound(t, l, 24)
		}
		if err := data.AddWorkshop(t.Context(), g.admin(), "no password", ""); !errors.Is(err, postgres.ErrPassword) {
			t.Errorf("%d shards, no password: %v", shards, err)
		}
	}
}
