package bench

import "sync"

// mostKept is how many results are kept at once. Each is a piece of a page.
const mostKept = 64

// cache keeps what was worked out from the newest version of the log, by name.
// The zero cache is empty. Many requests may use it at once: what one of them
// is working out the others wait for.
type cache struct {
	mu      sync.Mutex
	version int
	results map[string]*result
}

// result is one thing worked out, or being worked out.
type result struct {
	mu    sync.Mutex
	done  bool
	value any
}

// cached returns what work gives for this version of the log, working it out
// once. Errors are not kept.
func cached[T any](c *cache, version int, name string, work func() (T, error)) (T, error) {
	r := c.result(version, name)
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.done {
		return r.value.(T), nil
	}
	value, err := work()
	if err == nil {
		r.value, r.done = value, true
	}
	return value, err
}

// result finds the place of a name. A newer version, or too many names, throws
// out all that is kept; a request that began with an older version gets a
// place of its own.
func (c *cache) result(version int, name string) *result {
	c.mu.Lock()
	defer c.mu.Unlock()
	if version < c.version {
		return &result{}
	}
	if version > c.version || c.results == nil || len(c.results) >= mostKept && c.results[name] == nil {
		c.version, c.results = version, map[string]*result{}
	}
	if c.results[name] == nil {
		c.results[name] = &result{}
	}
	return c.results[name]
}
