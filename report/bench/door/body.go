package door

import (
	"errors"
	"io"
	"net/http"
	"strings"
	"sync/atomic"
)

// body is a request's body that remembers whether it was too large.
type body struct {
	io.ReadCloser
	tooLarge atomic.Bool // a page may read in a goroutine of its own
}

func (b *body) Read(p []byte) (int, error) {
	n, err := b.ReadCloser.Read(p)
	var over *http.MaxBytesError
	if errors.As(err, &over) {
		b.tooLarge.Store(true)
	}
	return n, err
}

// largest returns the size in bytes that a body sent to path may have.
func (d *Door) largest(path string) int64 {
	size, longest := d.maxBody, -1
	for prefix, n := range d.uploads {
		rest, found := strings.CutPrefix(path, prefix)
		if found && (rest == "" || rest[0] == '/') && len(prefix) > longest {
			size, longest = n, len(prefix)
		}
	}
	return size
}
