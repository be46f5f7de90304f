package data

import (
	"context"
	_ "embed"
	"fmt"
	"time"

	"trueplait/model"
)

//go:embed query/log_row_source.sql
var logRowSource string

//go:embed query/log_row_newest.sql
var logRowNewest string

//go:embed query/log_row_known.sql
var logRowKnown string

// Row reads one row as it was stated, to be corrected: a figure that was worked
// out at import is NaN, so that the corrected row does not state it. ok is false
// where the log has no such row. Parts have no id each.
//
// The factors of a build are those that its planned figures contain, whether it
// stated them or its calibration stood for them. They stay true when a label is
// corrected, while looked up anew they would be those of the other label.
func (l *Log) Row(ctx context.Context, kind model.Kind, id string) (row model.Row, ok bool, err error) {
	t, err := identified(kind)
	if err != nil {
		return nil, false, err
	}
	return l.one(ctx, t, t.stated, id, id)
}

// Full reads one row as [Log.Rows] lists it, with figures that were worked out
// at import in their place.
func (l *Log) Full(ctx context.Context, kind model.Kind, id string) (row model.Row, ok bool, err error) {
	t, err := identified(kind)
	if err != nil {
		return nil, false, err
	}
	return l.one(ctx, t, t.rows, id, t.rowsArgs(id, time.Time{})...)
}

// identified finds the table of a kind whose rows have an id each.
func identified(kind model.Kind) (table, error) {
	t, err := tableOf(kind)
	if err == nil && t.stated == "" {
		err = fmt.Errorf("data: %s have no id each, a product has one list of them", kind)
	}
	return t, err
}

// one runs a query of at most one row. No row has the id "", which stands for
// all in some queries.
func (l *Log) one(ctx context.Context, t table, query, id string, args ...any) (row model.Row, ok bool, err error) {
	if id == "" {
		return nil, false, nil
	}
	r := t.record()
	err = each(ctx, l.db, query, r.scanners(&r.origin.File, &r.origin.Line), func() error {
		row, ok = r.row(), true
		return nil
	}, args...)
	if err != nil {
		return nil, false, fmt.Errorf("data: %s %q: %w", t.kind.Noun(1), id, err)
	}
	return row, ok, nil
}

// SourceOf returns the file that a row came from, as it is now, with the time
// it was imported; false where the log has no such row.
func (l *Log) SourceOf(ctx context.Context, kind model.Kind, id string) (s SourceFile, ok bool, err error) {
	if _, err := identified(kind); err != nil {
		return s, false, err
	}
	err = each(ctx, l.db, logRowSource, s.scanners(), func() error { ok = true; return nil }, string(kind), id)
	if err != nil {
		return SourceFile{}, false, fmt.Errorf("data: file of %s %q: %w", kind.Noun(1), id, err)
	}
	return s, ok, nil
}

// NewestID returns the id of the row of a kind that came into the log last,
// the last of its file; an amended row came with its amendment. "" where there
// is none.
func (l *Log) NewestID(ctx context.Context, kind model.Kind) (string, error) {
	if _, err := identified(kind); err != nil {
		return "", err
	}
	var id string
	err := each(ctx, l.db, logRowNewest, []any{&id}, func() error { return nil }, string(kind))
	if err != nil {
		return "", fmt.Errorf("data: newest of %s: %w", kind, err)
	}
	return id, nil
}

// Has reports whether an id of a kind is taken: by a row, or by the open plan of
// a build.
func (l *Log) Has(ctx context.Context, kind model.Kind, id string) (bool, error) {
	if _, err := identified(kind); err != nil {
		return false, err
	}
	var taken bool
	if err := l.db.QueryRowContext(ctx, logRowKnown, string(kind), id).Scan(&taken); err != nil {
		return false, fmt.Errorf("data: %s %q: %w", kind.Noun(1), id, err)
	}
	return taken, nil
}
