package data

import (
	"context"
	"fmt"
	"strings"

	"trueplait/model"
)

// Search lists builds, test fills or cord checks as [Log.Rows] would, the
// newest first: by date, then id, both descending. It returns at most limit
// rows after the first offset, and how many there are in all; limit is at least
// 1 and offset not negative.
//
// A row is found if every word of text is part of its id, a label, its note or
// its reason to be set aside, in upper or lower case. % and _ are ordinary
// characters. No words find every row.
func (l *Log) Search(ctx context.Context, kind model.Kind, text string, limit, offset int) (rows []model.Row, total int, err error) {
	t, err := tableOf(kind)
	if err == nil && t.search == "" {
		err = fmt.Errorf("data: no search in %s", kind)
	}
	if err != nil {
		return nil, 0, err
	}
	r := t.record()
	err = each(ctx, l.db, t.search, r.scanners(&r.origin.File, &r.origin.Line, &total), func() error {
		rows = append(rows, r.row())
		return nil
	}, strings.Join(strings.Fields(text), " "), limit, offset)
	if err != nil {
		return nil, 0, fmt.Errorf("data: search %s: %w", kind, err)
	}
	if len(rows) == 0 && offset > 0 { // past the end, where no row says how many there are
		_, total, err = l.Search(ctx, kind, text, 1, 0)
	}
	return rows, total, err
}
