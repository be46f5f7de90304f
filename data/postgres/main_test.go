package postgres_test

import (
	"context"
	"errors"
	"fmt"
	"iter"
	"os"
	"slices"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"trueplait/data"
	"trueplait/data/postgres/node"
	"trueplait/model"
)

// The servers of all tests of the package, each of which has databases and
// workshops of its own on them: the first answers for a log, the others keep
// builds. None, where the machine has no PostgreSQL.
var nodes []*node.Node

func TestMain(m *testing.M) {
	if err := start(4); err != nil && !errors.Is(err, node.ErrNone) {
		fmt.Println(err)
		os.Exit(1)
	}
	code := m.Run()
	for _, n := range nodes {
		if err := n.Remove(); err != nil {
			fmt.Println(err)
			code = 1
		}
	}
	os.Exit(code)
}

// start starts so many servers.
func start(count int) error {
	var wg sync.WaitGroup
	started, errs := make([]*node.Node, count), make([]error, count)
	for i := range count {
		wg.Go(func() { started[i], errs[i] = node.Start() })
	}
	wg.Wait()
	for _, n := range started {
		if n != nil {
			nodes = append(nodes, n)
		}
	}
	return errors.Join(errs...)
}

// keeper is the superuser, who owns the tables.
const keeper = "postgres"

// guild is a log that workshops share.
type guild struct {
	database string
	server   *node.Node   // that workshops know
	shards   []*node.Node // that builds are divided among; none: server keeps them
}

var guilds, workshops atomic.Int32 // made so far

// newGuild sets up a log on a server, in parts on so many others.
func newGuild(t testing.TB, shards, parts int) *guild {
	t.Helper()
	if len(nodes) == 0 {
		node.Need(t) // says what is missing
	}
	g := &guild{database: fmt.Sprintf("guild %d", guilds.Add(1)), server: nodes[0], shards: nodes[1 : 1+shards]}
	for _, n := range nodes {
		if err := n.Database(g.database, keeper, ""); err != nil {
			t.Fatal(err)
		}
	}
	c := data.Cluster{Parts: parts}
	for _, n := range g.shards {
		c.Shards = append(c.Shards, n.Address(keeper, g.database))
	}
	if err := data.SetUpServer(t.Context(), g.admin(), c); err != nil {
		t.Fatal(err)
	}
	return g
}

// admin is the log's address as its keeper.
func (g *guild) admin() string { return g.server.Address(keeper, g.database) }

// parts lists the parts that a server keeps, by number.
func (g *guild) parts(t testing.TB, on *node.Node) (out []int) {
	t.Helper()
	parts, err := data.Parts(t.Context(), g.admin())
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range parts {
		if p.Server == g.place(on) {
			out = append(out, p.Number)
		}
	}
	return out
}

// place is where a server's share of the log is, as people see it.
func (g *guild) place(n *node.Node) string { return fmt.Sprintf("127.0.0.1:%d/%s", n.Port, g.database) }

// workshop makes a workshop and returns its name and the address of its log.
func (g *guild) workshop(t testing.TB) (name, address string) {
	t.Helper()
	name = fmt.Sprintf("Shop %d", workshops.Add(1))
	if err := data.AddWorkshop(t.Context(), g.admin(), name, g.server.Password); err != nil {
		t.Fatal(err)
	}
	return name, g.server.Address(name, g.database)
}

// newLog is the empty log of a new workshop.
func (g *guild) newLog(t testing.TB) *data.Log {
	t.Helper()
	_, address := g.workshop(t)
	return open(t, address)
}

// open opens a log until the test ends.
func open(t testing.TB, address string) *data.Log {
	t.Helper()
	l, err := data.Open(t.Context(), address, data.ReadWrite)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { l.Close() })
	return l
}

// connect connects to a log's database, for statements that no program makes.
func connect(t testing.TB, address string) *pgx.Conn {
	t.Helper()
	config, err := pgx.ParseConfig(address)
	if err != nil {
		t.Fatal(err)
	}
	config.RuntimeParams["search_path"] = "trueplait, pg_catalog"
	c, err := pgx.ConnectConfig(t.Context(), config)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { c.Close(context.Background()) })
	return c
}

