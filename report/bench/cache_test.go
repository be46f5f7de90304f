package bench

import (
	"errors"
	"fmt"
	"sync"
	"testing"
)

func TestCache(t *testing.T) {
	var c cache
	worked := 0
	ask := func(version int, name string) string {
		got, err := cached(&c, version, name, func() (string, error) {
			worked++
			return fmt.Sprint(name, version), nil
		})
		if err != nil {
			t.Error(err)
		}
		return got
	}
	for i, step := range []struct {
		version int
		name    string
		worked  int
	}{{0, "a", 1}, {0, "a", 1}, {0, "b", 2}, {1, "a", 3}, {1, "a", 3}, {0, "a", 4}, {1, "a", 4}} {
		if got := ask(step.version, step.name); got != fmt.Sprint(step.name, step.version) || worked != step.worked {
			t.Errorf("step %d: %q after %d times, want %d", i, got, worked, step.worked)
		}
	}
	for i := range 3 * mostKept {
		ask(1, fmt.Sprint(i))
	}
	if len(c.results) > mostKept {
		t.Errorf("%d results are kept, want at most %d", len(c.results), mostKept)
	}
	if _, err := cached(&c, 1, "x", func() (string, error) { return "", errors.New("no") }); err == nil {
		t.Error("an error is gone")
	}
	if got := ask(1, "x"); got != "x1" {
		t.Errorf("after an error: %q", got)
	}
}

// Many that ask at once wait for one answer.
func TestCacheAtOnce(t *testing.T) {
	var c cache
	var all sync.WaitGroup
	worked := 0
	for range 20 {
		all.Go(func() {
			got, err := cached(&c, 1, "a", func() (int, error) { worked++; return worked, nil })
			if got != 1 || err != nil {
				t.Errorf("got %d, %v", got, err)
			}
		})
	}
	all.Wait()
}
