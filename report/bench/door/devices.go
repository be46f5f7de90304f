package door

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"sync"
	"time"
)

// How long a device stays signed in, and how many there may be. Common
// practice, no source.
const (
	idleLife   = 12 * time.Hour     // without use
	deviceLife = 7 * 24 * time.Hour // at most
	maxDevices = 20
)

// digest is the SHA-256 of a device's token. Tokens themselves are not kept,
// and are random enough that a plain digest does not give them away.
type digest [sha256.Size]byte

// visit is the stay of one device.
type visit struct{ since, seen time.Time }

func (v *visit) over(now time.Time) bool {
	return now.Sub(v.seen) >= idleLife || now.Sub(v.since) >= deviceLife
}

// devices are those signed in.
type devices struct {
	mu       sync.Mutex
	signedIn map[digest]*visit
}

// admit signs a device in and returns its token, 256 random bits. Where there
// are maxDevices, the one unused for longest is signed out.
func (d *devices) admit(now time.Time) string {
	var secret [32]byte
	rand.Read(secret[:])
	token := base64.RawURLEncoding.EncodeToString(secret[:])

	d.mu.Lock()
	defer d.mu.Unlock()
	for len(d.signedIn) >= maxDevices {
		var longest digest
		var seen time.Time
		for key, v := range d.signedIn {
			if seen.IsZero() || v.seen.Before(seen) {
				longest, seen = key, v.seen
			}
		}
		delete(d.signedIn, longest)
	}
	d.signedIn[sha256.Sum256([]byte(token))] = &visit{since: now, seen: now}
	return token
}

// knows reports whether the token is of a device signed in, and notes that it
// was used. A visit that is over is forgotten.
func (d *devices) knows(token string, now time.Time) bool {
	key := digest(sha256.Sum256([]byte(token)))
	d.mu.Lock()
	defer d.mu.Unlock()
	v := d.signedIn[key]
	if v == nil {
		return false
	}
	if v.over(now) {
		delete(d.signedIn, key)
		return false
	}
	v.seen = now
	return true
}

// forget signs the device with this token out.
func (d *devices) forget(token string) {
	d.mu.Lock()
	defer d.mu.Unlock()
	delete(d.signedIn, sha256.Sum256([]byte(token)))
}
