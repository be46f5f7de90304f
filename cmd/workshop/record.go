package workshop

import (
	"bytes"
	"context"
	"encoding/csv"
	"strings"

	"trueplait/ingest"
	"trueplait/model"
	"trueplait/report"
	"trueplait/report/bench"
)

// Search lists rows of a kind, newest first.
func (b *Bench) Search(ctx context.Context, kind model.Kind, text string, limit, offset int) ([]model.Row, int, error) {
	b.log.Lock()
	defer b.log.Unlock()
	return b.workshop.Log.Search(ctx, kind, text, limit, offset)
}

// Row is one row with its history; nil if there is none of that id.
func (b *Bench) Row(ctx context.Context, kind model.Kind, id string) (*bench.Record, error) {
	b.log.Lock()
	defer b.log.Unlock()
	return b.row(ctx, kind, id)
}

// row is Row for those who hold the log.
func (b *Bench) row(ctx context.Context, kind model.Kind, id string) (*bench.Record, error) {
	log := b.workshop.Log
	stated, ok, err := log.Row(ctx, kind, id)
	if err != nil || !ok {
		return nil, err
	}
	full, _, err := log.Full(ctx, kind, id)
	if err != nil {
		return nil, err
	}
	source, _, err := log.SourceOf(ctx, kind, id)
	if err != nil {
		return nil, err
	}
	history, err := log.History(ctx, kind, id)
	if err != nil {
		return nil, err
	}
	out := &bench.Record{Stated: stated, Full: full, When: source.Imported, By: source.Name, Today: b.state.Load().expected(full)}
	for _, a := range history {
		out.Past = append(out.Past, bench.Past{Row: a.Row, When: a.When, By: a.By})
	}
	return out, nil
}

// SetAside keeps a build out of fits by hand, or lets it in again.
func (b *Bench) SetAside(ctx context.Context, build, reason string) (*report.Saved, error) {
	// From what it says now, not a moment ago: else a correction that came in
	// between would be undone.
	return b.save(ctx, func(ctx context.Context) (model.Entry, error) {
		text, err := b.statedText(ctx, model.Builds, build)
		if err != nil {
			return model.Entry{}, err
		}
		text["set_aside"] = reason
		return model.Entry{Kind: model.Builds, Text: text, Amend: true}, nil
	})
}

// statedText is a row as an entry that states the same. The caller holds the log.
func (b *Bench) statedText(ctx context.Context, kind model.Kind, id string) (map[string]string, error) {
	r, err := b.row(ctx, kind, id)
	if err != nil {
		return nil, err
	}
	if r == nil {
		return nil, &model.Refused{Problems: []model.Problem{{Column: kind.IDColumn(), Text: id, Message: "is not in the log"}}}
	}
	return Text(r.Stated)
}

// Text is a row as it would be typed: figures with their units, in the shortest
// decimals that stand for them exactly.
func Text(row model.Row) (map[string]string, error) {
	var file bytes.Buffer
	w, err := ingest.NewWriter(&file, row.Kind())
	if err != nil {
		return nil, err
	}
	if err := w.Write(row); err != nil {
		return nil, err
	}
	if err := w.Flush(); err != nil {
		return nil, err
	}
	records, err := csv.NewReader(&file).ReadAll()
	if err != nil {
		return nil, err
	}
	out := map[string]string{}
	for i, c := range ingest.Columns(row.Kind()) {
		text := records[1][i]
		switch {
		case text == "":
		case c.Of == model.MassDimension:
			text += " g"
		case c.Of == model.LengthDimension:
			text += " mm"
		case strings.HasPrefix(text, "'"): // escaped for spreadsheets, which nobody types
			text = text[1:]
		}
		out[c.Name] = text
	}
	return out, nil
}
