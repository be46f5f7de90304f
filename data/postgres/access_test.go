package postgres_test

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"trueplait/data"
	"trueplait/data/postgres/node"
	"trueplait/model"
)

// relation is a table or view of a log, or of a part of it.
type relation struct {
	schema, name, kind string // kind as in pg_class
	columns            []string
	types              []string
}

// sql is its name in statements.
func (r relation) sql() string { return pgx.Identifier{r.schema, r.name}.Sanitize() }

// owned reports whether its rows are somebody's.
func (r relation) owned() bool { return r.has("workshop") }

func (r relation) has(column string) bool { return slices.Contains(r.columns, column) }

// relations lists what there is, from the catalog: a new table cannot be
// forgotten.
func relations(t testing.TB, c *pgx.Conn) (out []relation) {
	t.Helper()
	rows, err := c.Query(t.Context(), `
select n.nspname, c.relname, cast(c.relkind as text), array_agg(cast(a.attname as text) order by a.attnum),
    array_agg(format_type(a.atttypid, null) order by a.attnum)
from pg_class as c
join pg_namespace as n on n.oid = c.relnamespace
join pg_attribute as a on a.attrelid = c.oid and a.attnum > 0 and not a.attisdropped
where (n.nspname = 'trueplait' or n.nspname like 'trueplait\_p%') and c.relkind in ('r', 'p', 'f', 'v')
group by n.nspname, c.relname, c.relkind
order by n.nspname, c.relname`)
	if err != nil {
		t.Fatal(err)
	}
	out, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (r relation, err error) {
		err = row.Scan(&r.schema, &r.name, &r.kind, &r.columns, &r.types)
		return r, err
	})
	if err != nil || len(out) < 20 {
		t.Fatalf("%d tables and views, %v", len(out), err)
	}
	return out
}

