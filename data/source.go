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

// source keeps the bytes of a file as they are read.
type source struct {
	im     *Import
	number int
	sum    hash.Hash
	size   int64
	piece  bytes.Buffer
	pieces int
	packed bytes.Buffer
	gzip   *gzip.Writer
}

func newSource(im *Import, number int) *source {
	s := &source{im: im, number: number, sum: sha256.New()}
	s.gzip, _ = gzip.NewWriterLevel(&s.packed, gzip.BestSpeed) // fails for an unknown level only
	return s
}

// Write implements [io.Writer].
func (s *source) Write(p []byte) (int, error) {
	s.sum.Write(p)
	s.size += int64(len(p))
	written := 0
	for len(p) > 0 {
		n := min(len(p), pieceSize-s.piece.Len())
		s.piece.Write(p[:n])
		p, written = p[n:], written+n
		if s.piece.Len() == pieceSize {
			if err := s.flush(); err != nil {
				return written, err
			}
		}
	}
	return written, nil
}

// flush stores the piece that is in memory.
func (s *source) flush() error {
	if s.piece.Len() == 0 || s.im.check {
		s.piece.Reset()
		return nil
	}
	s.packed.Reset()
	s.gzip.Reset(&s.packed)
	s.gzip.Write(s.piece.Bytes()) // a bytes.Buffer takes everything
	if err := s.gzip.Close(); err != nil {
		return s.im.fail("keep the file's bytes", err)
	}
	_, err := s.im.exec(s.im.ctx, "keep the file's bytes", sourcePieceAdd, s.number, s.pieces, s.packed.Bytes())
	s.pieces++
	s.piece.Reset()
	return err
}

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
