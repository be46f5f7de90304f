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
	text, err := b.statedText(ctx, model.Builds, build)
	if err != nil {
		return nil, err
	}
	text["set_aside"] = reason
	return b.Save(ctx, model.Entry{Kind: model.Builds, Text: text, Amend: true})
}

// statedText is a row as an entry that states the same.
func (b *Bench) statedText(ctx context.Context, kind model.Kind, id string) (map[string]string, error) {
	r, err := b.Row(ctx, kind, id)
	if err != nil {
		return nil, err
	}
	if r == nil {
		return nil, &model.Refused{Problems: []model.Problem{{Column: KeyColumn(kind), Text: id, Message: "is not in the log"}}}
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
