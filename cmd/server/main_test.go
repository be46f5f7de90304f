package server

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"trueplait/data/postgres/node"
)

// program is the path of the program under test, built by TestMain.
var program string

func TestMain(m *testing.M) {
	os.Exit(func() int {
		dir, err := os.MkdirTemp("", "server")
		if err != nil {
			fmt.Fprintln(os.Stderr, err)
			return 1
		}
		defer os.RemoveAll(dir)
		program = filepath.Join(dir, "trueplait")
		if out, err := exec.Command("go", "build", "-o", program, "trueplait/cmd/trueplait").CombinedOutput(); err != nil {
			fmt.Fprintf(os.Stderr, "go build: %v\n%s", err, out)
			return 1
		}
		return m.Run()
	}())
}

// guild is a server with a database for the logs of workshops.
type guild struct {
	*node.Node
	dir string // where its workshops' programs run
}

const (
	keeper    = "keeper"   // owns the database
	superuser = "postgres" // sees the rows of all workshops
	database  = "guild"
)

// newGuild starts a server and has the program set it up.
func newGuild(t *testing.T) guild {
	t.Helper()
	g := guild{node.Need(t), t.TempDir()}
	if err := g.Role(keeper); err != nil {
		t.Fatal(err)
	}
	if err := g.Do("postgres", "alter role "+keeper+" createrole"); err != nil {
		t.Fatal(err)
	}
	if err := g.Database(database, keeper, ""); err != nil {
		t.Fatal(err)
	}
	g.run(t, keeper, "server", "setup")
	return g
}

// address is that of the database as a role, without the password.
func (g guild) address(role string) string {
	return fmt.Sprintf("postgres://%s@127.0.0.1:%d/%s", role, g.Port, database)
}

// workshop adds a workshop.
func (g guild) workshop(t *testing.T, name string) {
	t.Helper()
	g.run(t, keeper, "server", "workshop", name)
}

// command is the program with arguments, for a workshop or another role. It knows nothing else of this machine. All roles have the same
// password.
func (g guild) command(role string, args ...string) *exec.Cmd {
	cmd := exec.Command(program, args...)
	cmd.Dir = g.dir
	cmd.Env = []string{
		"PATH=" + os.Getenv("PATH"), "TRUEPLAIT_LOG=" + g.address(role),
		"PGPASSWORD=" + g.Password, "TRUEPLAIT_WORKSHOP_PASSWORD=" + g.Password,
	}
	return cmd
}

// run runs the program where nothing may go wrong, and returns what it printed.
func (g guild) run(t *testing.T, role string, args ...string) string {
	t.Helper()
	r := finish(t, g.command(role, args...))
	if r.code != 0 {
		t.Fatalf("%s: trueplait %s: exit code %d\n%s", role, strings.Join(args, " "), r.code, r.stderr)
	}
	return r.stdout
}

// write makes a file in the folder of the workshops.
func (g guild) write(t *testing.T, name, text string) {
	t.Helper()
	if err := os.WriteFile(filepath.Join(g.dir, name), []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

// result is what a finished command said.
type result struct {
	stdout, stderr string
	code           int
}

// finish runs a command to its end.
func finish(t *testing.T, cmd *exec.Cmd) result {
	t.Helper()
	var out, errs bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &errs
	if err := cmd.Run(); err != nil && cmd.ProcessState == nil {
		t.Error(err) // goroutines of tests come here, too
		return result{code: -1}
	}
	return result{out.String(), errs.String(), cmd.ProcessState.ExitCode()}
}
