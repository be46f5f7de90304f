package server

import (
	"fmt"
	"io"
	"io/fs"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"trueplait/data/postgres/node"
)

const oneBuild = "build,date,maker,product,core_batch,predicted_weight_g,weight_g\n%s,2025-05-01,Arlo,bull,HC01,400,%d\n"

// A workshop sees its own rows, files and calibrations, by whatever command.
func TestWorkshops(t *testing.T) {
	g := newGuild(t)
	for i, name := range []string{"anna", "Brid's shop"} {
		g.workshop(t, name)
		g.write(t, fmt.Sprint(i, ".csv"), fmt.Sprintf(oneBuild, fmt.Sprint("OF", i), 410+i)+fmt.Sprintf("SAME,2025-05-02,Maker %d,bull,HC%d,400,%d\n", i, i, 420+i))
	}
	const brid = "Brid%27s%20shop"
	for i, name := range []string{"anna", brid} {
		g.run(t, name, "import", fmt.Sprint(i, ".csv"))
		if out := g.run(t, name, "calibrate"); !strings.Contains(out, "alibration 1") {
			t.Errorf("%s: its first calibration is\n%s", name, out)
		}
	}
	for i, name := range []string{"anna", brid} {
		folder := fmt.Sprint("out", i)
		g.run(t, name, "export", folder)
		files, err := filepath.Glob(filepath.Join(g.dir, folder, "*"))
		if err != nil {
			t.Fatal(err)
		}
		all := ""
		for _, f := range files {
			text, err := os.ReadFile(f)
			if err != nil {
				t.Fatal(err)
			}
			all += string(text)
		}
		own, other := fmt.Sprint("OF", i), fmt.Sprint("OF", 1-i)
		if !strings.Contains(all, own) || strings.Contains(all, other) || strings.Contains(all, fmt.Sprint("Maker ", 1-i)) || !strings.Contains(all, fmt.Sprint(420+i)) {
			t.Errorf("%s exports\n%s", name, all)
		}
		r := finish(t, g.command(name, "build", "--edit", other, "--weight", "1g", "--yes"))
		if want := fmt.Sprintf("trueplait: build %q is not in the log", other); r.code != 1 || !strings.Contains(r.stderr, want) {
			t.Errorf("%s: exit code %d\n%s", name, r.code, r.stderr)
		}
		if r := finish(t, g.command(name, "calibrate", "--for", fmt.Sprintf("maker=Maker %d", 1-i))); r.code != 1 || strings.Contains(r.stderr, "nearest known is \"Maker "+fmt.Sprint(1-i)) {
			t.Errorf("%s: exit code %d\n%s", name, r.code, r.stderr)
		}
		g.run(t, name, "verify")
	}
}

// Whatever is wrong with a server, it is said in words, with what to do, with
// exit code 1 and without a password.
func TestRefused(t *testing.T) {
	g := newGuild(t)
	g.workshop(t, "anna")
	if err := g.Role("stranger"); err != nil {
		t.Fatal(err)
	}
	free, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	nobody := free.Addr().String()
	free.Close()
	host := fmt.Sprintf("127.0.0.1:%d", g.Port)
	tests := []struct {
		name, log, password string
		says                []string
	}{
		{"a wrong password", "postgres://anna@" + host + "/guild", "Geheim1", []string{"the server refuses the role or its password: set PGPASSWORD"}},
		{"no password", "postgres://anna@" + host + "/guild", "", []string{"the server refuses the role or its password: set PGPASSWORD"}},
		{"no such role", "postgres://otto@" + host + "/guild", "Geheim1", []string{"the server refuses the role or its password"}},
		{"a password in the address", "postgres://anna:Geheim1@" + host + "/guild?sslmode=disable", "",
			[]string{"warning: the address has a password in it", "log postgres://anna@" + host + "/guild: the server refuses the role or its password"}},
		{"a password in its settings", "postgres://anna@" + host + "/guild?password=Geheim1", "",
			[]string{"warning: the address has a password in it", "log postgres://anna@" + host + "/guild: the server refuses"}},
		{"an address that is none", "postgres://anna:Geheim1%zz@" + host + "/guild", "", []string{"log postgres://?: not an address: write postgres://"}},
		{"no such database", "postgres://anna@" + host + "/gilde", g.Password, []string{"it has no such database"}},
		{"a role that is no workshop", "postgres://stranger@" + host + "/guild", g.Password, []string{"ask who keeps"}},
		{"a superuser", "postgres://postgres@" + host + "/guild", g.Password, []string{"connect as the role of your workshop"}},
		{"no server", "postgres://anna:Geheim1@" + nobody + "/guild", "", []string{"the server does not answer: look at its name and port", "refused"}},
		{"a server without TLS", "postgres://anna@" + host + "/guild?sslmode=require", g.Password, []string{"TLS"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			for _, args := range [][]string{{"factors"}, {"import", "none.csv"}, {"verify", "--json"}} {
				g.write(t, "none.csv", fmt.Sprintf(oneBuild, "B1", 400))
				cmd := g.command("anna", append(args, "--log", tt.log)...)
				cmd.Env = append(cmd.Env, "PGPASSWORD="+tt.password)
				r := finish(t, cmd)
				if r.code != 1 || r.stdout != "" {
					t.Errorf("%q: exit code %d\n%s", args, r.code, r.stdout)
				}
				for _, says := range tt.says {
					if !strings.Contains(r.stderr, says) {
						t.Errorf("%q does not say %q:\n%s", args, says, r.stderr)
					}
				}
				if strings.Contains(r.stderr, "Geheim") || strings.Contains(r.stderr, g.Password) || strings.Count(r.stderr, "\n") > 1+strings.Count(r.stderr, "warning:") {
					t.Errorf("%q:\n%s", args, r.stderr)
				}
			}
		})
	}
}

