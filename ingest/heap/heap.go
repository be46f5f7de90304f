// Package heap measures memory for the tests of hostile files.
package heap

import (
	"runtime"
	"time"
)

// Held runs f and returns the most memory that it held at a time, bytes,
// garbage left aside, as far as looking every few milliseconds tells.
func Held(f func()) uint64 {
	inUse := func() uint64 {
		runtime.GC()
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		return m.HeapAlloc
	}
	before := inUse()
	most := before
	done, watched := make(chan bool), make(chan bool)
	go func() {
		defer close(watched)
		for {
			select {
			case <-done:
				return
			case <-time.After(50 * time.Millisecond):
				most = max(most, inUse())
			}
		}
	}()
	f()
	close(done)
	<-watched
	return max(most, inUse()) - before
}
