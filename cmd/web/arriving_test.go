package web

import (
	"io"
	"net/http"
	"sync"
	"testing"
	"time"
)

// However many bring files at once, two are read at a time: so many times the
// largest body are reckoned with in TestMemory. The others wait, and all are
// answered.
func TestArriving(t *testing.T) {
	s := newStage(t.Context(), t)
	defer s.close()
	const senders, most = 20, 2
	body, kind := multipartOf("fills.csv", []byte("Fill,Date,Core batch,Filled length,Shot mass\nX1,2025-06-01,HC01,6 in,12.5 g\n"))
	arriving := &crowd{}
	var all sync.WaitGroup
	for i := range senders {
		all.Go(func() {
			r := parsed(http.MethodPost, "/files", kind, body, "")
			r.Body = &slowBody{ReadCloser: r.Body, in: arriving}
			if _, got := s.ask(r); got.Code != http.StatusSeeOther {
				t.Errorf("upload %d: status %d", i, got.Code)
			}
		})
	}
	all.Wait()
	if arriving.peak > most {
		t.Errorf("%d of %d bodies were read at a time, want %d at the most", arriving.peak, senders, most)
	}
}

// crowd counts bodies that are being read.
type crowd struct {
	sync.Mutex
	now, peak int
}

func (c *crowd) add(n int) {
	c.Lock()
	defer c.Unlock()
	c.now += n
	c.peak = max(c.peak, c.now)
}

// slowBody takes its time to be read, in a crowd.
type slowBody struct {
	io.ReadCloser
	in           *crowd
	begun, ended bool
}

// Read implements [io.Reader].
func (b *slowBody) Read(p []byte) (int, error) {
	if !b.begun {
		b.begun = true
		b.in.add(1)
		time.Sleep(50 * time.Millisecond)
	}
	n, err := b.ReadCloser.Read(p)
	if err != nil && !b.ended {
		b.ended = true
		b.in.add(-1)
	}
	return n, err
}
