package bench

import (
	"crypto/rand"
	"slices"
	"sync"
	"time"
)

// Limits of files that wait in memory to be imported.
const (
	maxFile     = 32 << 20 // bytes of one file
	maxUploads  = 64 << 20 // bytes of all that wait, and of one request
	uploadsLast = 10 * time.Minute

	// mostArriving is how many requests may bring files at once; others wait
	// before they are read. Files on their way are in no upload yet.
	mostArriving = 2
)

// upload is some files sent together, and what was found in them.
type upload struct {
	files   []File
	reports []*FileReport // of each file
	tried   bool          // an import was tried
	size    int           // bytes in memory
	until   time.Time
}

// uploads are the files that wait to be imported, by a token that nobody
// guesses. The zero uploads are none. When there are too many bytes the oldest
// go first.
type uploads struct {
	mu      sync.Mutex
	byToken map[string]*upload
	order   []string // of tokens, the oldest first
}

// keep stores an upload, under the token it has or under a new one for "", and
// returns the token.
func (u *uploads) keep(token string, up *upload, now time.Time) string {
	u.mu.Lock()
	defer u.mu.Unlock()
	if u.byToken == nil {
		u.byToken = map[string]*upload{}
	}
	if token == "" {
		token = rand.Text()
	}
	u.drop(token)
	up.size, up.until = 0, now.Add(uploadsLast)
	for _, f := range up.files {
		up.size += len(f.Bytes)
	}
	for _, r := range up.reports {
		up.size += len(r.Rejects)
	}
	u.byToken[token], u.order = up, append(u.order, token)
	u.tidy(now)
	return token
}

// find returns an upload; nil if it is gone.
func (u *uploads) find(token string, now time.Time) *upload {
	u.mu.Lock()
	defer u.mu.Unlock()
	u.tidy(now)
	return u.byToken[token]
}

// tidy drops what is over its time, and the oldest while there is too much.
func (u *uploads) tidy(now time.Time) {
	size := 0
	for _, up := range u.byToken {
		size += up.size
	}
	for len(u.order) > 0 {
		oldest := u.byToken[u.order[0]]
		if now.Before(oldest.until) && (size <= maxUploads || len(u.order) == 1) {
			return
		}
		size -= oldest.size
		u.drop(u.order[0])
	}
}

// drop forgets an upload, if it is there.
func (u *uploads) drop(token string) {
	if u.byToken[token] == nil {
		return
	}
	delete(u.byToken, token)
	u.order = slices.DeleteFunc(u.order, func(t string) bool { return t == token })
}
