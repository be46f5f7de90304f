package door

import (
	"io"
	"net/http"
)

// answer is the http.ResponseWriter that the page writes to. It adds the
// headers, and puts the door's own words in place of what a page says to a
// body that it could not read to its end.
type answer struct {
	http.ResponseWriter
	request *http.Request
	sent    io.ReadCloser // the body as it comes, nil: not limited yet
	body    *body         // the same with its limit
	max     int64         // bytes
	began   bool          // the status is out
	instead bool          // the page's words are dropped
}

// limit gives the request's body a largest size in bytes. It reports false if
// the request says itself that it is larger.
func (a *answer) limit(max int64) bool {
	a.sent, a.max = a.request.Body, max
	a.body = &body{ReadCloser: http.MaxBytesReader(a.ResponseWriter, a.sent, max)}
	a.request.Body = a.body
	return a.request.ContentLength <= max
}

// WriteHeader sends the status, with the headers that every answer has.
func (a *answer) WriteHeader(status int) {
	switch {
	case a.instead:
	case a.began || status < 200: // a mistake that net/http reports, or not yet the answer
		a.ResponseWriter.WriteHeader(status)
	case a.body != nil && a.body.tooLarge.Load():
		a.instead = true
		clear(a.Header())
		a.refuseBody()
	default:
		a.began = true
		setHeaders(a.Header(), a.request)
		a.ResponseWriter.WriteHeader(status)
	}
}

func (a *answer) Write(p []byte) (int, error) {
	if !a.began {
		a.WriteHeader(http.StatusOK)
	}
	if a.instead {
		return len(p), nil
	}
	return a.ResponseWriter.Write(p)
}

// finish answers for a page that wrote nothing.
func (a *answer) finish() {
	if !a.began {
		a.WriteHeader(http.StatusOK)
	}
}
