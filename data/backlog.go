package data

import "sync"

// backlog is work that is done in order, on a goroutine of its own, while more
// of it comes in. After a failure the rest is left undone.
type backlog struct {
	jobs   chan func() error
	done   chan struct{} // closed when no work is left
	broken chan struct{} // closed at the first failure
	err    error         // that failure; to be read once one of the two is closed
	end    func()
}

// newBacklog starts a backlog in which at most so many jobs wait.
func newBacklog(most int) *backlog {
	b := &backlog{jobs: make(chan func() error, most), done: make(chan struct{}), broken: make(chan struct{})}
	b.end = sync.OnceFunc(func() { close(b.jobs) })
	go func() {
		defer close(b.done)
		for job := range b.jobs {
			if b.err != nil {
				continue
			}
			if err := job(); err != nil {
				b.err = err
				close(b.broken)
			}
		}
	}()
	return b
}

// add puts a job behind the others, and waits while too many of them wait. It
// returns the failure of an earlier one.
func (b *backlog) add(job func() error) error {
	select {
	case <-b.broken:
		return b.err
	default:
	}
	b.jobs <- job
	return nil
}

// finish waits until all work is done. Nothing may be added any more.
func (b *backlog) finish() error {
	b.end()
	<-b.done
	return b.err
}
