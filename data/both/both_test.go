package both

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"sync"
	"testing"

	"trueplait/data"
	"trueplait/data/postgres/node"
)

// How the tests of data are told where to keep their logs.
const (
	asServed  = "TRUEPLAIT_TEST_SERVER"  // port and password
	asDivided = "TRUEPLAIT_TEST_DIVIDED" // others keep the builds
	keeper    = "postgres"
	guild     = "guild"
)

// On one server, every test holds that is not about a file.
func TestOneServer(t *testing.T) {
	t.Parallel()
	run(t, 0, 50, ".")
}

// Where servers divide the builds, those hold that ask them in words of their own,
// or write to them; the rest knows nothing of it.
func TestDivided(t *testing.T) {
	t.Parallel()
	run(t, 2, 12, "Source|Cells|Combinations|Places|Newest|LastPlan|Amend|Conflict|Fingerprint|CheckWrites|Split|Invariants")
}

// testsOfData builds the tests of data and returns the program, once for all who
// ask.
var testsOfData = sync.OnceValues(func() (string, error) {
	binary := filepath.Join(folder, "data.test")
	out, err := exec.Command("go", "test", "-c", "-vet=off", "-o", binary, "trueplait/data").CombinedOutput()
	if err != nil {
		return "", fmt.Errorf("%w\n%s", err, out)
	}
	return binary, nil
})

// folder is where that program is.
var folder string

func TestMain(m *testing.M) {
	var err error
	if folder, err = os.MkdirTemp("", "trueplait-both-*"); err != nil {
		fmt.Println(err)
		os.Exit(1)
	}
	code := m.Run()
	if err := os.RemoveAll(folder); err != nil {
		fmt.Println(err)
		code = 1
	}
	os.Exit(code)
}

// run runs tests of data with their logs on a server that divides builds among
// so many others. At least so many must pass.
func run(t *testing.T, shards, least int, tests string) {
	n := node.Need(t)
	c := data.Cluster{Parts: 5}
	all := []*node.Node{n}
	for range shards {
		s := node.Need(t)
		all = append(all, s)
		c.Shards = append(c.Shards, s.Address(keeper, guild))
	}
	for _, n := range all {
		if err := n.Database(guild, keeper, ""); err != nil {
			t.Fatal(err)
		}
	}
	if err := data.SetUpServer(t.Context(), n.Address(keeper, guild), c); err != nil {
		t.Fatal(err)
	}
	binary, err := testsOfData()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.CommandContext(t.Context(), binary, "-test.v", "-test.timeout=110s", "-test.run", tests)
	cmd.Dir = ".." // as go test would
	cmd.Env = append(os.Environ(), fmt.Sprintf("%s=%d %s", asServed, n.Port, n.Password))
	if shards > 0 {
		cmd.Env = append(cmd.Env, asDivided+"=yes")
	}
	out, err := cmd.CombinedOutput()
	passed := regexp.MustCompile(`(?m)^--- PASS: .*$`).FindAll(out, -1)
	if err != nil || len(passed) < least {
		t.Errorf("%d tests pass, %v:\n%s", len(passed), err, out)
	}
	t.Logf("%d tests of data pass", len(passed))
}
