package data

import (
	"bytes"
	"compress/gzip"
	"context"
	"crypto/sha256"
	_ "embed"
	"encoding/hex"
	"fmt"
	"hash"
	"io"
	"time"

	"trueplait/model"
)

//go:embed query/source_add.sql
var sourceAdd string

//go:embed query/source_piece_add.sql
var sourcePieceAdd string

//go:embed query/source_known.sql
var sourceKnown string

//go:embed query/source_remove.sql
var sourceRemove string

//go:embed query/source_piece_remove.sql
var sourcePieceRemove string

//go:embed query/sources.sql
var sourcesQuery string

//go:embed query/source_pieces.sql
var sourcePieces string

// pieceSize is how many bytes of a file are compressed together: large enough
// to compress well, small enough that a file of any size passes through.
const pieceSize = 1 << 20

// source keeps the bytes of a file as they are read. They are compressed on a
// goroutine of their own.
type source struct {
	im      *Import
	number  int
	sum     hash.Hash
	size    int64
	piece   []byte // what is not compressed yet
	pieces  int    // before it
	gzip    *gzip.Writer
	packing *backlog // compresses
	storing *backlog // takes what is compressed
}

// newSource keeps the bytes of source number. They go into the log by way of
// storing.
func newSource(im *Import, number int, storing *backlog) *source {
	s := &source{im: im, number: number, sum: sha256.New(), packing: newBacklog(1), storing: storing}
	s.gzip, _ = gzip.NewWriterLevel(nil, gzip.BestSpeed) // fails for an unknown level only
	return s
}

// Write implements [io.Writer].
func (s *source) Write(p []byte) (int, error) {
	s.sum.Write(p)
	s.size += int64(len(p))
	written := 0
	for !s.im.check && len(p) > 0 {
		if s.piece == nil {
			s.piece = make([]byte, 0, pieceSize)
		}
		n := min(len(p), pieceSize-len(s.piece))
		s.piece = append(s.piece, p[:n]...)
		p, written = p[n:], written+n
		if len(s.piece) == pieceSize {
			if err := s.pack(); err != nil {
				return written, err
			}
		}
	}
	return written + len(p), nil
}

// pack hands the piece on to be compressed and stored.
func (s *source) pack() error {
	piece, position := s.piece, s.pieces
	s.piece = nil
	s.pieces++
	return s.packing.add(func() error {
		var packed bytes.Buffer
		s.gzip.Reset(&packed)
		s.gzip.Write(piece) // a bytes.Buffer takes everything
		err := s.gzip.Close()
		return s.storing.add(func() error {
			if err != nil {
				return s.im.fail("keep the file's bytes", err)
			}
			_, err := s.im.exec(s.im.ctx, "keep the file's bytes", sourcePieceAdd, s.number, position, packed.Bytes())
			return err
		})
	})
}

// flush waits until all bytes are on their way into the log.
func (s *source) flush() error {
	if len(s.piece) > 0 {
		if err := s.pack(); err != nil {
			return err
		}
	}
	return s.packing.finish()
}

// discard gives up what is not compressed yet.
func (s *source) discard() { s.packing.finish() }

// digest is the SHA-256 of all bytes, in hex.
func (s *source) digest() string { return hex.EncodeToString(s.sum.Sum(nil)) }

// SourceFile is a file that was imported.
type SourceFile struct {
	Number    int
	Name      string // as the user gave it
	Kind      model.Kind
	SHA256    string // of its bytes, in hex
	SizeBytes int64
	Imported  time.Time
}

// scanners returns the targets of a query of sources.
func (s *SourceFile) scanners() []any {
	return []any{&s.Number, &s.Name, &s.Kind, &s.SHA256, &s.SizeBytes, &s.Imported}
}

// Sources lists the imported files in the order they came. A file imported
// again without bringing anything new is not listed twice.
func (l *Log) Sources(ctx context.Context) ([]SourceFile, error) {
	var s SourceFile
	var out []SourceFile
	err := each(ctx, l.db, sourcesQuery, s.scanners(), func() error {
		out = append(out, s)
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("data: sources: %w", err)
	}
	return out, nil
}

// WriteSource writes the bytes of an imported file to w, as they were read.
func (l *Log) WriteSource(ctx context.Context, number int, w io.Writer) error {
	var piece []byte
	err := each(ctx, l.db, sourcePieces, []any{&piece}, func() error {
		r, err := gzip.NewReader(bytes.NewReader(piece))
		if err != nil {
			return err
		}
		_, err = io.Copy(w, r)
		return err
	}, number)
	if err != nil {
		return fmt.Errorf("data: bytes of source %d: %w", number, err)
	}
	return nil
}
