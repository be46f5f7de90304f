package data

import (
	"context"
	_ "embed"
	"fmt"

	"trueplait/model"
)

//go:embed query/label_list.sql
var labelList string

//go:embed query/label_uses.sql
var labelUses string

// Labels lists the labels of an effect that any row or parts list has, in
// order, then the levels that splits make.
func (l *Log) Labels(ctx context.Context, e model.Effect) ([]string, error) {
	var label string
	var out []string
	err := each(ctx, l.db, labelList, []any{&label}, func() error {
		out = append(out, label)
		return nil
	}, string(e))
	if err != nil {
		return nil, fmt.Errorf("data: labels: %w", err)
	}
	splits, err := l.Splits(ctx)
	for _, s := range splits {
		if s.Effect == e {
			out = append(out, s.Level())
		}
	}
	return out, err
}

// Uses counts the builds, test fills and cord checks that have a label, as rows
// state it: a level that a split makes is no label. A kind without any is not
// there.
func (l *Log) Uses(ctx context.Context, e model.Effect, label string) (map[model.Kind]int, error) {
	var kind model.Kind
	var n int
	out := map[model.Kind]int{}
	err := each(ctx, l.db, labelUses, []any{&kind, &n}, func() error {
		out[kind] = n
		return nil
	}, string(e), label)
	if err != nil {
		return nil, fmt.Errorf("data: uses of %s %q: %w", e.Word(), label, err)
	}
	return out, nil
}

// labels are scanners of the five labels, as text.
type labels struct {
	model.Labels
	fields [5]field
}

func newLabels() *labels {
	l := &labels{}
	l.fields = [5]field{
		{"maker", &l.Maker}, {"core_batch", &l.CoreBatch}, {"strand_batch", &l.StrandBatch},
		{"shot_batch", &l.ShotBatch}, {"product", &l.Product},
	}
	return l
}

// scanners returns the targets before the labels, the labels, and those after.
func (l *labels) scanners(before []any, after ...any) []any {
	out := append([]any{}, before...)
	for i := range l.fields {
		out = append(out, &l.fields[i])
	}
	return append(out, after...)
}
