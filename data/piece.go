package data

import (
	"bytes"
	"compress/gzip"
	"io"
)

// pieceSize is how many bytes are compressed together: large enough to compress
// well, small enough that a text of any size passes through.
const pieceSize = 1 << 20

// pieces cuts what is written to it and compresses each piece, a gzip stream of
// its own, on a goroutine of its own.
type pieces struct {
	keep    func(position int, packed []byte) error // called there, in order
	piece   []byte                                  // what is not compressed yet
	count   int                                     // of pieces before it
	gzip    *gzip.Writer
	packing *backlog
}

func newPieces(keep func(position int, packed []byte) error) *pieces {
	p := &pieces{keep: keep, packing: newBacklog(1)}
	p.gzip, _ = gzip.NewWriterLevel(nil, gzip.BestSpeed) // fails for an unknown level only
	return p
}

// Write implements [io.Writer].
func (p *pieces) Write(b []byte) (int, error) {
	written := 0
	for len(b) > 0 {
		if len(p.piece) == pieceSize {
			if err := p.pack(); err != nil {
				return written, err
			}
		}
		if p.piece == nil {
			p.piece = make([]byte, 0, pieceSize)
		}
		n := min(len(b), pieceSize-len(p.piece))
		p.piece = append(p.piece, b[:n]...)
		b, written = b[n:], written+n
	}
	return written, nil
}

// pack hands the piece on to be compressed and kept.
func (p *pieces) pack() error {
	piece, position := p.piece, p.count
	p.piece = nil
	p.count++
	return p.packing.add(func() error {
		var packed bytes.Buffer
		p.gzip.Reset(&packed)
		p.gzip.Write(piece) // a bytes.Buffer takes everything
		if err := p.gzip.Close(); err != nil {
			return err
		}
		return p.keep(position, packed.Bytes())
	})
}

// flush waits until all pieces are kept.
func (p *pieces) flush() error {
	if len(p.piece) > 0 {
		if err := p.pack(); err != nil {
			return err
		}
	}
	return p.packing.finish()
}

// discard gives up what is not compressed yet.
func (p *pieces) discard() { p.packing.finish() }

// unpack writes the bytes of a piece to w.
func unpack(piece []byte, w io.Writer) error {
	r, err := gzip.NewReader(bytes.NewReader(piece))
	if err != nil {
		return err
	}
	_, err = io.Copy(w, r)
	return err
}
