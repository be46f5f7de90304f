package door

import (
	"fmt"
	"net/netip"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestNewCode(t *testing.T) {
	seen := map[rune]int{}
	const n = 4000
	for range n {
		code := newCode()
		if len(code) != codeLength {
			t.Fatalf("newCode() = %q, want %d letters", code, codeLength)
		}
		for _, r := range code {
			seen[r]++
		}
	}
	if len(seen) != len(letters) {
		t.Errorf("%d letters seen, want %d", len(seen), len(letters))
	}
	// Each letter is binomial with mean 1032 and standard deviation 32. A byte
	// taken modulo 31 would give the first letters 12 % more than the others.
	const mean, limit = float64(n*codeLength) / 31, 6 * 32.
	for _, r := range letters {
		if off := float64(seen[r]) - mean; off > limit || off < -limit {
			t.Errorf("%c seen %d times, want %.0f ± %.0f", r, seen[r], mean, limit)
		}
	}
	// The first eight letters are those that would gain, by 16 standard deviations.
	first := 0
	for _, r := range letters[:8] {
		first += seen[r]
	}
	if off := float64(first) - 8*mean; off > 6*79 || off < -6*79 {
		t.Errorf("the first eight letters seen %d times, want %.0f ± %d", first, 8*mean, 6*79)
	}
	if i := strings.IndexAny(letters, "0O1IL"); i >= 0 {
		t.Errorf("%c can be read as another letter", letters[i])
	}
}

func TestSameCode(t *testing.T) {
	const code = "AB2CD3EF"
	for typed, want := range map[string]bool{
		"AB2CD3EF": true, "ab2cd3ef": true, "AB2C-D3EF": true, " aB2c d3Ef\t": true, "AB2C–D3EF": true, "A-B-2-C-D-3-E-F": true,
		"": false, "AB2CD3E": false, "AB2CD3EFF": false, "AB2CD3EG": false, "BB2CD3EF": false, "AB2CD3EF\x00": false, "AB2C_D3EF": false,
	} {
		if got := sameCode(typed, code); got != want {
			t.Errorf("sameCode(%q, %q) = %t, want %t", typed, code, got, want)
		}
	}
	if got := spoken(code); got != "AB2C-D3EF" {
		t.Errorf("spoken(%q) = %q", code, got)
	}
}

// bolt is a lock with a clock that is set by hand.
type bolt struct {
	*lock
	clock     time.Time
	announced []string
	lines     []string
}

func newBolt() *bolt {
	b := &bolt{clock: time.Date(2026, 3, 14, 9, 0, 0, 0, time.UTC)}
	b.lock = newLock(func(c string) { b.announced = append(b.announced, c) },
		func(line string) { b.lines = append(b.lines, line) }, func() time.Time { return b.clock })
	return b
}

func (b *bolt) newest() string { return b.announced[len(b.announced)-1] }

func host(n int) netip.Addr { return netip.AddrFrom4([4]byte{192, 168, byte(n >> 8), byte(n)}) }

// want checks the outcome of a try.
func (b *bolt) want(t *testing.T, code string, from int, want outcome, wait time.Duration) {
	t.Helper()
	if got, w := b.open(code, host(from)); got != want || w != wait {
		t.Errorf("open(%q) from %v = %v after %v, want %v after %v", code, host(from), got, w, want, wait)
	}
}

func TestCodeWorksOnce(t *testing.T) {
	b := newBolt()
	first := b.newest()
	b.want(t, first, 1, opened, 0)
	if len(b.announced) != 2 || b.newest() == first {
		t.Fatalf("announced %q, want a second, other code", b.announced)
	}
	b.want(t, first, 1, wrong, 0)
	b.want(t, b.newest(), 2, opened, 0)
}

func TestCodeRunsOut(t *testing.T) {
	b := newBolt()
	b.clock = b.clock.Add(codeLife - time.Second)
	if b.refresh() {
		t.Error("a code was renewed before its time")
	}
	first := b.newest()
	b.clock = b.clock.Add(time.Second)
	b.want(t, first, 1, stale, 0)
	if len(b.announced) != 2 || b.newest() == first {
		t.Fatalf("announced %q, want a second, other code", b.announced)
	}
	b.want(t, first, 1, wrong, 0)
	b.want(t, b.newest(), 1, opened, 0)

	b.clock = b.clock.Add(codeLife)
	if !b.refresh() || len(b.announced) != 4 {
		t.Errorf("announced %q, want a fourth code", b.announced)
	}
	if b.refresh() {
		t.Error("a fresh code was renewed")
	}
}

func TestCodeWorksToTheLastMoment(t *testing.T) {
	b := newBolt()
	b.clock = b.clock.Add(codeLife - time.Nanosecond)
	b.want(t, b.newest(), 1, opened, 0)
}

// TestTriesOfOneAddress: the fifth wrong code shuts the door for this address,
// for ten minutes after the first, also for the right code.
func TestTriesOfOneAddress(t *testing.T) {
	b := newBolt()
	for range maxOwnTries - 1 {
		b.want(t, "AAAA-AAAA", 1, wrong, 0)
		b.clock = b.clock.Add(time.Minute)
	}
	b.want(t, "AAAA-AAAA", 1, tooMany, tryLife-4*time.Minute)
	b.want(t, b.newest(), 1, tooMany, tryLife-4*time.Minute)
	b.want(t, b.newest(), 2, opened, 0)
	b.clock = b.clock.Add(tryLife - 4*time.Minute)
	if b.refresh() {
		t.Fatal("the code was to be fresh")
	}
	b.want(t, b.newest(), 1, opened, 0)
}

// TestTriesOfAll: twenty wrong codes renew the code and shut the door for
// everybody, for a minute.
func TestTriesOfAll(t *testing.T) {
	b := newBolt()
	first := b.newest()
	for i := range maxTries - 1 {
		b.want(t, "AAAA-AAAA", i, wrong, 0)
	}
	if len(b.announced) != 1 {
		t.Fatalf("announced %q before the last try", b.announced)
	}
	b.want(t, "AAAA-AAAA", maxTries, tooMany, pause)
	if len(b.announced) != 2 || b.newest() == first {
		t.Fatalf("announced %q, want a second, other code", b.announced)
	}
	if want := "door: 20 wrong codes, nobody can sign in for a minute"; len(b.lines) != 1 || b.lines[0] != want {
		t.Errorf("log = %q, want %q", b.lines, want)
	}
	b.clock = b.clock.Add(pause - time.Second)
	b.want(t, b.newest(), 100, tooMany, time.Second)
	b.clock = b.clock.Add(time.Second)
	b.want(t, first, 100, wrong, 0)
	b.want(t, b.newest(), 100, opened, 0)
}

// TestTriesAreBounded: whatever strangers do and however the time passes, no
// address gets six tries in ten minutes, nobody gets more than twenty in all
// without a pause, and what is kept of them is bounded.
func TestTriesAreBounded(t *testing.T) {
	const bound = maxTries * int(tryLife/pause)
	most := 0
	rapid.Check(t, func(t *rapid.T) {
		b := newBolt()
		var heard []try // compared with the code
		for range rapid.IntRange(1, 400).Draw(t, "tries") {
			from := host(rapid.IntRange(0, 1000).Draw(t, "from"))
			b.clock = b.clock.Add(rapid.SampledFrom([]time.Duration{0, 0, 0, time.Millisecond, time.Second, 20 * time.Second}).Draw(t, "step"))
			before := b.code
			was := len(b.tries)
			how, _ := b.open("AAAAAAAA", from)
			if how == wrong || how == tooMany && (b.code != before || len(b.tries) > was) {
				heard = append(heard, try{from, b.clock})
			}
			if len(b.tries) > bound {
				t.Fatalf("%d tries are kept, want at most %d", len(b.tries), bound)
			}
			most = max(most, len(b.tries))
		}
		for i, last := range heard {
			own, all := 0, 0
			for _, h := range heard[:i+1] {
				if h.from == last.from && last.at.Sub(h.at) < tryLife {
					own++
				}
				if last.at.Sub(h.at) < pause {
					all++
				}
			}
			if own > maxOwnTries {
				t.Fatalf("%d tries of %v in %v", own, last.from, tryLife)
			}
			// Before a pause and after it, within a minute of each other at most.
			if all > 2*maxTries {
				t.Fatalf("%d tries in all within a minute", all)
			}
		}
	})
	if most < maxTries {
		t.Errorf("at most %d tries were ever kept: the test tries too little", most)
	}
}

func TestWaitingPage(t *testing.T) {
	s := newStand(t, nil, Options{})
	for i := range maxOwnTries {
		got := s.answer(signInRequest(fmt.Sprint("AAAA-AAA", i), "/"))
		if i < maxOwnTries-1 {
			wantPage(t, got, 403, "That is not the code.")
			continue
		}
		if after := got.Header.Get("Retry-After"); after != "600" {
			t.Errorf("Retry-After = %q, want 600", after)
		}
		wantPage(t, got, 429, "Wait 10 minutes")
	}
	s.pass(9*time.Minute + 500*time.Millisecond)
	got := s.answer(signInRequest(s.code(), "/"))
	if after := got.Header.Get("Retry-After"); after != "60" {
		t.Errorf("Retry-After = %q, want 60: rounded up", after)
	}
	wantPage(t, got, 429, "Wait a minute")
	if len(s.lines) > 0 {
		t.Errorf("log = %q, want nothing", s.lines)
	}
}
