package door

import (
	"fmt"
	"net/netip"
	"slices"
	"sync"
	"time"
)

// How long a code works, how many wrong tries there may be, and how long they
// count. Common practice, no source.
const (
	codeLife    = 10 * time.Minute
	tryLife     = 10 * time.Minute
	maxOwnTries = 5  // of one address
	maxTries    = 20 // of all together since the pause before
	pause       = time.Minute
)

// lock holds the code of the moment and who tried wrong ones.
type lock struct {
	announce func(string)
	log      func(string)
	now      func() time.Time

	mu     sync.Mutex
	code   string
	made   time.Time // the code
	paused time.Time // when the last pause for everybody began

	// tries are the wrong ones of the last tryLife, oldest first. A pause
	// follows every maxTries of them and none is heard in it, so there are
	// never more than maxTries for each pause that fits in.
	tries []try
}

// try is a wrong code. The address is taken whole, not by its network: at
// home that is one network for everybody, and the total is limited anyhow.
type try struct {
	from netip.Addr
	at   time.Time
}

func newLock(announce, log func(string), now func() time.Time) *lock {
	l := &lock{announce: announce, log: log, now: now}
	l.renew(now())
	return l
}

// outcome is how an attempt to open the lock ended.
type outcome int

const (
	wrong   outcome = iota
	opened          // the code was right, and is used up
	stale           // the code had run out: a new one was announced
	tooMany         // wrong codes: try again later
)

// open tries a code that somebody typed. With tooMany comes how long to wait;
// then nothing was compared.
func (l *lock) open(typed string, from netip.Addr) (outcome, time.Duration) {
	l.mu.Lock()
	defer l.mu.Unlock()
	now := l.now()
	if wait := l.wait(from, now); wait > 0 {
		return tooMany, wait
	}
	if l.renewStale(now) {
		return stale, 0
	}
	if sameCode(typed, l.code) {
		l.renew(now)
		return opened, 0
	}
	l.miss(from, now)
	if wait := l.wait(from, now); wait > 0 {
		return tooMany, wait
	}
	return wrong, 0
}

// refresh announces a new code if the last one has run out, and reports that.
// It is asked when somebody stands at the door: a new code every ten minutes
// would only fill the terminal.
func (l *lock) refresh() bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.renewStale(l.now())
}

func (l *lock) renewStale(now time.Time) bool {
	if now.Sub(l.made) < codeLife {
		return false
	}
	l.renew(now)
	return true
}

func (l *lock) renew(now time.Time) {
	l.code, l.made = newCode(), now
	l.announce(spoken(l.code))
}

// miss remembers a wrong code.
func (l *lock) miss(from netip.Addr, now time.Time) {
	l.tries = append(l.tries, try{from, now})
	since := 0
	for _, t := range l.tries {
		if t.at.After(l.paused) {
			since++
		}
	}
	if since >= maxTries {
		l.paused = now
		l.log(fmt.Sprintf("door: %d wrong codes, nobody can sign in for a minute", maxTries))
		l.renew(now)
	}
}

// wait returns how long this address must wait before its next code, 0 if it
// need not.
func (l *lock) wait(from netip.Addr, now time.Time) time.Duration {
	if rest := pause - now.Sub(l.paused); rest > 0 {
		return rest
	}
	l.tries = slices.DeleteFunc(l.tries, func(t try) bool { return now.Sub(t.at) >= tryLife })
	own, first := 0, time.Time{}
	for _, t := range l.tries {
		if t.from == from {
			if own == 0 {
				first = t.at
			}
			own++
		}
	}
	if own < maxOwnTries {
		return 0
	}
	return tryLife - now.Sub(first)
}
