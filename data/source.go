package data

import (
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

// source keeps the bytes of a file as they are read.
type source struct {
	im     *Import
	sum    hash.Hash
	size   int64
	pieces *pieces
}

// newSource keeps the bytes of source number. They go into the log by way of
// storing.
func newSource(im *Import, number int, storing *backlog) *source {
	return &source{im: im, sum: sha256.New(), pieces: newPieces(func(position int, packed []byte) error {
		return storing.add(func() error {
			_, err := im.exec(im.ctx, "keep the file's bytes", sourcePieceAdd, number, position, packed)
			return err
		})
	})}
}

// Write implements [io.Writer].
func (s *source) Write(b []byte) (int, error) {
	s.sum.Write(b)
	s.size += int64(len(b))
	if s.im.check {
		return len(b), nil
	}
	return s.pieces.Write(b)
}

// flush waits until all bytes are on their way into the log.
func (s *source) flush() error { return s.pieces.flush() }

// discard gives up what is not on its way yet.
func (s *source) discard() { s.pieces.discard() }

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
	err := each(ctx, l.db, sourcePieces, []any{&piece}, func() error { return unpack(piece, w) }, number)
	if err != nil {
		return fmt.Errorf("data: bytes of source %d: %w", number, err)
	}
	return nil
}
