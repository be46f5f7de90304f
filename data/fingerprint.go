package data

import (
	"cmp"
	"context"
	"crypto/sha256"
	_ "embed"
	"encoding/hex"
	"fmt"
	"slices"
	"time"
)

//go:embed query/digest_days.sql
var digestDays string

//go:embed query/digests.sql
var digestsQuery string

// Fingerprint names the content of the rows dated through at the latest (with
// the zero time, all) that fits read: the same rows have the same fingerprint,
// in whatever order, from whatever files and however often they were imported,
// and whichever program holds them. Splits in force are part of it.
//
// It is the SHA-256 of one digest a day, each made in SQL: the MD5 of the
// MD5s of that day's rows, in the order of their ids. Nobody has a reason to
// forge one; MD5 is what both databases have. A million rows take a second or
// two.
func (l *Log) Fingerprint(ctx context.Context, through time.Time) (string, error) {
	return fingerprint(ctx, l.db, through)
}

// digestRows are digested at a time, give or take a day's: what one statement
// has of them in memory is 100 bytes a row.
const digestRows = 200_000

// dayDigest is the digest of one day's rows of a kind.
type dayDigest struct {
	kind, digest string
	date         time.Time
}

// fingerprint is [Log.Fingerprint] of what q reads.
func fingerprint(ctx context.Context, q queryer, through time.Time) (string, error) {
	var spans [][2]time.Time // first and last days of what is digested together
	var day time.Time
	var rows, sum int
	err := each(ctx, q, digestDays, []any{&day, &rows}, func() error {
		if sum += rows; len(spans) == 0 || sum > digestRows {
			spans, sum = append(spans, [2]time.Time{day}), rows
		}
		spans[len(spans)-1][1] = day
		return nil
	}, bound(through))
	var digests []dayDigest
	var d dayDigest
	for _, span := range spans {
		if err != nil {
			break
		}
		err = each(ctx, q, digestsQuery, []any{&d.kind, &d.date, &d.digest}, func() error {
			digests = append(digests, d)
			return nil
		}, span[0], span[1])
	}
	if err != nil {
		return "", fmt.Errorf("data: fingerprint: %w", err)
	}
	slices.SortFunc(digests, func(a, b dayDigest) int { return cmp.Or(cmp.Compare(a.kind, b.kind), a.date.Compare(b.date)) })
	hash := sha256.New()
	for _, d := range digests {
		fmt.Fprintln(hash, d.kind, d.date.Format(time.DateOnly), d.digest) // a hash takes everything
	}
	splits, err := splitsInForce(ctx, q)
	if err != nil {
		return "", err
	}
	for _, s := range splits {
		fmt.Fprintln(hash, "split", s.Effect, s.Level())
	}
	return hex.EncodeToString(hash.Sum(nil)), nil
}