// A password that stands in an address is warned of, once, and nowhere else:
// neither printed, nor in a file, nor on a page, nor in the log.
func TestPasswordIsNowhere(t *testing.T) {
	g := newGuild(t)
	g.workshop(t, "anna")
	log := g.Address("anna", database)
	if !strings.Contains(log, g.Password) {
		t.Fatal("the address has no password in it")
	}
	g.write(t, "builds.csv", fmt.Sprintf(oneBuild, "B1", 410))
	var said strings.Builder
	for _, args := range [][]string{
		{"import", "builds.csv"}, {"calibrate", "--json"}, {"fill", "--fill", "F1", "--core-batch", "HC01", "--filled-length", "200mm", "--shot-mass", "17g"},
		{"build", "--build", "B2", "--weight", "410g"}, {"verify", "--json"}, {"report"}, {"export", "out"}, {"backup", "x"},
	} {
		r := finish(t, g.command("nobody", append(args, "--log", log)...))
		if strings.Count(r.stderr, "warning: the address has a password in it") != 1 {
			t.Errorf("%q:\n%s", args, r.stderr)
		}
		said.WriteString(r.stdout + r.stderr)
	}
	p := g.serve(t, "nobody", "--log", log)
	answer, err := http.Get(p.url + "/files")
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	body, err := io.ReadAll(answer.Body)
	if err != nil || !strings.Contains(string(body), g.address("anna")) {
		t.Errorf("%v:\n%s", err, body)
	}
	said.WriteString(string(body) + p.said.String())
	err = filepath.WalkDir(g.dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		text, err := os.ReadFile(path)
		said.Write(text)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range strings.Split(said.String(), "\n") {
		if strings.Contains(line, g.Password) {
			t.Errorf("the password is in %q", line)
		}
	}
}

// An address where a file belongs is not taken for one, and what cannot be done
// on a server is said so.
func TestMisused(t *testing.T) {
	g := guild{&node.Node{}, t.TempDir()} // nothing gets as far as a server
	for _, tt := range []struct {
		args []string
		code int
		says string
	}{
		{[]string{"import", "postgres://anna:Geheim1@h/db"}, 2, "postgres://anna@h/db: is the address of a log on a server: name it with --log"},
		{[]string{"export", "postgres://anna:Geheim1@h/db"}, 2, "name it with --log"},
		{[]string{"postgres://anna:Geheim1@h/db"}, 2, "name it with --log"},
		{[]string{"server", "show", "postgresql://anna:Geheim1@h/db"}, 2, "unexpected argument postgresql://anna@h/db"},
		{[]string{"factors", "--from", "x.csv", "--log=postgres://anna:Geheim1@h/db"}, 2, "--from and --log exclude each other"},
		{[]string{"backup", "copy.duckdb", "--log", "postgres://anna:Geheim1@h/db"}, 1, "log postgres://anna@h/db is on a server: who keeps that backs it up, with pg_dump; trueplait export"},
		{[]string{"server", "setup", "--log", "shop.duckdb"}, 2, "--log shop.duckdb: is no address"},
		{[]string{"server", "setup", "--shard", "h", "--log", "postgres://k@h/db"}, 2, "--shard h: is no address"},
		{[]string{"server", "workshop", "anna", "--password-file", "none.txt", "--log", "postgres://k@h/db"}, 1, "none.txt:1: there is no such file"},
	} {
		cmd := g.command("anna", tt.args...)
		r := finish(t, cmd)
		if r.code != tt.code || !strings.Contains(r.stderr, tt.says) || strings.Contains(r.stderr+r.stdout, "Geheim") {
			t.Errorf("%q: exit code %d\n%s", tt.args, r.code, r.stderr)
		}
	}
	if left, err := os.ReadDir(g.dir); err != nil || len(left) > 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}