// texts reads a column of text.
func texts(t testing.TB, c *pgx.Conn, query string) []string {
	t.Helper()
	rows, err := c.Query(t.Context(), query)
	if err != nil {
		t.Fatal(err)
	}
	out, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// insert words a row of a workshop with something in every column, told to a
// server where the table says so.
func (r relation) insert(workshop string, server int) string {
	values := make([]string, len(r.columns))
	for i, column := range r.columns {
		switch r.types[i] {
		case "text":
			values[i] = "'x'"
		case "date", "timestamp without time zone":
			values[i] = "'2025-01-01'"
		case "boolean":
			values[i] = "true"
		case "bytea":
			values[i] = `'\x00'`
		default:
			values[i] = "1"
		}
		switch column {
		case "workshop":
			values[i] = "'" + strings.ReplaceAll(workshop, "'", "''") + "'"
		case "server":
			values[i] = fmt.Sprintf("'trueplait_%d'", server)
		}
	}
	return fmt.Sprintf("insert into %s (%s) values (%s)", r.sql(), strings.Join(r.columns, ", "), strings.Join(values, ", "))
}

// A workshop sees and changes its own rows: through tables and views, in the
// schemas of parts, and on the servers that keep them.
func TestOthersRowsAreOutOfReach(t *testing.T) {
	for _, shards := range []int{0, 2} {
		t.Run(fmt.Sprintf("%d shards", shards), func(t *testing.T) {
			g := newGuild(t, shards, 3)
			victim, _ := g.workshop(t)
			spy, address := g.workshop(t)
			admin := connect(t, g.admin())
			filled := 0
			for _, r := range relations(t, admin) { // a row of the victim in every table
				if r.schema != "trueplait" || !r.owned() || r.kind != "r" && r.kind != "p" {
					continue
				}
				for i := range max(1, shards) { // a fit is told to every server
					if _, err := admin.Exec(t.Context(), r.insert(victim, i+1)); err != nil {
						t.Fatalf("%s: %v", r.name, err)
					}
					if !r.has("server") {
						break
					}
				}
				filled++
			}
			if filled < 22 {
				t.Fatalf("%d tables have a workshop's rows: some are missed", filled)
			}
			t.Run("log", func(t *testing.T) { tryReach(t, connect(t, address), admin, victim, spy) })
			for i, n := range g.shards {
				t.Run(fmt.Sprintf("server %d", i+1), func(t *testing.T) {
					there := g.spyOn(t, n, i+1, spy)
					if who := one[string](t, there, "select current_user"); who != spy {
						t.Fatalf("connected as %q", who)
					}
					tryReach(t, there, connect(t, n.Address(keeper, g.database)), victim, spy)
				})
			}
		})
	}
}

// spyOn connects a workshop to a server that keeps builds, with the password that
// only the log knows.
func (g *guild) spyOn(t *testing.T, n *node.Node, number int, name string) *pgx.Conn {
	t.Helper()
	const secret = `
select split_part(o, '=', 2)
from pg_user_mappings as m, unnest(m.umoptions) as o
where m.srvname = $1 and m.usename = $2 and o like 'password=%'`
	server := fmt.Sprintf("trueplait_%d", number)
	password := one[string](t, connect(t, g.admin()), secret, server, name)
	var seen string
	err := connect(t, g.server.Address(name, g.database)).QueryRow(t.Context(), secret, server, name).Scan(&seen)
	if !errors.Is(err, pgx.ErrNoRows) {
		t.Errorf("the workshop may read its password for the servers: %v", err)
	}
	as := node.Node{Port: n.Port, Password: password}
	return connect(t, as.Address(name, g.database))
}

// tryReach tries everything on a victim's rows with the connection of a spy, who
// has none itself.
func tryReach(t *testing.T, c, admin *pgx.Conn, victim, spy string) {
	t.Helper()
	leak := `create function pg_temp.leak(text) returns boolean language plpgsql cost 0.0001 as $$
begin if $1 = '` + victim + `' then raise 'leak'; end if; return true; end $$`
	if _, err := c.Exec(t.Context(), leak); err != nil {
		t.Fatal(err)
	}
	unowned := map[string]bool{"schema_migration": true, "part_server": true, "maker_hash": true} // show nothing of anybody
	// With the rights of its owner, a view would write what the spy may not.
	for _, name := range texts(t, admin, `
select cast(c.oid as regclass) || ''
from pg_class as c
join pg_namespace as n on n.oid = c.relnamespace
where n.nspname like 'trueplait%' and c.relkind = 'v' and not coalesce(c.reloptions, '{}') @> '{security_invoker=true}'`) {
		t.Errorf("%s has the rights of its owner", name)
	}
	written := 0
	for _, r := range relations(t, admin) {
		var n int
		shown := c.QueryRow(t.Context(), "select count(*) from "+r.sql()).Scan(&n)
		switch {
		case shown != nil && !refused(shown):
			t.Errorf("%s.%s: %v", r.schema, r.name, shown)
		case n > 0 && !unowned[r.name]:
			t.Errorf("%s.%s shows %d rows", r.schema, r.name, n)
		case shown == nil && r.kind == "r" && !r.owned() && !unowned[r.name]:
			t.Errorf("%s.%s has rows of nobody, and may be read", r.schema, r.name)
		}
		if !r.owned() {
			for _, statement := range []string{
				"update " + r.sql() + " set " + r.columns[0] + " = " + r.columns[0], "delete from " + r.sql(), r.insert(spy, 1),
			} {
				if tag, err := c.Exec(t.Context(), statement); err == nil && tag.RowsAffected() > 0 {
					t.Errorf("%s: %d rows", statement, tag.RowsAffected())
				}
			}
			continue
		}
		if _, err := c.Exec(t.Context(), "select 1 from "+r.sql()+" where pg_temp.leak(workshop)"); err != nil && !refused(err) {
			t.Errorf("%s.%s: a function is shown the rows: %v", r.schema, r.name, err)
		}
		for _, statement := range []string{
			"update " + r.sql() + " set workshop = workshop",
			"update " + r.sql() + " set workshop = '" + spy + "'",
			"delete from " + r.sql(),
		} {
			tag, err := c.Exec(t.Context(), statement)
			if err != nil && !refused(err) || tag.RowsAffected() > 0 {
				t.Errorf("%s: %d rows, %v", statement, tag.RowsAffected(), err)
			}
		}
		own, other := try(t, c, r.insert(spy, 1)), try(t, c, r.insert(victim, 1))
		if own == nil {
			written++
		}
		if !refused(other) && !(other != nil && own != nil) {
			t.Errorf("%s.%s: a row in another's name: %v", r.schema, r.name, other)
		}
		// A row of one's own cannot be given away either.
		if own == nil {
			if err := try(t, c, r.insert(spy, 1), "update "+r.sql()+" set workshop = '"+victim+"'"); !refused(err) {
				t.Errorf("%s.%s: a row given away: %v", r.schema, r.name, err)
			}
		}
	}
	if written < 20 {
		t.Errorf("the spy may write rows of its own into %d tables: the test looks past the others", written)
	}
	for _, statement := range []string{
		"insert into schema_migration (version, name) values (99, 'x')",
		"update schema_migration set name = name",
		"delete from schema_migration",
		"create table trueplait.x (x integer)",
		"create view trueplait.x as select 1",
		"create function trueplait.x() returns integer language sql as 'select 1'",
		"create schema x",
		"drop table build",
		"drop function figure",
		"alter table source disable row level security",
		"alter table source no force row level security",
		"create policy x on source using (true)",
		"drop policy own on source",
		"create trigger x before insert on source for each row execute function suppress_redundant_updates_trigger()",
		"truncate source",
		"set role trueplait_workshop; create table trueplait.x (x integer)",
		`set role "` + victim + `"`,
		`set session authorization "` + victim + `"`,
		`alter role "` + spy + `" superuser`,
		`alter role "` + spy + `" bypassrls`,
		`alter role "` + victim + `" password 'x'`,
		`grant "` + victim + `" to "` + spy + `"`,
		"create role x",
	} {
		if err := try(t, c, statement); !refused(err) {
			t.Errorf("%s: %v", statement, err)
		}
	}
	for _, r := range relations(t, admin) {
		if r.schema != "trueplait" || !r.owned() || r.kind != "r" && r.kind != "p" {
			continue
		}
		if n := one[int](t, admin, "select count(*) from "+r.sql()+" where workshop <> $1", victim); n > 0 {
			t.Errorf("%s has %d rows of others", r.name, n)
		}
	}
}

// try runs statements, undoes them, and returns what went wrong.
func try(t testing.TB, c *pgx.Conn, statements ...string) (err error) {
	t.Helper()
	tx, err := c.Begin(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if failed := tx.Rollback(t.Context()); failed != nil {
			t.Fatal(failed)
		}
	}()
	for _, s := range statements {
		if _, err := tx.Exec(t.Context(), s); err != nil {
			return err
		}
	}
	return nil
}

// refused reports whether an error says that a role may not do that.
func refused(err error) bool {
	var said *pgconn.PgError
	return errors.As(err, &said) && said.Code == "42501"
}

// Who is above row-level security is no workshop.
func TestSuperuserIsNoWorkshop(t *testing.T) {
	g := newGuild(t, 0, 0)
	for _, mode := range []data.Mode{data.ReadOnly, data.ReadWrite} {
		l, err := data.Open(t.Context(), g.admin(), mode)
		if err == nil {
			l.Close()
		}
		if err == nil || !strings.Contains(err.Error(), "sees the rows of every workshop") {
			t.Errorf("mode %v: %v", mode, err)
		}
	}
}

// The pool shows the moments of what five others share, and nothing of four.
func TestPoolHidesFew(t *testing.T) {
	for _, shards := range []int{0, 2} {
		g := newGuild(t, shards, 3)
		_, address := g.workshop(t)
		reader := open(t, address)
		share := func(l *data.Log, value float64) {
			t.Helper()
			err := l.SharePool(t.Context(), []model.Shared{{Quantity: model.Shot, Parameter: "mean", Value: value, SE: 0.1}})
			if err != nil {
				t.Fatal(err)
			}
		}
		share(reader, 100) // one's own does not count
		for n := 1; n <= 5; n++ {
			share(g.newLog(t), float64(n))
			p, err := reader.Pool(t.Context())
			if err != nil || p.Workshops != n {
				t.Fatalf("%d others share: %+v, %v", n, p, err)
			}
			if n < model.LeastPool {
				if len(p.Parameters) > 0 {
					t.Errorf("of %d others, the pool shows %+v", n, p.Parameters)
				}
				continue
			}
			if len(p.Parameters) != 1 {
				t.Fatalf("of %d others, the pool shows %+v", n, p.Parameters)
			}
			got := p.Parameters[0]
			if got.Workshops != 5 || got.Mean != 3 || math.Abs(got.Variance-2.5) > 1e-12 || math.Abs(got.SquaredSE-0.01) > 1e-12 {
				t.Errorf("of 1 to 5, the pool has %+v", got)
			}
		}
		c := connect(t, address)
		if n := one[int](t, c, "select count(*) from pool_share where value <> 100"); n > 0 {
			t.Errorf("%d figures of others are shown", n)
		}
		if n := one[int](t, c, "select count(*) from pool_share"); n != 1 {
			t.Errorf("%d figures are shown, want one's own", n)
		}
	}
}