// one reads a value.
func one[T any](t testing.TB, c *pgx.Conn, query string, args ...any) (out T) {
	t.Helper()
	if err := c.QueryRow(t.Context(), query, args...).Scan(&out); err != nil {
		t.Fatalf("%s: %v", query, err)
	}
	return out
}

var noon = time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)

// imports imports a file of rows of one kind, which get the lines 2, 3, …
func imports(ctx context.Context, l *data.Log, name string, rows []model.Row) (data.Outcome, error) {
	im, err := l.Begin(ctx, noon)
	if err != nil {
		return data.Outcome{}, err
	}
	out, err := reads(ctx, im, name, slices.All(rows))
	if err != nil {
		return out, errors.Join(err, im.Rollback())
	}
	return out, im.Commit(ctx)
}

// reads is imports within an import.
func reads(ctx context.Context, im *data.Import, name string, rows iter.Seq2[int, model.Row]) (out data.Outcome, err error) {
	var f *data.File
	for i, row := range rows {
		if f == nil {
			if f, err = im.File(name, row.Kind()); err != nil {
				return out, err
			}
		}
		if _, err := fmt.Fprintf(f, "%s,%d\n", row.Key(), i); err != nil {
			return out, err
		}
		if err := f.Add(row); err != nil {
			return out, err
		}
	}
	return f.Finish(ctx, data.FinishOptions{})
}

// mustImport is imports, of rows that are all new.
func mustImport(t testing.TB, l *data.Log, name string, rows []model.Row) {
	t.Helper()
	out, err := imports(t.Context(), l, name, rows)
	if err != nil || out.New != len(rows) {
		t.Fatalf("%s: %d new of %d, %v", name, out.New, len(rows), err)
	}
}

// build is a build by a maker.
func build(id, maker string, line int) *model.Build {
	return &model.Build{
		Origin: model.Origin{Line: line}, ID: id, Date: noon.Truncate(24*time.Hour).AddDate(0, 0, -line%300),
		Labels:           model.Labels{Maker: maker, Product: "6 ft", CoreBatch: "C1", StrandBatch: "N1", ShotBatch: "S1"},
		PredictedWeightG: 400, PredictedLengthMM: 1800, PredictedShotG: 80, PredictedStrandMM: model.Unknown,
		ShotFactor: model.Unknown, BodyFactor: model.Unknown, LengthFactor: model.Unknown,
		WeightG: 405 + float64(line%9), LengthMM: 1810 + float64(line%7), ShotUsedG: 78 + float64(line%5),
		StrandCutMM: model.Unknown, StrandLeftMM: model.Unknown, LoadLengthMM: model.Unknown, Humidity: model.Unknown,
	}
}

// buildsOf is a file of builds by 12 makers, whom every part has some of.
func buildsOf(prefix string, count int) []model.Row {
	out := make([]model.Row, count)
	for i := range out {
		out[i] = build(fmt.Sprintf("%s%06d", prefix, i), fmt.Sprintf("maker %d", i%12), i+2)
	}
	return out
}

// all lists every row of a kind.
func all(t testing.TB, l *data.Log, kind model.Kind) (out []model.Row) {
	t.Helper()
	for row, err := range l.Rows(t.Context(), kind, time.Time{}) {
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, row)
	}
	return out
}

// sound checks that a log keeps its promises and has so many builds, each once.
func sound(t testing.TB, l *data.Log, builds int) {
	t.Helper()
	invariants, err := l.Invariants(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, i := range invariants {
		if len(i.Broken) > 0 {
			t.Errorf("not so: %s: %d times, first %v", i.Holds, len(i.Broken), i.Broken[0])
		}
	}
	ids := map[string]bool{}
	rows := all(t, l, model.Builds)
	for _, row := range rows {
		ids[row.Key()] = true
	}
	if len(rows) != builds || len(ids) != builds {
		t.Errorf("%d builds with %d ids, want %d", len(rows), len(ids), builds)
	}
}
