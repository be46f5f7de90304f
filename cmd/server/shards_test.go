package server

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"trueplait/data/postgres/node"
)

// shown is what server show says of a part.
type shown struct {
	Part   int
	Server string
	Builds int
}

// show asks which part is where.
func (g guild) show(t *testing.T) []shown {
	t.Helper()
	var out struct{ Parts []shown }
	text := g.run(t, superuser, "server", "show", "--json")
	if err := json.Unmarshal([]byte(text), &out); err != nil {
		t.Fatalf("%v:\n%s", err, text)
	}
	return out.Parts
}

// Builds are divided among servers and moved between them by commands, and a
// workshop sees the same log before and after. Without one of them nothing
// partial is shown as whole.
func TestShards(t *testing.T) {
	whole := guild{node.Need(t), t.TempDir()}
	if err := whole.Database(database, superuser, ""); err != nil {
		t.Fatal(err)
	}
	shards := []guild{}
	// All nodes have passwords of their own, so they stand in a file.
	passwords := ""
	for _, n := range []*node.Node{whole.Node, node.Need(t), node.Need(t)} {
		if n != whole.Node {
			s := guild{n, whole.dir}
			if err := s.Database(database, superuser, ""); err != nil {
				t.Fatal(err)
			}
			shards = append(shards, s)
		}
		passwords += fmt.Sprintf("127.0.0.1:%d:*:postgres:%s\n", n.Port, n.Password)
	}
	file := filepath.Join(whole.dir, "passwords")
	if err := os.WriteFile(file, []byte(passwords), 0o600); err != nil {
		t.Fatal(err)
	}
	keep := func(args ...string) string {
		t.Helper()
		cmd := whole.command(superuser, args...)
		cmd.Env = append(slices.DeleteFunc(cmd.Env, func(v string) bool { return strings.HasPrefix(v, "PGPASSWORD=") }), "PGPASSFILE="+file)
		r := finish(t, cmd)
		if r.code != 0 {
			t.Fatalf("trueplait %s: exit code %d\n%s", strings.Join(args, " "), r.code, r.stderr)
		}
		return r.stdout
	}
	keep("server", "setup", "--partitions", "4", "--shard", shards[0].address(superuser), "--shard", shards[1].address(superuser))
	keep("server", "workshop", "anna")
	whole.run(t, "anna", append([]string{"import"}, demoFiles(t, whole)...)...)
	whole.run(t, "anna", "verify")
	before := whole.run(t, "anna", "calibrate", "--json")

	parts := whole.show(t)
	builds, servers := 0, map[string]bool{}
	for i, p := range parts {
		if p.Part != i {
			t.Errorf("part %d is listed as %d", p.Part, i)
		}
		builds += p.Builds
		servers[p.Server] = true
	}
	const demoBuilds = 300 // data/demo/builds.csv
	if len(parts) != 4 || len(servers) != 2 || builds != demoBuilds {
		t.Fatalf("parts %+v: want 4 on 2 servers, with %d builds", parts, demoBuilds)
	}
	full := slices.IndexFunc(parts, func(p shown) bool { return p.Builds > 0 })
	to := shards[0]
	if strings.Contains(parts[full].Server, strconv.Itoa(to.Port)) {
		to = shards[1]
	}
	said := keep("server", "move", strconv.Itoa(full), to.address(superuser))
	if want := fmt.Sprintf("part %d is on %s now: %d builds", full, to.address(superuser), parts[full].Builds); !strings.HasPrefix(said, want) {
		t.Errorf("%q, want %q", said, want)
	}
	if moved := whole.show(t)[full]; !strings.Contains(moved.Server, strconv.Itoa(to.Port)) || moved.Builds != parts[full].Builds {
		t.Errorf("part %+v after the move, %+v before", moved, parts[full])
	}
	whole.run(t, "anna", "verify")
	if err := shards[0].Kill(); err != nil {
		t.Fatal(err)
	}
	r := finish(t, whole.command("anna", "factors"))
	want := "trueplait: log " + whole.address("anna") + ": a server that keeps some of the builds does not answer"
	if r.code != 1 || r.stdout != "" || !strings.HasPrefix(r.stderr, want) || !strings.Contains(r.stderr, strconv.Itoa(shards[0].Port)) || strings.Count(r.stderr, "\n") != 1 {
		t.Errorf("without a shard: exit code %d, %s%s; want %s…", r.code, r.stdout, r.stderr, want)
	}
	if err := shards[0].Resume(); err != nil {
		t.Fatal(err)
	}
	if diff := apart(t, before, whole.run(t, "anna", "calibrate", "--json")); diff != "" {
		t.Errorf("after the move: %s", diff)
	}
}
