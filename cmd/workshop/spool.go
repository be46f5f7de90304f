package workshop

import (
	"bytes"
	"io"
)

// spool reads a file and passes its bytes on to whoever keeps them. What is
// read before it is known where to keep it waits: a header, or a whole workbook,
// whose sheets keep it each.
type spool struct {
	io.Reader
	waiting bytes.Buffer
	sink    io.Writer
}

// Read implements io.Reader.
func (s *spool) Read(p []byte) (int, error) {
	n, err := s.Reader.Read(p)
	if s.sink == nil {
		s.waiting.Write(p[:n])
	} else if _, e := s.sink.Write(p[:n]); e != nil {
		return n, e
	}
	return n, err
}

// keep sends to w the bytes read so far and, for the last one that keeps them,
// all that follow.
func (s *spool) keep(w io.Writer, last bool) error {
	if !last {
		_, err := w.Write(s.waiting.Bytes())
		return err
	}
	s.sink = w
	_, err := s.waiting.WriteTo(w)
	return err
}
