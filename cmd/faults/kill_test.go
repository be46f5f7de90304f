package faults

import (
	"bytes"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"reflect"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

// killShare is how many of the kills are made, of 203 in all: all of them take
// longer than a package's tests should.
var killShare = flag.Float64("kills", 0.4, "`share` of the kills to make: 1 is all")

// A command that is killed at any instant leaves a log that opens, with all
// that was acknowledged before, and either all of its own change or nothing.
// What it said it had done, by its answer or by its exit code, is done.
func TestKilled(t *testing.T) {
	var kills, hits atomic.Int64
	t.Run("at", func(t *testing.T) {
		for i, v := range victims() {
			t.Run(v.name, func(t *testing.T) {
				t.Parallel()
				v.kills = int(math.Ceil(float64(v.kills) * *killShare))
				k := v.killed(t, rand.New(rand.NewPCG(6, uint64(i))))
				kills.Add(int64(k.kills))
				hits.Add(int64(k.hits))
			})
		}
		t.Run("serve", func(t *testing.T) {
			t.Parallel()
			k := killServers(t, rand.New(rand.NewPCG(6, 100)), 6)
			kills.Add(int64(k.kills))
			hits.Add(int64(k.hits))
		})
	})
	t.Logf("%d kills, %d of them while something was being written", kills.Load(), hits.Load())
	if !t.Failed() && hits.Load() < kills.Load()/3 {
		t.Errorf("only %d of %d kills hit a running write: too few to show anything", hits.Load(), kills.Load())
	}
}

// score counts kills, those that came before the command was done, and of these
// the ones that came when it had begun to write.
type score struct{ kills, cut, hits int }

// victim is a kind of command that is killed.
type victim struct {
	name  string
	kills int
	setup func(t *testing.T, s shop) // nil: the shop as it is
	next  func(t *testing.T, s shop, n int) change
}

// change is one command, and what it does.
type change struct {
	args  []string
	code  int                                     // that it exits with if left alone
	apply func(l ledger) ledger                   // to the log; nil: nothing
	files func(t *testing.T, s shop, said string) // looks at the files it makes; nil: it makes none
}

// killed runs the victim's command again and again on one log, and kills it.
func (v victim) killed(t *testing.T, r *rand.Rand) (k score) {
	s := newShop(t)
	if v.setup != nil {
		v.setup(t, s)
	}
	known, err := read(t, s.log())
	if err != nil {
		t.Fatal(err)
	}
	// The first is left alone: it says how long the command takes, and shows that
	// the test knows what it does.
	whole := v.strike(t, s, 0, &known, instant{never: true})
	for n := 1; n <= v.kills && !t.Failed(); n++ {
		// One in four comes anywhere, one about when the first write is due, the
		// others after it, the sooner the likelier: a commit is short. A command
		// that writes nothing is killed anywhere.
		x := r.Float64()
		at := instant{writing: true, after: time.Duration(x * x * float64(whole.total-whole.first))}
		switch {
		case n%4 == 0, !whole.wrote:
			at = instant{after: time.Duration(x * float64(whole.total))}
		case n%4 == 1:
			at = instant{after: time.Duration((0.8 + 0.4*x) * float64(whole.first))}
		}
		one := v.strike(t, s, n, &known, at)
		k.kills++
		if one.result.code < 0 {
			k.cut++
			if one.wrote {
				k.hits++
			}
		}
	}
	if !t.Failed() {
		// Nor does what the last kill left stand in its way.
		v.strike(t, s, v.kills+1, &known, instant{never: true})
		if !whole.wrote && k.cut == 0 { // hits tell of the others
			t.Errorf("all of %d kills came too late to show anything", k.kills)
		}
	}
	t.Logf("%d kills, %d of a running command, %d in a running write; left alone it begins to write after %v and ends after %v",
		k.kills, k.cut, k.hits, whole.first, whole.total)
	return k
}

// strike runs one command, kills it and sets the log beside what is known of
// it, which is brought up to date.
func (v victim) strike(t *testing.T, s shop, n int, known *ledger, at instant) end {
	t.Helper()
	c := v.next(t, s, n)
	e := s.strike(t, c.args, at)
	found, err := read(t, s.log())
	if err != nil {
		t.Fatalf("kill %d: the log does not open any more: %v", n, err)
	}
	after := *known
	if c.apply != nil {
		after = c.apply(known.clone())
	}
	if e.result.code >= 0 && e.result.code != c.code {
		t.Errorf("kill %d: it came to its end with exit code %d, stderr %s", n, e.result.code, e.result.stderr)
	}
	said := e.result.stdout != "" || e.result.code == c.code
	switch {
	case reflect.DeepEqual(after, found):
	case said:
		t.Errorf("kill %d: it said that it was done, but (-want +found):\n%s", n, short(cmp.Diff(after, found)))
	case !reflect.DeepEqual(*known, found):
		t.Errorf("kill %d: neither as before nor as after (-before +found):\n%s", n, short(cmp.Diff(*known, found)))
	}
	if c.files != nil {
		c.files(t, s, e.result.stdout)
	}
	s.onlyHidden(t, n)
	*known = found
	return e
}

// short is the beginning of a long difference.
func short(text string) string {
	const most = 2000
	if len(text) > most {
		return text[:most] + "…"
	}
	return text
}

// onlyHidden makes sure that what a killed command leaves half made cannot be
// taken for a file of the maker's.
func (s shop) onlyHidden(t *testing.T, n int) {
	t.Helper()
	entries, err := os.ReadDir(s.dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		name := e.Name()
		ours := strings.HasPrefix(name, ".") || strings.HasPrefix(name, "shop.duckdb") || strings.HasPrefix(name, "out") ||
			strings.HasSuffix(name, ".csv") || strings.HasSuffix(name, ".html") || strings.HasPrefix(name, "copy")
		if !ours {
			t.Errorf("kill %d left %s", n, name)
		}
	}
}

// instant is when a command is killed.
type instant struct {
	never   bool
	writing bool          // counted from its first write, else from its start
	after   time.Duration // how long after
}

// end is how a command ended.
type end struct {
	result       result
	wrote        bool          // something in the shop's folder changed
	first, total time.Duration // until it began to write, if it was waited for, and to its end
}

// strike runs one command on the shop's log and kills it at an instant.
func (s shop) strike(t *testing.T, args []string, at instant) (e end) {
	t.Helper()
	cmd := command(s.dir, append(args, "--log", "shop.duckdb")...)
	var out, errs bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &errs
	before := s.trace(t)
	start := time.Now()
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	ended := make(chan struct{})
	go func() {
		cmd.Wait()
		close(ended)
	}()
	if at.never || at.writing {
		s.awaitWrite(t, before, ended)
		e.first = time.Since(start)
	}
	if at.never {
		<-ended
	}
	select {
	case <-ended:
	case <-time.After(at.after):
		cmd.Process.Kill() // or it has just ended
		<-ended
	}
	e.total = time.Since(start)
	e.result = result{out.String(), errs.String(), cmd.ProcessState.ExitCode()}
	e.wrote = s.trace(t) != before
	return e
}

// awaitWrite waits until something in the shop's folder changes, or the command
// has ended.
func (s shop) awaitWrite(t *testing.T, before string, ended <-chan struct{}) {
	t.Helper()
	const pause = 300 * time.Microsecond
	for s.trace(t) == before {
		select {
		case <-ended:
			return
		case <-time.After(pause):
		}
	}
}

// trace is the shop's folder: names, sizes and times of its files.
func (s shop) trace(t *testing.T) string {
	t.Helper()
	entries, err := os.ReadDir(s.dir)
	if err != nil {
		t.Fatal(err)
	}
	var out strings.Builder
	for _, e := range entries {
		if info, err := e.Info(); err == nil { // else it has just gone
			fmt.Fprintln(&out, e.Name(), info.Size(), info.ModTime().UnixNano())
		}
	}
	return out.String()
}
