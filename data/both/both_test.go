package both

import (
	"fmt"
	"os"
	"os/exec"
	"regexp"
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

// Where servers divide the builds, those of what is asked of them in other words
// hold; the rest knows nothing of it.
func TestDivided(t *testing.T) {
	t.Parallel()
	run(t, 2, 20, "Source|Cells|Combinations|Places|Observ|Newest|Latest|LastPlan|Summary|Exclu|Import|Amend|Conflict|Alike|"+
		"Calibration|Fingerprint|Check|Clock|Form|Fill|Plan|Settle|Slip|Split|Search|Row|Uses|Version|Invariants|Export")
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
	cmd := exec.CommandContext(t.Context(), "go", "test", "-count=1", "-vet=off", "-v", "-timeout=110s", "-run", tests, "trueplait/data")
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
