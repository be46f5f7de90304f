package data

import (
	"context"
	"crypto/md5"
	"crypto/sha256"
	_ "embed"
	"encoding/hex"
	"fmt"
	"io"
	"time"
)

//go:embed query/digests.sql
var digestsQuery string

// Fingerprint names the content of the rows dated through at the latest (with
// the zero time, all) that fits read: the same rows have the same fingerprint,
// in whatever order, from whatever files and however often they were imported,
// and whichever program holds them. Splits in force are part of it.
//
// It is the SHA-256 of one digest a day: the MD5 of the MD5s of that day's rows,
// which are made in SQL, in the order of their ids. Nobody has a reason to forge
// one; MD5 is what both databases have. A million rows take a second or two.
func (l *Log) Fingerprint(ctx context.Context, through time.Time) (string, error) {
	return fingerprint(ctx, l.db, through)
}

// fingerprint is [Log.Fingerprint] of what q reads.
func fingerprint(ctx context.Context, q queryer, through time.Time) (string, error) {
	sum, day := sha256.New(), md5.New() // hashes take everything
	var kind, digest, ofKind string
	var date, ofDate time.Time
	end := func() {
		if ofKind != "" {
			fmt.Fprintf(sum, "%s %s %x\n", ofKind, ofDate.Format(time.DateOnly), day.Sum(nil))
		}
		day.Reset()
	}
	err := each(ctx, q, digestsQuery, []any{&kind, &date, &digest}, func() error {
		if kind != ofKind || !date.Equal(ofDate) {
			end()
			ofKind, ofDate = kind, date
		}
		io.WriteString(day, digest)
		return nil
	}, bound(through))
	if err != nil {
		return "", fmt.Errorf("data: fingerprint: %w", err)
	}
	end()
	splits, err := splitsInForce(ctx, q)
	if err != nil {
		return "", err
	}
	for _, s := range splits {
		fmt.Fprintln(sum, "split", s.Effect, s.Level())
	}
	return hex.EncodeToString(sum.Sum(nil)), nil
}
