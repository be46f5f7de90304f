package door

import (
	"encoding/base64"
	"testing"
	"time"
)

func newDevices() *devices { return &devices{signedIn: map[digest]*visit{}} }

var morning = time.Date(2026, 3, 14, 9, 0, 0, 0, time.UTC)

func TestToken(t *testing.T) {
	d := newDevices()
	a, b := d.admit(morning), d.admit(morning)
	if a == b {
		t.Error("two devices got one token")
	}
	if raw, err := base64.RawURLEncoding.DecodeString(a); err != nil || len(raw) != 32 {
		t.Errorf("token %q has %d bytes, %v, want 32", a, len(raw), err)
	}
	for key := range d.signedIn {
		if string(key[:]) == a || base64.RawURLEncoding.EncodeToString(key[:]) == a {
			t.Error("the token itself is kept")
		}
	}
	for _, unknown := range []string{"", "x", a + "x", a[:len(a)-1]} {
		if d.knows(unknown, morning) {
			t.Errorf("knows(%q) = true", unknown)
		}
	}
	if !d.knows(a, morning) || !d.knows(b, morning) {
		t.Error("a device signed in is not known")
	}
	d.forget(a)
	if d.knows(a, morning) || !d.knows(b, morning) {
		t.Error("forget signed out the wrong device")
	}
}

func TestVisitEnds(t *testing.T) {
	for _, c := range []struct {
		name string
		uses []time.Duration // after signing in
		last time.Duration
		want bool
	}{
		{"within 12 hours", nil, idleLife - time.Second, true},
		{"unused for 12 hours", nil, idleLife, false},
		{"used in between", []time.Duration{11 * time.Hour, 22 * time.Hour}, 33 * time.Hour, true},
		{"used, then left", []time.Duration{11 * time.Hour}, 23 * time.Hour, false},
		{"used for 7 days less a second", every(6*time.Hour, deviceLife), deviceLife - time.Second, true},
		{"used for 7 days", every(6*time.Hour, deviceLife), deviceLife, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := newDevices()
			token := d.admit(morning)
			for _, after := range c.uses {
				if !d.knows(token, morning.Add(after)) {
					t.Fatalf("signed out after %v", after)
				}
			}
			if got := d.knows(token, morning.Add(c.last)); got != c.want {
				t.Errorf("after %v knows = %t, want %t", c.last, got, c.want)
			}
			if !c.want && len(d.signedIn) > 0 {
				t.Error("a visit that is over is still kept")
			}
		})
	}
}

// every lists the multiples of step below end.
func every(step, end time.Duration) []time.Duration {
	var out []time.Duration
	for d := step; d < end; d += step {
		out = append(out, d)
	}
	return out
}

func TestLongestUnusedDeviceGoes(t *testing.T) {
	d := newDevices()
	var tokens []string
	at := morning
	for range maxDevices {
		tokens = append(tokens, d.admit(at))
		at = at.Add(time.Minute)
	}
	d.knows(tokens[0], at) // now tokens[1] is unused for longest
	at = at.Add(time.Minute)
	next := d.admit(at)
	if len(d.signedIn) != maxDevices {
		t.Errorf("%d devices, want %d", len(d.signedIn), maxDevices)
	}
	if d.knows(tokens[1], at) {
		t.Error("the device unused for longest is still signed in")
	}
	for i, token := range append([]string{tokens[0], next}, tokens[2:]...) {
		if !d.knows(token, at) {
			t.Errorf("device %d was signed out", i)
		}
	}
}
